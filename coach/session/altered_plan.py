"""A plan that goes on otherwise from a station passage on: another radial, reversals swapped, a hold first.

Legs up to the passage stay as they are, index and all. Never decides when; pure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from coach.drill.model import Clock, Ending, Leg, Turn
from coach.drill.plan import Plan, plan_drill
from coach.nav.angles import as_heading, difference_deg

HOLD_LEG_S = 60.0
"""Outbound at or below 14,000 ft (AIM 5-3-8j)."""

SPOKE = ("outbound", "offset", "reversal", "inbound")
"""The legs of a spoke that can be altered."""

_OTHER = {Turn.LEFT: Turn.RIGHT, Turn.RIGHT: Turn.LEFT, Turn.NONE: Turn.NONE}


def has_reversals(plan: Plan, leg_i: int) -> bool:
    """Whether a whole spoke of outbound, offset, reversal and inbound follows that leg."""
    return tuple(planned.leg.leg for planned in plan.legs[leg_i + 1 : leg_i + 5]) == SPOKE


def with_radial(plan: Plan, leg_i: int, radial_mag_deg: int) -> Plan:
    """The spoke after that inbound leg out on another radial; the turns about it follow.

    Raises DrillError where it cannot be flown.
    """
    legs = [planned.leg for planned in plan.legs]
    by_deg = difference_deg(radial_mag_deg, legs[leg_i + 1].course_mag_deg or 360)
    legs[leg_i + 1 : leg_i + 5] = [_turned(leg, by_deg) for leg in legs[leg_i + 1 : leg_i + 5]]
    for i in (leg_i + 1, leg_i + 5):
        if i < len(legs):
            legs[i] = _begun_from(legs[i], legs[i - 1])
    return _planned(plan, legs)


def with_reversals_swapped(plan: Plan, leg_i: int) -> Plan:
    """All spokes after that inbound leg with their reversals to the other side. Raises DrillError."""
    legs = [planned.leg for planned in plan.legs]
    for i in range(leg_i + 1, len(legs) - 3, 4):
        if has_reversals(plan, i - 1):
            legs[i : i + 4] = [legs[i], *(_mirrored(leg, legs[i]) for leg in legs[i + 1 : i + 4])]
    return _planned(plan, legs)


def with_hold(plan: Plan, leg_i: int) -> Plan:
    """Once round a hold over the station, right turns, before the spoke after that inbound leg.

    Raises DrillError where it cannot be flown.
    """
    legs = [planned.leg for planned in plan.legs]
    inbound = legs[leg_i]
    out = replace(
        inbound,
        leg="hold_outbound",
        turn=Turn.RIGHT,
        turn_deg=180,
        heading_mag_deg=as_heading((inbound.course_mag_deg or 360) + 180.0),
        tracks=False,
        clock=Clock.START,
        leg_s=HOLD_LEG_S,
        ends_on=Ending.TIME,
    )
    back = replace(inbound, leg="hold_inbound", turn=Turn.RIGHT, turn_deg=180, clock=Clock.STOP)
    return _planned(plan, [*legs[: leg_i + 1], out, back, *legs[leg_i + 1 :]])


def _turned(leg: Leg, by_deg: float) -> Leg:
    heading, course = leg.heading_mag_deg, leg.course_mag_deg
    return replace(
        leg,
        heading_mag_deg=None if heading is None else as_heading(heading + by_deg),
        course_mag_deg=None if course is None else as_heading(course + by_deg),
    )


def _begun_from(leg: Leg, before: Leg) -> Leg:
    """The leg with the shorter turn from the heading before it."""
    turn_deg = difference_deg(leg.heading_mag_deg or 360, before.heading_mag_deg or 360)
    turn = Turn.NONE if turn_deg == 0 else Turn.RIGHT if turn_deg > 0 else Turn.LEFT
    return replace(leg, turn=turn, turn_deg=abs(round(turn_deg)))


def _mirrored(leg: Leg, outbound: Leg) -> Leg:
    """The leg on the other side of its spoke."""
    axis_deg, heading = outbound.course_mag_deg or 360, leg.heading_mag_deg
    mirrored = None if heading is None else as_heading(2.0 * axis_deg - heading)
    return replace(leg, turn=_OTHER[leg.turn], heading_mag_deg=mirrored)


def _planned(plan: Plan, legs: Iterable[Leg]) -> Plan:
    numbered = tuple(replace(leg, n=n) for n, leg in enumerate(legs, start=1))
    return plan_drill(replace(plan.drill, legs=numbered), tas_kt=plan.tas_kt, wind=plan.wind)
