"""The drill seen from above for the card: radials, predicted ground track, wind, north up.

Never works out a track: each is the plan's own path.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from coach.drill.plan import Plan, PlannedLeg
from coach.drill.shapes import (
    Align,
    Box,
    Circle,
    Filled,
    Measure,
    Point,
    Shape,
    Stroke,
    Text,
    Tone,
    arrow_head,
)
from coach.nav.aircraft import Aircraft
from coach.nav.path import aircraft_at, sampled
from coach.nav.wind import render_wind

LABELLED_LEGS = 8
"""With more legs than this the overview names spokes only: numbers at the legs would overlap."""

LABEL_ROOM = 25.0
"""Around the rim for the spokes' numbers, points."""

LABEL_APART_DEG = 22.0
"""The least angle between two labels on the rim; sixteen fit."""

TRACK_EVERY_S = 3.0

REACH_MARGIN_NM = 1.0
"""Added to the reach for what is drawn, asked of ATC and looked up on the chart (`procedure.md`)."""


def rim_nm(plan: Plan) -> float:
    """The radius of the circle in which terrain and airspace are looked up."""
    return plan.reach_nm + REACH_MARGIN_NM


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """From miles around the station to points on the sheet."""

    center: Point
    points_per_nm: float

    def place(self, aircraft: Aircraft) -> Point:
        """Where an aircraft is drawn."""
        return self.point(aircraft.east_nm, aircraft.north_nm)

    def point(self, east_nm: float, north_nm: float) -> Point:
        """Where a place is drawn."""
        x, y = self.center
        return x + east_nm * self.points_per_nm, y - north_nm * self.points_per_nm

    def rim(self, radial_mag_deg: float, distance_nm: float) -> Point:
        """Where a place on a radial is drawn."""
        angle = math.radians(radial_mag_deg)
        return self.point(math.sin(angle) * distance_nm, math.cos(angle) * distance_nm)


def draw_view(plan: Plan, box: Box, measure: Measure) -> Iterator[Shape]:
    """Yield the shapes of the whole drill inside a square box."""
    radius = box.width / 2.0 - LABEL_ROOM
    center = (box.left + box.width / 2.0, box.top + box.height / 2.0)
    scale = Scale(center=center, points_per_nm=radius / rim_nm(plan))
    yield Circle(at=center, radius=radius, width=0.9, tone=Tone.MIDDLE)
    yield Circle(at=center, radius=plan.reach_nm * scale.points_per_nm, width=0.5, tone=Tone.FAINT)
    around = [*_radials(plan, scale), *_corners(plan, box, scale)]
    yield from around
    is_labelled = len(plan.legs) <= LABELLED_LEGS
    tracks = tuple(_tracks(plan.legs, scale, 1.6 if is_labelled else 0.9))
    yield from tracks
    yield Circle(at=center, radius=2.2, width=1.4)
    if is_labelled:
        taken = [shape.box(measure) for shape in around if isinstance(shape, Text)]
        heads = [point for shape in tracks if isinstance(shape, Filled) for point in shape.points]
        yield from _leg_labels(plan.legs, scale, box, taken, heads, measure)


def draw_small(legs: tuple[PlannedLeg, ...], box: Box) -> Iterator[Shape]:
    """Yield a few legs and the station alone, as large as the box takes them, north up."""
    flown = [(at.east_nm, at.north_nm) for leg in legs for _, at in sampled(leg.path, TRACK_EVERY_S)]
    easts, norths = zip((0.0, 0.0), *flown, strict=True)
    wide_nm, high_nm = max(easts) - min(easts), max(norths) - min(norths)
    per_nm = min(box.width / max(wide_nm, 0.1), box.height / max(high_nm, 0.1))
    center = (
        box.left + box.width / 2.0 - (max(easts) + min(easts)) / 2.0 * per_nm,
        box.top + box.height / 2.0 + (max(norths) + min(norths)) / 2.0 * per_nm,
    )
    scale = Scale(center=center, points_per_nm=per_nm)
    yield Circle(at=center, radius=1.3, width=1.0)
    yield from _lines(legs, scale, 0.9)
    yield _arrow(legs[min(1, len(legs) - 1)], scale, 4.0)


