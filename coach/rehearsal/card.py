"""What is printed on the pilot's card: the legs as published, and nothing the pilot must find out himself.

Never holds the wind, the plan's times to come or where the coach stands.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.drill.model import Ending, Leg, TimerFrom
from coach.drill.plan import Plan
from coach.errors import DrillError, Problem

FLYABLE = (Ending.PASSAGE, Ending.TIME, Ending.INTERCEPT)
"""The checkpoints that the simulated pilot knows how to fly to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """The drill as printed."""

    arrive_course_mag_deg: int
    timer_from: TimerFrom
    tas_kt: float
    """What the airspeed indicator is kept at."""

    legs: tuple[Leg, ...]


def print_card(plan: Plan) -> Card:
    """Return the card of a plan; DrillError where a leg ends on something this pilot cannot fly to."""
    legs = tuple(planned.leg for planned in plan.legs)
    expected = " or ".join(FLYABLE)
    problems = [
        Problem(where=f"leg {leg.n}: ends_on", expected=f"{expected} (to rehearse)", got=leg.ends_on)
        for leg in legs
        if leg.ends_on not in FLYABLE
    ]
    if problems:
        raise DrillError(*problems)
    return Card(
        arrive_course_mag_deg=plan.drill.arrive_course_mag_deg,
        timer_from=plan.drill.timer_from,
        tas_kt=plan.tas_kt,
        legs=legs,
    )
