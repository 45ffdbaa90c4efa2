"""What a holding pattern comes to in a plan's wind: the entries that may be flown, the lap that closes.

Never alters the plan: it is flown by triple drift and corrected by the clock, as a pilot flies it.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.drill.model import Leg, Turn
from coach.drill.plan import Plan
from coach.errors import DrillError
from coach.nav.angles import as_heading, reciprocal_deg
from coach.nav.holding import (
    HIGH_FROM_FT,
    HIGH_INBOUND_S,
    LOW_INBOUND_S,
    TOLERANCE_DEG,
    TRIPLE,
    Hold,
    Lap,
    solve_lap,
)


def find_hold(plan: Plan) -> Hold | None:
    """Return the hold of a drill that is entered by sector; None where it is none."""
    leg = _outbound(plan)
    if leg is None or leg.heading_mag_deg is None:
        return None
    return Hold(inbound_mag_deg=reciprocal_deg(leg.heading_mag_deg), is_right=leg.turn is Turn.RIGHT)


def find_lap(plan: Plan, hold: Hold) -> Lap | None:
    """Return the lap whose inbound leg lasts as the drill wishes; None where the wind leaves none."""
    leg = _outbound(plan)
    wanted_s = LOW_INBOUND_S if leg is None else _wanted_s(plan, leg)
    try:
        return solve_lap(hold, tas_kt=plan.tas_kt, wind=plan.wind, inbound_s=wanted_s)
    except DrillError:
        return None


def hold_notes(plan: Plan) -> tuple[str, ...]:
    """Return what is to be told of a hold, one line each; nothing where the drill is none."""
    hold = find_hold(plan)
    return () if hold is None else tuple(_notes(plan, hold))


def _notes(plan: Plan, hold: Hold) -> Iterator[str]:
    first, *others = hold.entries(plan.drill.arrive_course_mag_deg)
    either = f", or {' or '.join(others)}: within {TOLERANCE_DEG:g} degrees of the line" if others else ""
    yield f"Entry {first}{either} (AIM 5-3-8j)"
    yield (
        f"Inbound {LOW_INBOUND_S:g} s at or below {HIGH_FROM_FT:,} ft, {HIGH_INBOUND_S:g} s above; "
        "outbound timed from over or abeam the fix, whichever is later (AIM 5-3-8j4)"
    )
    lap = find_lap(plan, hold)
    if lap is None:
        yield "In this wind no outbound leg closes the lap"
        return
    yield (
        f"Exact in this wind: outbound heading {as_heading(lap.outbound_heading_mag_deg):03d}, "
        f"{lap.timed_s:.0f} s from abeam the fix, for {lap.inbound_s:g} s inbound"
    )


def _outbound(plan: Plan) -> Leg | None:
    return next((leg for leg in plan.drill.legs if leg.drift == TRIPLE), None)


def _wanted_s(plan: Plan, leg: Leg) -> float:
    """How long inbound should last: as the first outbound leg; the plan may have corrected later ones."""
    return next(
        (each.leg_s for each in plan.drill.legs if each.leg == leg.leg and each.leg_s is not None),
        LOW_INBOUND_S,
    )
