"""Before flight: what is done in the seat, and what is looked up at the desk, for one plan.

Never says that anything is done, clear, legal or current, and never gives an altitude to fly: it asks. The
ident is the only positive identification of a station (AIM 1-1-3c).
"""

from __future__ import annotations

import math

from coach.drill.card import BLANK, render_request
from coach.drill.card_view import REACH_MARGIN_NM, rim_nm
from coach.drill.model import Drill, Ending
from coach.drill.plan import Plan
from coach.nav.navaid import Navaid

LONGEST_S = 30.0
"""The flow in the seat takes no longer; then the flight begins, confirmed or not."""


def preflight_items(plan: Plan, *, navaid: Navaid | None, check_state: str) -> tuple[str, ...]:
    """Return the flow in the seat, one line each, in the order it is done.

    `navaid` None: frequency and ident are the pilot's to know. `check_state`: what the log of checks says.
    """
    tuned = (
        "" if navaid is None else f" ({navaid.frequency_khz / 1000:.2f} MHz, {navaid.ident} {navaid.morse})"
    )
    course = _first_course_mag_deg(plan.drill)
    return (
        f"Station tuned, identified, tested{tuned}; course {course:03d} set"
        if course is not None
        else f"Station, where one is used, tuned, identified, tested{tuned}",
        "Altimeter set",
        "Heading indicator set to the compass",
        "Safety pilot, where a view-limiting device is worn; who is pilot in command is agreed",
        f"Traffic advisories. {render_request(plan, *(() if navaid is None else (navaid.name,)))}",
        f"VOR check in date, required only under IFR (14 CFR 91.171): {check_state}",
    )


def _first_course_mag_deg(drill: Drill) -> int | None:
    """The course set before it begins: the one arrived on, else the first that a leg has; None: none."""
    if drill.begins_on is Ending.PASSAGE:
        return drill.arrive_course_mag_deg
    return next((leg.course_mag_deg for leg in drill.legs if leg.course_mag_deg is not None), None)


def look_up(plan: Plan) -> tuple[str, ...]:
    """Return what is to be looked up on chart and in notices before the flight, one line each."""
    miles = math.ceil(rim_nm(plan))
    is_at_station = uses_station(plan.drill)
    center = "the station" if is_at_station else "where it begins"
    circle = f"within {miles} NM of {center} (the reach of {plan.reach_nm:.1f} NM plus {REACH_MARGIN_NM:g})"
    of_station = (
        "Holds and approaches that use the station",
        "NOTAM of the station, and its unusable radials",
    )
    return (
        f"Highest terrain or obstacle {circle}: {BLANK} ft",
        "Airspace in that circle, and who controls it",
        *(of_station if is_at_station else ("NOTAM",)),
        f"An altitude off the cruising levels (14 CFR 91.159, 91.179): {BLANK} ft",
    )


def uses_station(drill: Drill) -> bool:
    """Whether the drill is flown about a station: it begins over one, or at a place seen from one."""
    return drill.begins_on is Ending.PASSAGE or drill.start is not None
