"""What is printed on the pilot's card: the legs as published, and nothing the pilot must find out himself.

Never holds the wind, the plan's times to come or where the coach stands.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.drill.model import Ending, Leg, TimerFrom
from coach.drill.plan import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """The drill as printed."""

    begins_on: Ending
    """Passage of the station, or his own word."""

    arrive_course_mag_deg: int
    """The course to the station, or the heading on which his word begins it."""

    timer_from: TimerFrom
    tas_kt: float
    """What the airspeed indicator is kept at."""

    legs: tuple[Leg, ...]


def print_card(plan: Plan) -> Card:
    """Return the card of a plan."""
    return Card(
        begins_on=plan.drill.begins_on,
        arrive_course_mag_deg=plan.drill.arrive_course_mag_deg,
        timer_from=plan.drill.timer_from,
        tas_kt=plan.tas_kt,
        legs=tuple(planned.leg for planned in plan.legs),
    )
