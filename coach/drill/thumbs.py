"""The rules of thumb that a pilot reckons a plan with, each beside what is exact, and how far it is off.

Never used by the plan: that is exact. Only what the drill has a use for is told.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from coach.drill.hold_notes import find_hold, find_lap
from coach.drill.model import Ending, Leg, Turn
from coach.drill.plan import Plan, PlannedLeg
from coach.nav.angles import difference_deg, reciprocal_deg
from coach.nav.dme_arc import Arc, arc_lead_nm
from coach.nav.thumb import Thumb, dots_nm, off_track_nm
from coach.nav.to_station import distance_to_station_nm, minutes_to_station
from coach.nav.turn import (
    STANDARD_RATE_DEG_S,
    bank_deg,
    radius_nm,
    thumb_bank_by_tenth_deg,
    thumb_bank_deg,
)
from coach.nav.units import FT_PER_NM
from coach.nav.wind import solve_triangle

WING_TIP_DEG = 15.0
"""How far off the wing tip the first bearing may be for the rule to be used; our own choice."""


def rules_of_thumb(plan: Plan) -> tuple[str, ...]:
    """Return one line for each rule that the plan gives a figure for."""
    return tuple(_rules(plan))


def _rules(plan: Plan) -> Iterator[str]:
    legs = [planned.leg for planned in plan.legs]
    if any(leg.turn is not Turn.NONE for leg in legs):
        bank = Thumb(rule=thumb_bank_deg(plan.tas_kt), exact=bank_deg(plan.tas_kt))
        yield _told(f"Bank at {STANDARD_RATE_DEG_S:g} degrees a second, 15 % of the TAS", bank, "degrees")
        tenth = Thumb(rule=thumb_bank_by_tenth_deg(plan.tas_kt), exact=bank.exact)
        yield _told("The same, TAS / 10 + 7", tenth, "degrees")
    if plan.wind.speed_kt > 0.0:
        yield _told("Largest drift, 60 x wind / TAS", largest_drift_deg(plan), "degrees")
    if any(leg.tracks for leg in legs) and plan.reach_nm > 0.0:
        far = f"at {plan.reach_nm:.1f} NM"
        yield _told_ft(f"One degree off {far}, 1 in 60", off_track_nm(1.0, plan.reach_nm))
        yield _told_ft(f"One dot of 2 degrees {far}, 200 ft a mile", dots_nm(1.0, plan.reach_nm))
    yield from _hold_rules(plan)
    yield from _arc_rules(plan, legs)
    yield from _bearing_rules(plan)


def largest_drift_deg(plan: Plan) -> Thumb:
    """Return the most that the wind can drift the aircraft, 1 in 60 and exact."""
    share = plan.wind.speed_kt / plan.tas_kt
    return Thumb(rule=60.0 * share, exact=math.degrees(math.asin(min(1.0, share))))


def _hold_rules(plan: Plan) -> Iterator[str]:
    """Triple drift beside the correction that closes the lap."""
    hold = find_hold(plan)
    if hold is None or plan.wind.speed_kt == 0.0:
        return
    lap = find_lap(plan, hold)
    if lap is not None:
        yield _told("Correction outbound, triple drift", lap.correction_deg, "degrees")


def _arc_rules(plan: Plan, legs: list[Leg]) -> Iterator[str]:
    """The lead onto the first arc, and how far the corners of ten degrees lie beside it."""
    k = next((k for k, leg in enumerate(legs) if leg.arc_nm is not None), None)
    if k is None or legs[k].arc_nm is None:
        return
    arc_nm = legs[k].arc_nm or 0.0
    is_inbound = _begins_farther_out(plan, k, arc_nm)
    lead = arc_lead_nm(arc_nm, plan.tas_kt, is_inbound=is_inbound)
    yield _told("Lead onto the arc", lead, "NM", digits=2)
    arc = Arc(distance_nm=arc_nm, is_clockwise=True)
    corners = f"corners {arc.tangent_outside_nm():.2f} NM outside the arc"
    yield _told(
        "Lead off it, turn radius x 60 / DME", arc.lead_radials_deg(radius_nm(plan.tas_kt)), "radials"
    )
    yield f"Turn 10, twist 10: {corners} (technique, no source)"


def _begins_farther_out(plan: Plan, k: int, arc_nm: float) -> bool:
    return plan.legs[k].path[0].start.distance_nm >= arc_nm


def _bearing_rules(plan: Plan) -> Iterator[str]:
    """Time and distance to the station by the first leg flown across its bearing to another radial."""
    planned = next((planned for planned in plan.legs if _crosses_bearings(planned)), None)
    if planned is None:
        return
    start, end = planned.path[0].start, planned.path[-1].end
    change_deg = abs(difference_deg(end.radial_mag_deg, start.radial_mag_deg))
    distance = distance_to_station_nm(plan.tas_kt, planned.duration_s, change_deg)
    inbound = solve_triangle(reciprocal_deg(end.radial_mag_deg), plan.tas_kt, plan.wind)
    minutes = Thumb(
        rule=minutes_to_station(planned.duration_s, change_deg),
        exact=end.distance_nm / inbound.ground_speed_kt * 60.0,
    )
    yield _told("Time to the station, seconds / degrees", minutes, "minutes")
    yield _told("Distance, TAS x that time", Thumb(rule=distance.rule, exact=end.distance_nm), "NM")


def _crosses_bearings(planned: PlannedLeg) -> bool:
    """Straight from one radial to another, the first bearing about on the wing tip."""
    start = planned.path[0].start
    if planned.leg.ends_on is not Ending.RADIAL or planned.leg.turn is not Turn.NONE or not start.distance_nm:
        return False
    off_wing_deg = abs(abs(difference_deg(start.heading_mag_deg, start.radial_mag_deg)) - 90.0)
    return planned.leg.arc_nm is None and off_wing_deg <= WING_TIP_DEG


def _told_ft(what: str, thumb: Thumb) -> str:
    feet = Thumb(rule=thumb.rule * FT_PER_NM, exact=thumb.exact * FT_PER_NM)
    return _told(what, feet, "ft", digits=0)


def _told(what: str, thumb: Thumb, unit: str, *, digits: int = 1) -> str:
    rule, exact = round(thumb.rule, digits), round(thumb.exact, digits)
    said = f"{what}: {rule:.{digits}f} {unit}"
    if rule == exact:
        return f"{said}, and so it is"
    # From the figures as they are shown: the difference is the one that the reader sees.
    off = f"{abs(rule - exact):.{digits}f} too {'much' if rule > exact else 'little'}"
    return f"{said}; exact {exact:.{digits}f}, so {off}"
