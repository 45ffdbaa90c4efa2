"""Every prompt that a plan will need, for rendering before take-off.

Answers that hold a number of seconds are left out: they are rendered when asked for.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.drill.model import Ending, Leg, T
from coach.drill.plan import Plan
from coach.session import prompts, recall
from coach.session.caller import POWER, REPORT
from coach.session.callouts import expected_value
from coach.session.calls import turn_text
from coach.session.progress import round_of, start_mag_deg
from coach.session.teacher import Mode

ALWAYS = (
    prompts.EARLY,
    prompts.USE_KEY,
    prompts.PASSAGE_OVERDUE,
    prompts.HOLD_HEADING,
    prompts.CHECK_HEADING_INDICATOR,
    prompts.EARLY_NEEDLE,
    prompts.LATE_NEEDLE,
    prompts.COMPLETE,
)


def all_prompts(plan: Plan) -> tuple[str, ...]:
    """The prompts of a plan in about the order they are needed, each once."""
    first, start = plan.legs[0].leg, start_mag_deg(plan, 0)
    texts = [prompts.ready(first, start), prompts.first_leg(first, start)]
    before: Leg | None = None
    for planned in plan.legs:
        texts += _leg_prompts(plan, planned.leg, before)
        before = planned.leg
    return tuple(dict.fromkeys([*texts, *ALWAYS]))


def feed_prompts(dots: int) -> tuple[str, ...]:
    """What a feed makes the coach say besides, but for what holds a number of seconds or degrees."""
    needles = (
        prompts.needle(side * shown, float(dots), dots)
        for shown in range(1, dots + 1)
        for side in (-1.0, 1.0)
    )
    return (*needles, prompts.REVERSE_SENSING, prompts.FEED_LOST)


def taught_prompts(plan: Plan, mode: Mode) -> tuple[str, ...]:
    """What recall and callouts make the coach say besides, but for corrections with a fault's name."""
    if mode is Mode.RECALL:
        halves = (half for leg in plan.legs for half in _recall_prompts(leg.leg))
        return tuple(dict.fromkeys([*recall.TEXTS.values(), prompts.TEN_SECONDS, *halves]))
    return (POWER, REPORT) if mode is Mode.CALLOUT else ()


def _recall_prompts(leg: Leg) -> Iterator[str]:
    """The turn as told, its side and its heading alone, its course."""
    turn = recall.turn_answer(leg)
    if turn is not None:
        yield recall.told(recall.Question.TURN, turn)
        side, _, value = prompts.checkpoint(leg).partition(", ")
        yield from (side, value.capitalize()) if value else (side,)
    course = expected_value(leg, T.TWIST)
    if course is not None:
        yield recall.told(recall.Question.COURSE, course)


def _leg_prompts(plan: Plan, leg: Leg, before: Leg | None) -> Iterator[str]:
    yield prompts.checkpoint(leg)
    yield turn_text(leg, prompts.Talk.CUE)
    if before is not None and before.ends_on is Ending.TIME:
        yield prompts.ten_seconds(leg)
        yield prompts.way(leg)
    if before is not None and before.ends_on is Ending.INTERCEPT:
        yield prompts.inbound(leg)
    if before is None or round_of(before) != round_of(leg):
        yield prompts.rejoin(leg, start_mag_deg(plan, leg.n - 1))
        yield prompts.checkpoint(leg, has_known_turn=False)
    if (reminder := prompts.reminder(leg)) is not None:
        yield reminder
    if (course := prompts.course(leg)) is not None:
        yield course
    yield from prompts.five_ts(leg, order=plan.drill.five_ts, timer_from=plan.drill.timer_from)
