"""The calls a leg asks for, each with its due time: worked out anew from where the drill stands.

A pure table of the present leg. Never knows what has been said or whether anyone is talking.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from coach.drill.model import Ending, Leg, Turn
from coach.drill.plan import Plan
from coach.session import prompts
from coach.session.progress import (
    OVERDUE_SHARE,
    Progress,
    State,
    ends_at_s,
    enter,
    expected_s,
    find_following,
    leg_of,
    level_s,
    planned,
    round_of,
)
from coach.session.prompts import Talk

TEN_S = 10.0
"""How long before a timed checkpoint the coming turn is said (common practice, no source)."""

SAME_S = 0.01
"""Two times worked out in two ways may differ in their last bit: within this they are the same."""

SPACING_S = 5.0
"""Between unsolicited prompts."""

NEEDLE_NOTE_S = 8.0
"""After the wings are level on the leg before an intercept: when its surprise is told."""

LATE_NEEDLE_S = 20.0
"""An intercept heading flown longer than this is told beforehand; nil wind gives 6.8 s (R15)."""

HOLD_HEADING_S = 20.0
"""Before planned passage: no more corrections, the cone is near (90 kt: 8 s for each 1,000 ft, V15)."""

LAST_S = 40.0
"""Before planned passage nothing is said but "hold heading"."""

SETTLED_S = 45.0
"""After the needle is alive the inbound turn is over and the wings are level (nil wind: 37 s)."""


REMIND_S = 6.0
"""After the wings are level: when a leg's reminder is said (our own choice)."""

REMIND_FOR_S = 20.0
"""A reminder that finds no room for so long is left out: the five Ts come first."""

TONE_STALE_S = 0.5
"""A tone later than this tells a wrong time."""

OPTIONAL = ("needle", "indicator", "reminder")
"""Calls that are left out where the spoke's budget of words is used up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One thing to be said or sounded at its time."""

    name: str
    """Unique within the leg."""

    due_s: float
    stale_s: float
    """Later than this it is dropped."""

    text: str
    """Empty: the cue tone alone."""

    is_time_call: bool = False
    takes_words: int | None = None
    """Left out where the spoke's budget has no room for so many words; None: always made."""


def calls(plan: Plan, progress: Progress, talk: Talk, *, heading_check_due: bool) -> tuple[Call, ...]:
    """The calls of the present leg in the order they are due."""
    if progress.state is not State.FLYING:
        return ()
    found = [
        *_five_ts(plan, progress, talk),
        *_needle_note(plan, progress, talk),
        *_timed(plan, progress, talk),
        *_tones(plan, progress),
        *_reminder(plan, progress, talk),
        *_passage(plan, progress, talk, heading_check_due),
    ]
    return tuple(sorted(found, key=lambda call: call.due_s))


def _five_ts(plan: Plan, progress: Progress, talk: Talk) -> Iterator[Call]:
    leg = leg_of(plan, progress)
    drill = plan.drill
    texts: tuple[str, ...] = ()
    if talk is Talk.FULL:
        texts = prompts.five_ts(leg, order=drill.five_ts, timer_from=drill.timer_from)
    elif talk is Talk.SHORT and (course := prompts.course(leg)):
        texts = (course,)
    for i, text in enumerate(texts, start=1):
        due_s = progress.begun_s + i * SPACING_S
        yield Call(name=f"t{i}", due_s=due_s, stale_s=due_s + 15.0, text=text)


def _needle_note(plan: Plan, progress: Progress, talk: Talk) -> Iterator[Call]:
    following = progress.leg_i + 1
    end_s = ends_at_s(plan, progress)
    if talk is Talk.CUE or end_s is None or following >= len(plan.legs):
        return
    text = _find_needle_note(plan, following)
    if text is not None:
        due_s = level_s(plan, progress) + NEEDLE_NOTE_S
        yield Call(name="needle", due_s=due_s, stale_s=end_s - TEN_S - SPACING_S, text=text)


def _find_needle_note(plan: Plan, leg_i: int) -> str | None:
    leg = plan.legs[leg_i]
    if leg.leg.ends_on is not Ending.INTERCEPT:
        return None
    if leg.goes_through:
        return prompts.EARLY_NEEDLE
    is_late = leg.intercept_s is not None and leg.intercept_s > LATE_NEEDLE_S
    return prompts.LATE_NEEDLE if is_late else None


