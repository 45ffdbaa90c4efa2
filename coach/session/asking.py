"""Which question is asked when: the coming turn before a timed checkpoint, one other question a spoke.

The better what comes next is known, the rarer the coming turn is asked for. The other question is about what
was asked least today and is known least. Never in a turn and never in the last 40 s inbound. Never speaks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from coach.drill.model import Ending, Leg
from coach.drill.plan import Plan
from coach.session.calls import LAST_S, SETTLED_S, Call
from coach.session.mastery import Element, Fading, Step
from coach.session.progress import (
    Progress,
    State,
    checkpoint_s,
    ends_at_s,
    expected_s,
    leg_of,
    level_s,
    planned,
    round_of,
)
from coach.session.prompts import Talk, count_of_words
from coach.session.recall import ABOUT, TEXTS, Question, find_expected, told

TURN_ASKED_S = 25.0
"""Before a timed checkpoint the coming turn is asked for."""

ANSWER_S = 8.0
"""The time to begin an answer, from the end of the question."""

UNDERSTOOD_S = 2.5
"""What an answer begun in time takes to be said and understood, at most."""

ASK_LATE_S = 3.0
"""A question that has to wait longer is not asked: the answer would come too near to what follows."""

SECONDS_AFTER_S = 2.0
"""After the wings are level: when the other question is asked."""

MOST_SECONDS_S = 75.0
"""No more seconds to go than this are asked for: nobody counts from further off."""

QUESTION_S = 2.5
"""The longest question, with its tone."""

WHOLE_S = QUESTION_S + ANSWER_S + UNDERSTOOD_S
"""From the beginning of a question to the end of all that follows from it but a correction."""

ASK_EVERY = {Step.FULL: 1, Step.SHORT: 1, Step.CUE: 2, Step.SILENCE: 3}
"""The coming turn is asked for at every so many timed checkpoints, by the step of what comes next."""

OTHERS = {
    Element.TIMER: (Question.SECONDS,),
    Element.COURSE: (Question.RADIAL, Question.COURSE),
    Element.NEXT: (Question.STATION_TURN, Question.SPOKE),
}
"""The other questions about each element; taken in turns."""

FAULT_WORDS = 2
"""What a fault's name adds to a correction at most."""


