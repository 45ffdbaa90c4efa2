"""A drill file and the pilot's settings to a `Drill`: every leg with its headings, spoke after spoke.

Never knows wind, station or speed: that is the plan (`coach.drill.plan`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from coach.drill.findings import Findings
from coach.drill.language import DrillSpec, HeadingSpec, LegSpec
from coach.drill.model import Drill, Ending, Leg, TimerFrom, Turn
from coach.drill.parser import parse_drill
from coach.drill.settle import render_values, settle_values
from coach.drill.source import Source
from coach.drill.values import LegTurn, Side, Turned, signed_deg
from coach.errors import DrillError
from coach.nav.angles import as_heading
from coach.nav.station import Station
from coach.nav.turn import STANDARD_RATE_DEG_S, turn_time_s


def compile_drill(source: Source, settings: Mapping[str, str]) -> Drill:
    """A drill with the given settings, the file's defaults for the rest.

    Raises `DrillError` with every problem of the file, or else every problem of the settings.
    """
    spec = parse_drill(source)
    values = settle_values(spec, settings)
    legs = _lay_out(spec, values, Findings(file=source.file, error=DrillError))
    timer_from = TimerFrom(values["timer_from"])
    return Drill(
        name=source.name,
        title=spec.title,
        source=spec.source,
        arrive_course_mag_deg=values["arrive_course"],
        timer_from=timer_from,
        five_ts=spec.five_ts,
        legs=legs,
        settings=render_values(spec, values),
        station=_station_of(spec),
        warnings=tuple(_warn_short_offsets(legs, timer_from)),
    )


def _station_of(spec: DrillSpec) -> Station | None:
    if spec.station is None:
        return None
    return Station(
        latitude_deg=spec.station.latitude_deg,
        longitude_deg=spec.station.longitude_deg,
        declination_deg=spec.station.declination_deg,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spoke:
    """What the legs of one spoke are relative to."""

    n: int
    outbound_mag_deg: int
    side: Side
    """Left or right."""

    rotation: Turned

    @property
    def inbound_mag_deg(self) -> int:
        return as_heading(self.outbound_mag_deg + 180)


def _lay_out(spec: DrillSpec, values: Mapping[str, Any], findings: Findings) -> tuple[Leg, ...]:
    heading_mag_deg = course_mag_deg = values["arrive_course"]
    legs: list[Leg] = []
    for spoke in _spokes(values):
        for leg_spec in spec.spoke:
            course_mag_deg = _find_course(leg_spec, spoke) or course_mag_deg
            leg = _lay_leg(
                leg_spec, spoke, values, n=len(legs) + 1, was=heading_mag_deg, course=course_mag_deg
            )
            _check_turn(leg, leg_spec, heading_mag_deg, findings)
            heading_mag_deg = leg.heading_mag_deg or heading_mag_deg
            legs.append(leg)
    findings.raise_any()
    return tuple(legs)


def _spokes(values: Mapping[str, Any]) -> Iterator[_Spoke]:
    outbound_mag_deg = values["first_outbound"]
    for n in range(1, values["spokes"] + 1):
        side = _side_of(values["sides"], n)
        spoke = _Spoke(n=n, outbound_mag_deg=outbound_mag_deg, side=side, rotation=values["rotation"])
        yield spoke
        outbound_mag_deg = as_heading(spoke.inbound_mag_deg + signed_deg(spoke.rotation))


def _side_of(sides: str, n: int) -> Side:
    if sides == "alternate":
        return Side.LEFT if n % 2 else Side.RIGHT
    return Side(sides)


def _find_course(leg: LegSpec, spoke: _Spoke) -> int | None:
    courses = {"outbound": spoke.outbound_mag_deg, "inbound": spoke.inbound_mag_deg}
    return courses[leg.twist] if leg.twist else None


def _lay_leg(
    spec: LegSpec, spoke: _Spoke, values: Mapping[str, Any], *, n: int, was: int, course: int
) -> Leg:
    heading_mag_deg = _find_heading(spec.heading, spoke, was)
    turn, turn_deg = _find_turn(spec.turn, spoke, was, heading_mag_deg)
    return Leg(
        n=n,
        spoke=spoke.n,
        leg=spec.leg,
        turn=turn,
        turn_deg=turn_deg,
        heading_mag_deg=heading_mag_deg,
        course_mag_deg=course,
        sets_course=spec.twist is not None,
        tracks=spec.tracks,
        clock=spec.clock,
        leg_s=values[spec.lasts.name] if spec.lasts else None,
        ends_on=spec.ends_on,
        throttle=spec.throttle,
        talk=spec.talk,
    )


def _find_heading(heading: HeadingSpec | str | None, spoke: _Spoke, was: int) -> int | None:
    if heading is None:
        return None
    references = {"outbound": spoke.outbound_mag_deg, "inbound": spoke.inbound_mag_deg, "previous": was}
    if isinstance(heading, str):
        return references[heading]
    turned_deg = _signed_deg(heading.turned, spoke) if heading.turned else 0
    return as_heading(references[heading.of] + turned_deg)


def _signed_deg(turned: Turned, spoke: _Spoke) -> int:
    return signed_deg(Turned(degrees=turned.degrees, side=_fixed_side(turned.side, spoke)))


def _fixed_side(side: Side, spoke: _Spoke) -> Side:
    if side is Side.SIDE:
        return spoke.side
    if side is Side.OTHER_SIDE:
        return Side.RIGHT if spoke.side is Side.LEFT else Side.LEFT
    return side


def _find_turn(turn: LegTurn, spoke: _Spoke, was: int, heading: int | None) -> tuple[Turn, int]:
    """Which way and how far; no turn where the heading stays."""
    if heading is None or heading == was or turn is LegTurn.NONE:
        return Turn.NONE, 0
    right_deg = (heading - was) % 360
    side = _shorter(right_deg, spoke) if turn is LegTurn.SHORTER else _fixed_side(Side(turn), spoke)
    return (Turn.RIGHT, right_deg) if side is Side.RIGHT else (Turn.LEFT, 360 - right_deg)


def _shorter(right_deg: int, spoke: _Spoke) -> Side:
    if right_deg == 180:
        return spoke.rotation.side
    return Side.RIGHT if right_deg < 180 else Side.LEFT


def _check_turn(leg: Leg, spec: LegSpec, was: int, findings: Findings) -> None:
    is_told = any(place == spec.place for place, _ in findings.found)
    if spec.turn is LegTurn.NONE and leg.heading_mag_deg not in (None, was) and not is_told:
        expected = f"a turn from {was:03d} to {leg.heading_mag_deg:03d} in spoke {leg.spoke}"
        findings.add(spec.place, expected, "turn none")


def _warn_short_offsets(legs: tuple[Leg, ...], timer_from: TimerFrom) -> Iterator[str]:
    """Each offset leg too short to leave room for leading the last turn, once for each leg time."""
    warned: set[tuple[str, float]] = set()
    for leg, after in pairwise(legs):
        shortest_s = find_shortest_offset_s(leg, timer_from)
        if after.ends_on is not Ending.INTERCEPT or shortest_s is None or leg.leg_s is None:
            continue
        if leg.leg_s < shortest_s and (leg.leg, leg.leg_s) not in warned:
            warned.add((leg.leg, leg.leg_s))
            since = "the start of the turn" if timer_from is TimerFrom.TURN else "wings level"
            yield (
                f"The {leg.leg} leg of {leg.leg_s:g} s from {since} leaves no room to lead the turn inbound: "
                f"the shortest is {shortest_s:.1f} s."
            )


def find_shortest_offset_s(leg: Leg, timer_from: TimerFrom) -> float | None:
    """The shortest offset leg after which 180 degrees the other way leave room for the lead, in seconds.

    The straight part is 2 / w x cot(offset): 38.2 s at 45 degrees, any speed (geometry; the
    published 45/225). None where the leg is not an offset from a course to be flown back.
    """
    if leg.heading_mag_deg is None or leg.course_mag_deg is None:
        return None
    offset_deg = abs((leg.heading_mag_deg - leg.course_mag_deg) % 360 - 180)
    if not 0 < offset_deg < 90:
        return None
    straight_s = 2 / math.radians(STANDARD_RATE_DEG_S) / math.tan(math.radians(offset_deg))
    return straight_s + (turn_time_s(leg.turn_deg) if timer_from is TimerFrom.TURN else 0.0)
