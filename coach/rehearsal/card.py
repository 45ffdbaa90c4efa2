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


SEEN_BY_FEED = (
    Ending.PASSAGE,
    Ending.TIME,
    Ending.INTERCEPT,
    Ending.ESTABLISHED,
    Ending.DISTANCE,
    Ending.RADIAL,
)
"""What ends a leg without a word, where the coach sees the position alone."""


def find_word_needed(plan: Plan) -> str | None:
    """What waits for the pilot's word even where a feed is seen, such as `leg 2 up`; None: nothing does."""
    if plan.drill.begins_on not in SEEN_BY_FEED:
        return "the beginning"
    waiting = (leg.leg for leg in plan.legs if leg.leg.ends_on not in SEEN_BY_FEED)
    return next((f"leg {leg.n} {leg.leg}" for leg in waiting), None)


def print_card(plan: Plan) -> Card:
    """Return the card of a plan."""
    return Card(
        begins_on=plan.drill.begins_on,
        arrive_course_mag_deg=plan.drill.arrive_course_mag_deg,
        timer_from=plan.drill.timer_from,
        tas_kt=plan.tas_kt,
        legs=tuple(planned.leg for planned in plan.legs),
    )
