"""The five Ts said by the pilot: what is missing, wrong, late or out of its order.

Pure: pieces with their times in, findings out. Never speaks; `coach.session.callout_calls` says what of it is
said aloud.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from coach.drill.model import Clock, Ending, Leg, T, TimerFrom, Turn
from coach.session.answers import Answer, Kind
from coach.session.mastery import HALF, RIGHT, WRONG, Element
from coach.session.recall import Question, Verdict, evidence, judge, turn_answer

PROMPT_S = 5.0
"""Turn and time are said within this of the checkpoint; our own choice."""

ALL_S = 15.0
"""All five Ts are said within this of the checkpoint; our own choice."""

BEFORE_S = 6.0
"""A piece may be said this long before the checkpoint: "turn left …" while the hand begins the turn."""

ALL_TS = (T.TURN, T.TIME, T.TWIST, T.THROTTLE, T.TALK)
SOON = (T.TURN, T.TIME)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One T as it was heard."""

    t: T
    onset_s: float
    """When its first word began, on the session clock."""

    answer: Answer | None = None
    """The heading of a turn, the course of a twist; None: the word alone."""


class Wrong(StrEnum):
    """What can be wrong with one T."""

    MISSING = "missing"
    VALUE = "wrong"
    LATE = "late"
    ORDER = "out of order"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing wrong with a callout."""

    t: T
    wrong: Wrong

    def __str__(self) -> str:
        """Such as `twist missing`."""
        return f"{self.t} {self.wrong}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Callout:
    """What has been said of one leg's callout by now."""

    needed: tuple[T, ...]
    """What this leg's callout has, in the drill's order."""

    said: tuple[Piece, ...]
    """The first piece of each T, or its first right one, in the order they were said."""

    findings: tuple[Finding, ...]

    lasted_s: float | None
    """From the checkpoint to the last piece; None while one is missing."""

    @property
    def is_complete(self) -> bool:
        """True where each T that is needed was said."""
        return self.lasted_s is not None

    def has(self, t: T, wrong: Wrong) -> bool:
        """True where that is wrong with that T."""
        return Finding(t=t, wrong=wrong) in self.findings


def needed_ts(leg: Leg, before: Leg | None, order: tuple[T, ...], timing: TimerFrom) -> tuple[T, ...]:
    """What is called at the start of a leg, in the drill's order.

    The turn where there is one, the time where the clock is touched just then (`timing`), the other three
    where a course is set; a T with nothing to do may be said and need not. After an intercept nothing: its
    turn begins when the needle says so, not at the word that began the leg.
    """
    if before is not None and before.ends_on is Ending.INTERCEPT:
        return ()
    is_set = leg.sets_course and leg.course_mag_deg is not None
    is_timed = leg.clock in (Clock.START, Clock.RUN) and timing is TimerFrom.TURN
    # At the end of a corrected leg the coach calls the turn: only it knows when.
    is_told = before is not None and before.corrects_for is not None
    is_turned = leg.turn is not Turn.NONE and turn_answer(leg) is not None and not is_told
    needed = {T.TURN: is_turned, T.TIME: is_timed}
    return tuple(t for t in order if needed.get(t, is_set))


def check_callout(
    leg: Leg, needed: tuple[T, ...], pieces: Iterable[Piece], *, begun_s: float, at_s: float
) -> Callout:
    """Check what was said so far of a leg that began at `begun_s`; pieces before or after it do not count."""
    heard = [piece for piece in pieces if begun_s - BEFORE_S <= piece.onset_s <= begun_s + 2 * ALL_S]
    said = tuple(sorted(_chosen(leg, heard), key=lambda piece: piece.onset_s))
    findings = (*_missing(needed, said, begun_s, at_s), *_faulty(leg, needed, said, begun_s))
    is_complete = set(needed) <= {piece.t for piece in said}
    last_s = max((piece.onset_s for piece in said if piece.t in needed), default=begun_s)
    return Callout(
        needed=needed,
        said=said,
        findings=findings,
        lasted_s=max(0.0, last_s - begun_s) if is_complete else None,
    )


def _chosen(leg: Leg, heard: list[Piece]) -> Iterator[Piece]:
    """Of each T the first right piece, else the last: a pilot who corrects himself is right."""
    for t in T:
        same = [piece for piece in heard if piece.t is t]
        if same:
            yield next((piece for piece in same if has_right_value(leg, piece)), same[-1])


def has_right_value(leg: Leg, piece: Piece) -> bool:
    """Whether the heading or course said is the leg's; a T without one has nothing to be wrong."""
    expected = expected_value(leg, piece.t)
    if expected is None or piece.t not in (T.TURN, T.TWIST):
        return True
    question = Question.TURN if piece.t is T.TURN else Question.COURSE
    return piece.answer is not None and judge(question, expected, piece.answer).verdict is Verdict.RIGHT


def expected_value(leg: Leg, t: T) -> Answer | None:
    """What belongs to a T; None: the word alone."""
    if t is T.TURN:
        return turn_answer(leg)
    if t is T.TWIST and leg.course_mag_deg is not None:
        return Answer(kind=Kind.COURSE, digits=f"{leg.course_mag_deg:03}")
    return None


def _missing(
    needed: tuple[T, ...], said: tuple[Piece, ...], begun_s: float, at_s: float
) -> Iterator[Finding]:
    there = {piece.t for piece in said}
    for t in needed:
        if t not in there and at_s >= begun_s + (PROMPT_S if t in SOON else ALL_S):
            yield Finding(t=t, wrong=Wrong.MISSING)


def _faulty(leg: Leg, needed: tuple[T, ...], said: tuple[Piece, ...], begun_s: float) -> Iterator[Finding]:
    wanted = [piece for piece in said if piece.t in needed]
    for piece in said:
        if not has_right_value(leg, piece):
            yield Finding(t=piece.t, wrong=Wrong.VALUE)
    for piece in wanted:
        if piece.onset_s > begun_s + (PROMPT_S if piece.t in SOON else ALL_S):
            yield Finding(t=piece.t, wrong=Wrong.LATE)
    for before, after in pairwise(wanted):
        if needed.index(after.t) < needed.index(before.t):
            yield Finding(t=after.t, wrong=Wrong.ORDER)


def callout_evidence(leg: Leg, callout: Callout) -> tuple[tuple[Element, float], ...]:
    """What a callout tells about each element, once its time is over."""
    return tuple(_evidence(leg, callout))


def _evidence(leg: Leg, callout: Callout) -> Iterator[tuple[Element, float]]:
    pieces = {piece.t: piece for piece in callout.said}
    turn = pieces.get(T.TURN)
    expected = turn_answer(leg)
    if T.TURN in callout.needed and expected is not None:
        yield from evidence(Question.TURN, expected, None if turn is None else turn.answer)
    if T.TIME in callout.needed:
        is_late = callout.has(T.TIME, Wrong.LATE)
        yield Element.TIMER, WRONG if T.TIME not in pieces else HALF if is_late else RIGHT
    if T.TWIST in callout.needed and expected_value(leg, T.TWIST) is not None:
        twist = pieces.get(T.TWIST)
        yield Element.COURSE, RIGHT if twist is not None and has_right_value(leg, twist) else WRONG


def render_callout(callout: Callout) -> str:
    """One line for the journal: `callout complete in 9.2 s`, `callout: twist missing, time late`."""
    if callout.findings:
        return f"callout: {', '.join(map(str, callout.findings))}"
    return f"callout complete in {callout.lasted_s or 0.0:.1f} s"