class Schedule:
    """Keeps count of what was asked in one session."""

    def __init__(self, fading: Fading) -> None:
        self._fading = fading
        self._leg: tuple[State, int, float] | None = None
        self._unasked = 0
        """Timed checkpoints since the coming turn was asked for, the present one counted."""

        self._asked: Counter[Element] = Counter()
        self._round_asked: tuple[int | None, int | None, int | None] | None = None
        """The spoke (or lap) that has had its other question."""

    def follow(self, plan: Plan, progress: Progress) -> None:
        """Take note of the leg that is flown."""
        leg = progress.state, progress.leg_i, progress.begun_s
        if leg != self._leg:
            self._leg = leg
            self._unasked += ends_at_s(plan, progress) is not None

    def note_asked(self, question: Question, leg: Leg) -> None:
        """A question is being asked."""
        if question is Question.TURN:
            self._unasked = 0
        else:
            self._asked[ABOUT[question]] += 1
            self._round_asked = _round(leg)

    def calls(self, plan: Plan, progress: Progress, talk: Talk, at_s: float) -> Iterator[Call]:
        """The questions of the present leg, each with its time."""
        end_s = ends_at_s(plan, progress)
        settled_at_s = settled_s(plan, progress)
        if end_s is not None and self._is_turn_due():
            due_s = end_s - TURN_ASKED_S
            if due_s >= settled_at_s:
                yield from _call(Question.TURN, plan, progress, talk, due_s, at_s)
        question = self._find_other(plan, progress, at_s)
        if question is None:
            return
        if end_s is not None:
            due_s = max(settled_at_s + SECONDS_AFTER_S, end_s - MOST_SECONDS_S)
            latest_s = end_s - TURN_ASKED_S - WHOLE_S
        else:
            due_s = settled_at_s + SECONDS_AFTER_S
            latest_s = progress.begun_s + expected_s(plan, progress) - LAST_S - WHOLE_S
        if due_s <= latest_s:
            calls = _call(question, plan, progress, talk, due_s, at_s)
            yield from (replace(call, stale_s=latest_s) for call in calls)

    def _is_turn_due(self) -> bool:
        return self._unasked >= ASK_EVERY[self._fading.step(Element.NEXT)]

    def _find_other(self, plan: Plan, progress: Progress, at_s: float) -> Question | None:
        leg = leg_of(plan, progress)
        if _round(leg) == self._round_asked:
            return None
        found = [element for element in OTHERS if self._find_question(element, plan, progress, at_s)]
        wanted = min(OTHERS, key=self._rank)
        # The seconds can be asked on timed legs only, the rest inbound: what is wanted waits for its leg.
        is_timed = ends_at_s(plan, progress) is not None
        if is_timed:
            is_wanted = wanted is Element.TIMER and Element.TIMER in found
            return Question.SECONDS if is_wanted and not _is_intercepted(plan, progress) else None
        return self._find_question(min(found, key=self._rank), plan, progress, at_s) if found else None

    def _find_question(
        self, element: Element, plan: Plan, progress: Progress, at_s: float
    ) -> Question | None:
        questions = OTHERS[element]
        first = self._asked[element] % len(questions)
        order = (*questions[first:], *questions[:first])
        is_inbound = leg_of(plan, progress).ends_on is Ending.PASSAGE
        can = (one for one in order if is_inbound or one is Question.SECONDS)
        return next((one for one in can if find_expected(one, plan, progress, at_s) is not None), None)

    def _rank(self, element: Element) -> tuple[int, float]:
        return self._asked[element], self._fading.known(element)


def settled_s(plan: Plan, progress: Progress) -> float:
    """From when the wings are level for certain: as said, else as planned, at standard rate at least.

    A leg that begins when the needle is alive has its turn still to come, and its intercept before that.
    """
    if progress.established_s is not None:
        return progress.established_s
    leg = planned(plan, progress)
    if _is_intercepted(plan, progress):
        begun_s = checkpoint_s(plan, progress.leg_i - 1)
        lasts_s = SETTLED_S if leg.established_s is None else leg.established_s - begun_s
        return progress.begun_s + max(SETTLED_S, lasts_s)
    if progress.level_s is not None:
        return progress.level_s
    return max(level_s(plan, progress), progress.begun_s + leg.turn_s)


def _is_intercepted(plan: Plan, progress: Progress) -> bool:
    """Whether the leg began when the needle was alive: nobody started a clock then."""
    leg_i = progress.leg_i
    return leg_i > 0 and plan.legs[leg_i - 1].leg.ends_on is Ending.INTERCEPT


def _round(leg: Leg) -> tuple[int | None, int | None, int | None]:
    """The spoke or lap of a leg; where it has none, the leg itself."""
    spoke, lap = round_of(leg)
    return spoke, lap, leg.n if spoke is None and lap is None else None


def _call(
    question: Question, plan: Plan, progress: Progress, talk: Talk, due_s: float, at_s: float
) -> Iterator[Call]:
    expected = find_expected(question, plan, progress, at_s)
    if expected is None:
        return
    text = TEXTS[question]
    correction = count_of_words(told(question, expected)) + FAULT_WORDS
    if question is Question.TURN and talk is not Talk.CUE:
        # The answer, right or corrected, takes the place of the call ten seconds before the turn.
        correction = 1
    yield Call(
        name=f"ask {question}",
        due_s=due_s,
        stale_s=due_s + ASK_LATE_S,
        text=text,
        takes_words=count_of_words(text) + correction,
    )