def _radials(plan: Plan, scale: Scale) -> Iterator[Shape]:
    """Each radial flown out on, its spokes' numbers and its degrees beyond the rim."""
    spokes = _spokes_by_radial(plan)
    for (radial, numbers), label_deg in zip(spokes, _apart([r for r, _ in spokes]), strict=True):
        rim = scale.rim(radial, rim_nm(plan))
        x, y = scale.rim(label_deg, rim_nm(plan) + 13.0 / scale.points_per_nm)
        yield Stroke(points=(scale.center, rim), width=0.5, tone=Tone.FAINT)
        if abs(label_deg - radial) > 1.0:
            near = scale.rim(label_deg, rim_nm(plan) + 2.0 / scale.points_per_nm)
            yield Stroke(points=(rim, near), width=0.4, tone=Tone.FAINT)
        names = ",".join(map(str, numbers))
        yield Text(at=(x, y - 0.5), text=names, size=8.0, is_bold=True, align=Align.CENTER)
        yield Text(at=(x, y + 7.5), text=f"{radial:03d}", size=7.0, align=Align.CENTER)


def _spokes_by_radial(plan: Plan) -> list[tuple[int, list[int]]]:
    found: dict[int, list[int]] = {}
    for spoke in range(1, plan.drill.spokes + 1):
        first = next(leg.leg for leg in plan.legs if leg.leg.spoke == spoke)
        if first.course_mag_deg is not None:
            found.setdefault(first.course_mag_deg, []).append(spoke)
    return sorted(found.items())


def _apart(angles_deg: list[int]) -> list[float]:
    """Sorted angles moved as little as it takes to stand apart all around."""
    apart_deg = min(LABEL_APART_DEG, 360.0 / max(1, len(angles_deg)))
    moved = [float(angle) for angle in angles_deg]
    for _ in range(500):
        for k in range(len(moved) if len(moved) > 1 else 0):
            lap = 360.0 if k == len(moved) - 1 else 0.0
            ahead = (k + 1) % len(moved)
            short = apart_deg - (moved[ahead] + lap - moved[k])
            if short > 0.0:
                moved[k] -= short / 2.0
                moved[ahead] += short / 2.0
    return moved


def _tracks(legs: Iterable[PlannedLeg], scale: Scale, width: float) -> Iterator[Shape]:
    """The ground track of each leg with an arrow in its middle."""
    legs = tuple(legs)
    yield from _lines(legs, scale, width)
    for leg in legs:
        yield _arrow(leg, scale, 3.0 + width * 1.5)


def _lines(legs: Iterable[PlannedLeg], scale: Scale, width: float) -> Iterator[Shape]:
    for leg in legs:
        points = tuple(scale.place(aircraft) for _, aircraft in sampled(leg.path, TRACK_EVERY_S))
        yield Stroke(points=points, width=width)


def _arrow(leg: PlannedLeg, scale: Scale, length: float) -> Shape:
    middle = aircraft_at(leg.path, leg.duration_s * 0.55)
    return arrow_head(scale.place(middle), (middle.ground_east_kt, -middle.ground_north_kt), length)


def _corners(plan: Plan, box: Box, scale: Scale) -> Iterator[Shape]:
    """North, the wind, one mile, and the circles, in the corners that they leave free."""
    left, right = box.left + 2.0, box.right - 2.0
    yield Stroke(points=((left + 5.0, box.top + 20.0), (left + 5.0, box.top + 4.0)), width=1.2)
    yield arrow_head((left + 5.0, box.top + 1.0), (0.0, -1.0), 7.0)
    yield Text(at=(left + 11.0, box.top + 10.0), text="N", size=9.0, is_bold=True)
    yield from _wind(plan, right, box.top)
    mile = scale.points_per_nm
    y = box.bottom - 2.0
    yield Stroke(points=((left, y - 3.0), (left, y), (left + mile, y), (left + mile, y - 3.0)), width=0.9)
    yield Text(at=(left, y - 5.0), text="1 NM", size=6.5)
    yield Text(at=(right, y - 7.0), text="reach", size=6.5, align=Align.RIGHT)
    yield Text(at=(right, y), text=f"+ {REACH_MARGIN_NM:g} NM", size=6.5, align=Align.RIGHT)