def _timed(plan: Plan, progress: Progress, talk: Talk) -> Iterator[Call]:
    end_s, following = ends_at_s(plan, progress), find_following(plan, progress)
    if end_s is None or progress.waits_for_word:
        return
    turn_ends_s = progress.begun_s + planned(plan, progress).turn_s
    if end_s - TEN_S > turn_ends_s - SAME_S:
        yield Call(
            name="ten",
            due_s=end_s - TEN_S,
            stale_s=end_s - TEN_S + 2.0,
            text=prompts.ten_seconds(following) if following and talk is not Talk.CUE else "",
            is_time_call=True,
        )
    text = turn_text(following, talk) if following else prompts.COMPLETE
    yield Call(name="turn", due_s=end_s, stale_s=end_s + 2.0, text=text, is_time_call=True)


def turn_text(leg: Leg, talk: Talk) -> str:
    """What is said as a leg begins; the least talk leaves out a heading that is only a reversal or stays."""
    is_known = leg.turn_deg == 180 or (leg.spoke is None and leg.turn is Turn.NONE)
    if talk is Talk.CUE and is_known:
        return prompts.way(leg)
    return prompts.checkpoint(leg)


def _tones(plan: Plan, progress: Progress) -> Iterator[Call]:
    """A tone again and again, as long as the leg is planned to last."""
    leg = leg_of(plan, progress)
    if leg.tone_every_s is None:
        return
    lasts_s = (ends_at_s(plan, progress) or progress.begun_s + expected_s(plan, progress)) - progress.begun_s
    for k in range(1, math.ceil(lasts_s / leg.tone_every_s)):
        due_s = progress.begun_s + k * leg.tone_every_s
        yield Call(name=f"tone{k}", due_s=due_s, stale_s=due_s + TONE_STALE_S, text="", is_time_call=True)


def _reminder(plan: Plan, progress: Progress, talk: Talk) -> Iterator[Call]:
    leg, lasts = leg_of(plan, progress), planned(plan, progress)
    text = prompts.reminder(leg)
    if text is None or talk is Talk.CUE:
        return
    # A turn that is all of its leg has no level part to wait for.
    is_all_turn = lasts.turn_s > lasts.duration_s - REMIND_S - SPACING_S
    due_s = progress.begun_s + REMIND_S + (0.0 if is_all_turn else lasts.turn_s)
    yield Call(name="reminder", due_s=due_s, stale_s=due_s + REMIND_FOR_S, text=text)


def _passage(plan: Plan, progress: Progress, talk: Talk, heading_check_due: bool) -> Iterator[Call]:
    if leg_of(plan, progress).ends_on is not Ending.PASSAGE:
        return
    lasts_s = expected_s(plan, progress)
    passage_s = progress.begun_s + lasts_s
    settled_s = progress.begun_s + SETTLED_S
    if heading_check_due and settled_s < passage_s - LAST_S - SPACING_S:
        stale_s = passage_s - LAST_S - 2.5
        yield Call(name="indicator", due_s=settled_s, stale_s=stale_s, text=prompts.CHECK_HEADING_INDICATOR)
    if talk is not Talk.CUE:
        yield Call(
            name="hold", due_s=passage_s - HOLD_HEADING_S, stale_s=passage_s, text=prompts.HOLD_HEADING
        )
    overdue_s = progress.begun_s + lasts_s * OVERDUE_SHARE
    yield Call(name="overdue", due_s=overdue_s, stale_s=overdue_s + 15.0, text=prompts.PASSAGE_OVERDUE)


Adapt = Callable[[tuple[Call, ...], Progress, float], tuple[Call, ...]]
"""What becomes of a leg's calls at a time."""


def words_to_come(plan: Plan, progress: Progress, talk: Talk, adapt: Adapt) -> int:
    """How many words the drill itself still has to say in this spoke, what is optional left out."""
    flown = round_of(leg_of(plan, progress))
    words = sum(
        _words_of(call)
        for call in _own_calls(plan, progress, talk, adapt)
        if call.name not in progress.issued
    )
    at = progress
    while at.leg_i + 1 < len(plan.legs) and round_of(plan.legs[at.leg_i + 1].leg) == flown:
        before = leg_of(plan, at)
        at = enter(plan, at, at.leg_i + 1, onset_s=at.begun_s)
        words += sum(map(_words_of, _own_calls(plan, at, talk, adapt)))
        if before.ends_on is Ending.INTERCEPT and talk is not Talk.CUE:
            words += prompts.count_of_words(prompts.inbound(leg_of(plan, at)))
    return words


def _own_calls(plan: Plan, progress: Progress, talk: Talk, adapt: Adapt) -> Iterator[Call]:
    found = adapt(calls(plan, progress, talk, heading_check_due=False), progress, progress.begun_s)
    own = (call for call in found if call.takes_words is None)
    return (call for call in own if call.name not in ("overdue", *OPTIONAL))


def _words_of(call: Call) -> int:
    return prompts.count_of_words(call.text)
