"""Callouts: the pilot says the five Ts, the coach only what is missing for too long or wrong.

Keeps the pieces heard. Never decides where the drill stands.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

from coach.drill.model import Leg, T
from coach.drill.plan import Plan
from coach.session import prompts, recall
from coach.session.answers import Answer
from coach.session.callouts import (
    ALL_S,
    BEFORE_S,
    PROMPT_S,
    SOON,
    Callout,
    Piece,
    callout_evidence,
    check_callout,
    expected_value,
    has_right_value,
    needed_ts,
    render_callout,
)
from coach.session.calls import Call
from coach.session.mastery import Fading
from coach.session.progress import Progress, State, ends_at_s, find_following, leg_of, timing_of
from coach.session.recall import Question, judge

CLOSES_S = 20.0
"""After the checkpoint the callout is over, whatever was said."""

STALE_S = 10.0
"""What is missing and cannot be said for so long is left."""

KEPT = ("overdue", "indicator")
"""Calls of the drill that are made in spite of callouts."""

POWER, REPORT = "Power?", "Report?"
"""The fourth and the fifth T, by other words than the pilot's."""

KEPT_PIECES = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What follows from one piece."""

    text: str | None
    """What is said to it; None: nothing."""

    is_complete: bool
    """All that was needed has been said, and this was the last of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Station:
    """The leg that a piece belongs to."""

    leg: Leg
    before: Leg | None
    begun_s: float


class Caller:
    """Follows the callouts of one session."""

    def __init__(self, fading: Fading) -> None:
        self._fading = fading
        self._pieces: deque[Piece] = deque(maxlen=KEPT_PIECES)
        self._closed_s = float("-inf")
        """When the leg began whose callout was closed last."""

    def is_listening(self, plan: Plan, progress: Progress, at_s: float) -> bool:
        """Whether a T is listened for: about a checkpoint."""
        if progress.state is not State.FLYING:
            return False
        end_s = ends_at_s(plan, progress)
        is_coming = end_s is not None and at_s >= end_s - BEFORE_S
        return is_coming or at_s <= progress.begun_s + CLOSES_S

    def find_expected(self, plan: Plan, progress: Progress, at_s: float) -> Answer | None:
        """The heading or course that should be said next; None: none is listened for."""
        if not self.is_listening(plan, progress, at_s):
            return None
        there = _station(plan, progress, at_s)
        if there is None:
            return None
        said = {piece.t for piece in self._check(there, plan, at_s).said if has_right_value(there.leg, piece)}
        values = ((t, expected_value(there.leg, t)) for t in (T.TURN, T.TWIST))
        return next((value for t, value in values if value is not None and t not in said), None)

    def hear(self, piece: Piece, plan: Plan, progress: Progress, at_s: float) -> Heard:
        """What follows from a T that was heard."""
        there = _station(plan, progress, piece.onset_s)
        if there is None:
            return Heard(text=None, is_complete=False)
        was_complete = self._check(there, plan, at_s).is_complete
        self._pieces.append(piece)
        is_complete = self._check(there, plan, at_s).is_complete
        return Heard(text=_correction(there.leg, piece), is_complete=is_complete and not was_complete)

    def adapt(self, own: tuple[Call, ...], plan: Plan, progress: Progress, at_s: float) -> tuple[Call, ...]:
        """The calls of a leg: only what is missing from its callout, and what has nothing to do with it."""
        if progress.state is not State.FLYING:
            return own
        there = _present(plan, progress)
        # How long a corrected leg lasts only the coach knows: its time is called.
        names = (*KEPT, "ten", "turn") if there.leg.corrects_for is not None else KEPT
        kept = [call for call in own if call.name in names]
        return tuple(sorted([*kept, *self._missing(there, plan, at_s)], key=lambda call: call.due_s))

    def closes_at_s(self, progress: Progress) -> float | None:
        """When the present leg's callout is over; None: it is over, or there is none."""
        if progress.state is not State.FLYING or progress.begun_s <= self._closed_s:
            return None
        return progress.begun_s + CLOSES_S

    def close(self, plan: Plan, progress: Progress, at_s: float) -> str | None:
        """The journal's line where a callout is over now; what it tells is taken note of."""
        closes_s = self.closes_at_s(progress)
        if closes_s is None or at_s < closes_s:
            return None
        self._closed_s = progress.begun_s
        there = _present(plan, progress)
        callout = self._check(there, plan, at_s)
        if not callout.needed:
            return None
        for element, worth in callout_evidence(there.leg, callout):
            self._fading.note(element, worth)
        return render_callout(callout)

    def _check(self, there: _Station, plan: Plan, at_s: float) -> Callout:
        needed = needed_ts(there.leg, there.before, plan.drill.five_ts, timing_of(plan, there.leg))
        return check_callout(there.leg, needed, self._pieces, begun_s=there.begun_s, at_s=at_s)

    def _missing(self, there: _Station, plan: Plan, at_s: float) -> Iterator[Call]:
        callout = self._check(there, plan, at_s)
        said = {piece.t for piece in callout.said}
        for t in callout.needed:
            text = None if t in said else _text(there.leg, t, plan)
            if text is not None:
                due_s = there.begun_s + (PROMPT_S if t in SOON else ALL_S)
                yield Call(name=f"missing {t}", due_s=due_s, stale_s=due_s + STALE_S, text=text)


def _present(plan: Plan, progress: Progress) -> _Station:
    before = plan.legs[progress.leg_i - 1].leg if progress.leg_i else None
    return _Station(leg=leg_of(plan, progress), before=before, begun_s=progress.begun_s)


def _station(plan: Plan, progress: Progress, onset_s: float) -> _Station | None:
    """The leg that a piece said then belongs to: the coming one just before a timed checkpoint."""
    if progress.state is not State.FLYING:
        return None
    end_s, following = ends_at_s(plan, progress), find_following(plan, progress)
    if end_s is not None and following is not None and onset_s >= end_s - BEFORE_S:
        return _Station(leg=following, before=leg_of(plan, progress), begun_s=end_s)
    return _present(plan, progress)


def _text(leg: Leg, t: T, plan: Plan) -> str | None:
    """What is said where a T is missing; None where it has nothing to do on this leg."""
    if t is T.TURN:
        return prompts.checkpoint(leg)
    if t is T.TIME:
        return next(iter(prompts.five_ts(leg, order=(T.TIME,), timer_from=timing_of(plan, leg))), None)
    if t is T.TWIST:
        expected = expected_value(leg, T.TWIST)
        return None if expected is None else recall.told(Question.COURSE, expected)
    return POWER if t is T.THROTTLE else REPORT


def _correction(leg: Leg, piece: Piece) -> str | None:
    """What is said to a wrong heading or course; None where it is right."""
    expected = expected_value(leg, piece.t)
    if expected is None or has_right_value(leg, piece):
        return None
    question = Question.TURN if piece.t is T.TURN else Question.COURSE
    told = prompts.checkpoint(leg) if piece.t is T.TURN else recall.told(question, expected)
    fault = None if piece.answer is None else judge(question, expected, piece.answer).fault
    is_named = fault is not None and fault is not recall.Fault.NO_SIDE
    return f"{fault}. {told}" if is_named else told
