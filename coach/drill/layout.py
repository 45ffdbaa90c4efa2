"""A drill's legs laid out one after the other: what is flown once, spokes or laps, what is flown once after.

Never knows wind, station or speed: that is the plan (`coach.drill.plan`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from coach.drill.findings import Findings, Named
from coach.drill.frame import Frame
from coach.drill.leg_language import ITS_TURN
from coach.drill.model import Ending, Leg, TimerFrom, Turn
from coach.drill.source import Place
from coach.drill.specs import AltitudeSpec, DrillSpec, HeadingSpec, LegSpec
from coach.drill.values import LegTurn, Side, Turned, signed_deg
from coach.nav.angles import as_heading, difference_deg
from coach.nav.climb import climb_time_s
from coach.nav.compass import roll_out_reading_deg
from coach.nav.holding import Hold
from coach.nav.turn import STANDARD_RATE_DEG_S, turn_time_s

WHOLE_CIRCLE_DEG = 360


def begins_heading(spec: DrillSpec, values: Mapping[str, Any]) -> int:
    """The course or heading flown before the first leg, 1-360."""
    if spec.begins is None:
        arriving: int = values["arrive_course"]
        return arriving
    return _before(values).find_bearing(spec.begins.heading)


def begins_radial(spec: DrillSpec, values: Mapping[str, Any]) -> int | None:
    """The radial on which the drill begins, 1-360; None: over the station, or where no station is used."""
    if spec.begins is None or spec.begins.radial is None:
        return None
    return _before(values).find_bearing(spec.begins.radial)


def _before(values: Mapping[str, Any]) -> Frame:
    """What is known before any leg is flown."""
    side = side_of(values.get("sides", "right"), 1)
    return Frame(courses=_courses(values), side=side, straight_back=side)


def find_entry(spec: DrillSpec, values: Mapping[str, Any]) -> str | None:
    """The entry of a holding pattern for the course it is arrived on; None where the drill is none."""
    if spec.entry is None:
        return None
    frame = _before(values)
    hold = Hold(inbound_mag_deg=frame.find_bearing(spec.entry.inbound), is_right=frame.side is Side.RIGHT)
    return str(hold.entry(values[spec.entry.arriving.name]))


def lay_out(spec: DrillSpec, values: Mapping[str, Any], findings: Findings) -> tuple[Leg, ...]:
    """Every leg in the order flown; what cannot be flown is noted."""
    heading_mag_deg = begins_heading(spec, values)
    course_mag_deg: int | None = heading_mag_deg if has_station(spec) else None
    legs: list[Leg] = []
    for leg_spec, frame in _in_order(spec, values):
        course_mag_deg = frame.find_direction(leg_spec.twist, heading_mag_deg) or course_mag_deg
        leg = _lay_leg(leg_spec, frame, values, n=len(legs) + 1, was=heading_mag_deg, course=course_mag_deg)
        _check_leg(leg, leg_spec, heading_mag_deg, findings, has_place=has_station(spec))
        heading_mag_deg = _left_on_deg(leg, frame.radial) or leg.heading_mag_deg or heading_mag_deg
        legs.append(leg)
    return tuple(legs)


def _left_on_deg(leg: Leg, begun_radial: int | None) -> int | None:
    """The heading of the tangent where an arc is left, by the course set; None where it is no arc."""
    if (
        leg.arc_nm is None
        or leg.course_mag_deg is None
        or leg.heading_mag_deg is None
        or begun_radial is None
    ):
        return None
    is_clockwise = difference_deg(leg.heading_mag_deg, begun_radial) > 0.0
    radial = leg.course_mag_deg + (0 if leg.ends_on is Ending.RADIAL else 180)
    return as_heading(radial + (90 if is_clockwise else -90))


def has_station(spec: DrillSpec) -> bool:
    """Whether it is known where the drill is flown: it begins over the station, or so far from it."""
    begins = spec.begins
    return begins is None or begins.by is Ending.PASSAGE or begins.radial is not None


def _in_order(spec: DrillSpec, values: Mapping[str, Any]) -> Iterator[tuple[LegSpec, Frame]]:
    radial = begins_radial(spec, values)
    rounds = tuple(_spokes(values, radial) if spec.spoke else _laps(spec, values, radial))
    entry = find_entry(spec, values)
    entered = () if spec.entry is None else getattr(spec.entry, str(entry))
    once, last = _once(rounds[0]), _once(rounds[-1])
    yield from ((leg, once) for leg in (*spec.begin, *entered))
    for frame in rounds:
        yield from ((leg, frame) for leg in spec.spoke or spec.legs)
    yield from ((leg, last) for leg in spec.end)


def _once(frame: Frame) -> Frame:
    return replace(frame, spoke=None, lap=None)


def _courses(values: Mapping[str, Any]) -> dict[str, int]:
    return {name: value for name, value in values.items() if isinstance(value, int)}


def _spokes(values: Mapping[str, Any], radial: int | None) -> Iterator[Frame]:
    outbound_mag_deg = values["first_outbound"]
    rotation: Turned = values["rotation"]
    for n in range(1, values["spokes"] + 1):
        inbound_mag_deg = as_heading(outbound_mag_deg + 180)
        yield Frame(
            courses=_courses(values) | {"outbound": outbound_mag_deg, "inbound": inbound_mag_deg},
            side=side_of(values["sides"], n),
            straight_back=rotation.side,
            radial=radial,
            spoke=n,
        )
        outbound_mag_deg = as_heading(inbound_mag_deg + signed_deg(rotation))


def _laps(spec: DrillSpec, values: Mapping[str, Any], radial: int | None) -> Iterator[Frame]:
    count = 1 if spec.repeat is None else values[spec.repeat.name]
    for n in range(1, count + 1):
        side = side_of(values.get("sides", "left"), n)
        lap = None if spec.repeat is None else n
        yield Frame(courses=_courses(values), side=side, straight_back=side, lap=lap, radial=radial)


def side_of(sides: str, n: int) -> Side:
    """The side of the n-th spoke or lap; alternate begins left."""
    if sides == "alternate":
        return Side.LEFT if n % 2 else Side.RIGHT
    return Side(sides)


def _lay_leg(
    spec: LegSpec, frame: Frame, values: Mapping[str, Any], *, n: int, was: int, course: int | None
) -> Leg:
    climb_ft, rate_ft_min = _find_climb(spec.altitude, values)
    leg_s = None if spec.lasts is None or spec.lasts.name == ITS_TURN else values[spec.lasts.name]
    heading_mag_deg = frame.find_direction(spec.heading, was)
    if spec.intercepts is not None and course is not None:
        heading_mag_deg = frame.cut_deg(course, is_inbound=spec.intercepts == "to")
    turn, turn_deg = _find_turn(spec, frame, was, heading_mag_deg)
    if spec.turns_on:
        turn, turn_deg = _turn_on(spec.turn, frame, leg_s or _climb_s(climb_ft, rate_ft_min))
        heading_mag_deg = as_heading(was + (turn_deg if turn is Turn.RIGHT else -turn_deg))
    is_its_turn = spec.lasts is not None and spec.lasts.name == ITS_TURN
    return Leg(
        n=n,
        spoke=frame.spoke,
        lap=frame.lap,
        leg=spec.leg,
        turn=turn,
        turn_deg=turn_deg,
        heading_mag_deg=heading_mag_deg,
        course_mag_deg=course,
        sets_course=spec.twist is not None,
        tracks=spec.tracks,
        clock=spec.clock,
        timed_from=TimerFrom.TURN if is_its_turn else spec.timed_from,
        leg_s=turn_time_s(turn_deg) if is_its_turn else leg_s,
        corrects_wind=spec.corrects_wind is not None and values[spec.corrects_wind.name] == "on",
        corrects_for=None if spec.corrects_for is None else spec.corrects_for.name,
        drift=spec.drift,
        arc_nm=_amount(spec.arcs, values),
        distance_nm=_amount(spec.distance, values),
        climb_ft=climb_ft,
        rate_ft_min=rate_ft_min,
        ends_on=spec.ends_on,
        compass_mag_deg=_find_reading(spec, turn, heading_mag_deg, values),
        says=spec.says,
        reminds=spec.reminds,
        tone_every_s=spec.tone_every_s,
        throttle=spec.throttle,
        talk=spec.talk,
    )


def _find_reading(spec: LegSpec, turn: Turn, heading: int | None, values: Mapping[str, Any]) -> int | None:
    if spec.by_compass is None or heading is None or turn is Turn.NONE:
        return None
    latitude_deg = values[spec.by_compass.name]
    return as_heading(roll_out_reading_deg(heading, is_right=turn is Turn.RIGHT, latitude_deg=latitude_deg))


def _amount(amount: float | Named | None, values: Mapping[str, Any]) -> float | None:
    if isinstance(amount, Named):
        value: float = values[amount.name]
        return value
    return amount


def _find_climb(
    change: AltitudeSpec | None, values: Mapping[str, Any]
) -> tuple[float, float] | tuple[None, None]:
    """How far, down negative, and how fast."""
    if change is None:
        return None, None
    by_ft, rate_ft_min = _amount(change.by, values), _amount(change.rate, values)
    assert by_ft is not None
    assert rate_ft_min is not None
    return (by_ft if change.way == "up" else -by_ft), rate_ft_min


def _climb_s(climb_ft: float | None, rate_ft_min: float | None) -> float:
    return 0.0 if climb_ft is None or rate_ft_min is None else climb_time_s(climb_ft, rate_ft_min)


def _turn_on(turn: LegTurn, frame: Frame, lasts_s: float) -> tuple[Turn, int]:
    side = frame.fixed_side(Side(turn))
    return Turn(side.value), round(lasts_s * STANDARD_RATE_DEG_S)


def _find_turn(spec: LegSpec, frame: Frame, was: int, heading: int | None) -> tuple[Turn, int]:
    """Which way and how far; no turn where the heading stays, unless a whole circle is asked for."""
    turn = spec.turn
    if heading is None or turn is LegTurn.NONE:
        return Turn.NONE, 0
    turned = spec.heading.turned if isinstance(spec.heading, HeadingSpec) else None
    right_deg = (heading - was) % 360
    if right_deg == 0:
        if turned is None or turned.degrees != WHOLE_CIRCLE_DEG or turn is LegTurn.SHORTER:
            return Turn.NONE, 0
        return Turn(frame.fixed_side(Side(turn)).value), WHOLE_CIRCLE_DEG
    side = _shorter(right_deg, frame) if turn is LegTurn.SHORTER else frame.fixed_side(Side(turn))
    return (Turn.RIGHT, right_deg) if side is Side.RIGHT else (Turn.LEFT, 360 - right_deg)


def _shorter(right_deg: int, frame: Frame) -> Side:
    if right_deg == 180:
        return frame.straight_back
    return Side.RIGHT if right_deg < 180 else Side.LEFT


def _check_leg(leg: Leg, spec: LegSpec, was: int, findings: Findings, *, has_place: bool) -> None:
    """Note what only shows once the headings are known, once for each leg of the file."""
    if any(place == spec.place for place, _ in findings.found):
        return
    place: Place = spec.place
    if spec.turn is LegTurn.NONE and leg.heading_mag_deg not in (None, was):
        expected = f"a turn from {was:03d} to {leg.heading_mag_deg:03d}{_render_round(leg)}"
        findings.add(place, expected, "turn none")
    if spec.lasts is not None and spec.lasts.name == ITS_TURN and leg.turn_deg == 0:
        findings.add(place, f"a turn where lasts is {ITS_TURN}", f"heading {was:03d} as before")
    if not has_place and _needs_place(leg):
        expected = "begins.radial and begins.distance where a leg needs the station"
        findings.add(place, expected, "neither")


def _needs_place(leg: Leg) -> bool:
    endings = (Ending.PASSAGE, Ending.INTERCEPT, Ending.ESTABLISHED, Ending.DISTANCE, Ending.RADIAL)
    return leg.tracks or leg.arc_nm is not None or leg.ends_on in endings


def _render_round(leg: Leg) -> str:
    if leg.spoke is not None:
        return f" in spoke {leg.spoke}"
    return "" if leg.lap is None else f" in lap {leg.lap}"