def _wind(plan: Plan, right: float, top: float) -> Iterator[Shape]:
    """An arrow that flies with the wind, its direction and speed below."""
    yield Text(at=(right, top + 27.0), text="wind", size=6.5, align=Align.RIGHT)
    if plan.wind.speed_kt == 0.0:
        yield Text(at=(right, top + 18.0), text="calm", size=8.0, is_bold=True, align=Align.RIGHT)
        return
    norm = math.hypot(plan.wind.east_kt, plan.wind.north_kt)
    toward = (plan.wind.east_kt / norm, -plan.wind.north_kt / norm)
    x, y = right - 10.0, top + 9.5
    tip = (x + toward[0] * 9.0, y + toward[1] * 9.0)
    yield Stroke(points=((x - toward[0] * 9.0, y - toward[1] * 9.0), (x, y)), width=2.0)
    yield arrow_head(tip, toward, 9.0)


def _leg_labels(
    legs: tuple[PlannedLeg, ...],
    scale: Scale,
    view: Box,
    taken: list[Box],
    heads: list[Point],
    measure: Measure,
) -> Iterator[Shape]:
    """The number and the heading to steer beside each leg, clear of other texts, arrows and the track."""
    flown = [scale.place(at) for leg in legs for _, at in sampled(leg.path, 2.0)]
    for leg in legs:
        places = _places(leg, scale)
        label, at = min(places, key=lambda place: _crowd(place[0].box(measure), view, taken, heads, flown))
        box = label.box(measure)
        taken.append(box)
        near = (min(max(at[0], box.left), box.right), min(max(at[1], box.top - 1.0), box.bottom + 1.0))
        yield Stroke(points=(at, near), width=0.5, tone=Tone.MIDDLE)
        yield label


def _places(leg: PlannedLeg, scale: Scale) -> Iterator[tuple[Text, Point]]:
    """Where a leg's label may stand, the best first, each with the point of the track that it names."""
    steer = "" if leg.steer_mag_deg is None else f"  {leg.steer_mag_deg:03d}"
    for share in (0.6, 0.5, 0.7, 0.4, 0.8, 0.3, 0.9, 0.2):
        at = aircraft_at(leg.path, leg.duration_s * share)
        x, y = scale.place(at)
        norm = math.hypot(at.ground_east_kt, at.ground_north_kt)
        aside = (at.ground_north_kt / norm, at.ground_east_kt / norm)
        for away in (16.0, -16.0, 22.0, -22.0, 28.0, -28.0):
            place = (x + aside[0] * away, y + aside[1] * away + 2.5)
            text = f"{leg.leg.n}{steer}"
            yield Text(at=place, text=text, size=8.0, is_bold=True, align=Align.CENTER), (x, y)


def _crowd(label: Box, view: Box, taken: list[Box], heads: list[Point], flown: list[Point]) -> int:
    """How much a label would be in the way; 0 is free."""
    box = Box(left=label.left - 3, top=label.top - 2, width=label.width + 6, height=label.height + 4)
    is_out = box.left < view.left or box.right > view.right or box.top < view.top or box.bottom > view.bottom
    texts = sum(box.overlaps(other) for other in taken)
    arrows, track = (
        sum(box.left < x < box.right and box.top < y < box.bottom for x, y in points)
        for points in (heads, flown)
    )
    return (texts + is_out + arrows) * 1000 + track


def render_wind_line(plan: Plan) -> str:
    """The wind in words, counted from magnetic north."""
    return "Wind calm" if plan.wind.speed_kt == 0.0 else f"Wind {render_wind(plan.wind)}"
