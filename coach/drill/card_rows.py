"""The table of legs for the card: one row a spoke, each leg with its heading in large digits.

Never alters a figure: every number is the plan's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import groupby

from coach.drill.briefing import render_time
from coach.drill.card_view import draw_small
from coach.drill.model import Ending, Turn
from coach.drill.plan import Plan, PlannedLeg
from coach.drill.shapes import Align, Box, Measure, Point, Shape, Stroke, Text, Tone, arrow_head, fitted

HEADING_SIZE = 18.0
"""Headings are read at arm's length."""

LEGS_A_ROW = 4

ROW_LEAST = 24.0
"""A row lower than this cuts its heading, points."""

ROW_MOST = 31.0

LEGEND = (
    "Large: heading to steer after the turn of the arrow. Above it: leg number, name and start (min:s from "
    'the beginning). Beside it: "set" a course, "c" the course already set; below, what ends the '
    'leg, and on a turn to an intercept the seconds on that heading, or "through": through the course '
    "before roll-out."
)

_SMALL = 7.5
_BESIDE = 7.0
_NAMED = 48.0
"""The room for a row's number and small picture."""

_ENDINGS = {Ending.PASSAGE: "passage", Ending.ESTABLISHED: "establ.", Ending.INTERCEPT: "needle"}

Row = tuple[PlannedLeg, ...]


def card_rows(plan: Plan) -> tuple[Row, ...]:
    """The legs in rows: those of one spoke together, at most `LEGS_A_ROW`."""
    rows: list[Row] = []
    for _, group in groupby(plan.legs, key=lambda planned: planned.leg.spoke):
        legs = tuple(group)
        rows += [legs[k : k + LEGS_A_ROW] for k in range(0, len(legs), LEGS_A_ROW)]
    return tuple(rows)


def draw_row(row: Row, box: Box, measure: Measure) -> Iterator[Shape]:
    """Yield one row of the table."""
    yield Stroke(points=((box.left, box.top), (box.right, box.top)), width=0.5, tone=Tone.MIDDLE)
    middle = box.top + box.height / 2.0
    if row[0].leg.spoke is not None:
        yield Text(
            at=(box.left + 9.0, middle + 4.5),
            text=str(row[0].leg.spoke),
            size=12.0,
            is_bold=True,
            align=Align.CENTER,
        )
    high = box.height - 7.0
    picture = Box(left=box.left + 22.0, top=middle - high / 2.0, width=_NAMED - 29.0, height=high)
    yield from draw_small(row, picture)
    width = (box.width - _NAMED) / LEGS_A_ROW
    for k, leg in enumerate(row):
        cell = Box(left=box.left + _NAMED + k * width, top=box.top, width=width, height=box.height)
        yield from _cell(leg, cell, measure)


def _cell(planned: PlannedLeg, cell: Box, measure: Measure) -> Iterator[Shape]:
    """Yield one leg: number, name, start; turn, heading, course, ending."""
    start = render_time(planned.start_s)
    top = cell.top + min(8.5, 7.0 + (cell.height - ROW_LEAST) * 0.25)
    room = cell.width - measure(start, _SMALL, True) - 7.0
    name = fitted(f"{planned.leg.n} {planned.leg.leg}", room, _SMALL, measure)
    yield Text(at=(cell.left, top), text=name, size=_SMALL)
    yield Text(at=(cell.right - 5.0, top), text=start, size=_SMALL, is_bold=True, align=Align.RIGHT)
    base = cell.top + 10.0 + (cell.height - 10.0 + 0.73 * HEADING_SIZE) / 2.0 - 1.0
    yield from _turn_arrow(planned, (cell.left, base))
    heading = "—" if planned.steer_mag_deg is None else f"{planned.steer_mag_deg:03d}"
    yield Text(at=(cell.left + 13.5, base), text=heading, size=HEADING_SIZE, is_bold=True)
    beside = cell.left + 13.5 + measure("000", HEADING_SIZE, True) + 2.5
    yield Text(at=(beside, base - 7.2), text=_course(planned), size=_BESIDE, is_bold=planned.leg.sets_course)
    yield Text(at=(beside, base + 0.6), text=render_ending(planned), size=_BESIDE)


def _course(planned: PlannedLeg) -> str:
    course = planned.leg.course_mag_deg
    if course is None:
        return ""
    return f"set {course:03d}" if planned.leg.sets_course else f"c {course:03d}"


def render_ending(planned: PlannedLeg) -> str:
    """What ends a leg, in a word that fits beside its heading."""
    if planned.leg.leg_s is not None:
        return f"{planned.leg.leg_s:.3g} s"
    if planned.leg.distance_nm is not None:
        return f"{planned.leg.distance_nm:g} DME"
    if planned.leg.climb_ft is not None:
        return f"{planned.leg.climb_ft:+.0f} ft"
    if planned.goes_through:
        return "through"
    if planned.intercept_s is not None:
        return f"{planned.intercept_s:.0f} s"
    return _ENDINGS.get(planned.leg.ends_on, planned.leg.ends_on.value)


def _turn_arrow(planned: PlannedLeg, at: Point) -> Iterator[Shape]:
    """A hooked arrow the way of the turn, bent right round for a half turn and more; straight up for none."""
    x, y = at
    if planned.leg.turn is Turn.NONE:
        yield Stroke(points=((x + 5.0, y), (x + 5.0, y - 8.0)), width=1.8)
        yield arrow_head((x + 5.0, y - 13.0), (0.0, -1.0), 6.0)
        return
    side = 1.0 if planned.leg.turn is Turn.RIGHT else -1.0
    bent_deg = 180 if planned.leg.turn_deg >= 150 else 90
    middle, radius = (x + 5.5, y - 8.0), 3.6
    angles = [math.radians(180 - k * 15) for k in range(bent_deg // 15 + 1)]
    hook = [(middle[0] + side * radius * math.cos(a), middle[1] - radius * math.sin(a)) for a in angles]
    yield Stroke(points=((hook[0][0], y), *hook), width=1.8)
    if bent_deg == 180:
        yield arrow_head((hook[-1][0], y - 1.0), (0.0, 1.0), 6.0)
    else:
        yield arrow_head((hook[-1][0] + side * 5.5, hook[-1][1]), (side, 0.0), 6.0)
