"""A drill at the desk: the session with its pilot's words and answers on time by the plan, and nothing flown.

A tenth of a second for a drill, where a rehearsal takes many: for hundreds of sessions of simulated learners.
Never sounds, hears or flies anything.
"""

from __future__ import annotations

import heapq
import itertools
import re
from collections import deque
from dataclasses import dataclass
from statistics import fmean

from coach.drill.model import Ending
from coach.drill.plan import Plan
from coach.rehearsal.learners import Learner
from coach.session.actions import Action, Expect, Finish, Say, Silence
from coach.session.answers import Answer
from coach.session.events import (
    AnswerHeard,
    Event,
    PhraseHeard,
    PromptFinished,
    PromptStarted,
    SessionStarted,
    Woken,
)
from coach.session.floor import WORD_S
from coach.session.machine import Options, Session
from coach.session.mastery import Element, Mastery
from coach.session.phrases import PhraseTable
from coach.session.prompts import count_of_words
from coach.session.recall import TEXTS, Question

PASSAGE_S = 60.0
"""The first passage."""

CUE_S = 0.3
UNDERSTOOD_S = 2.5
"""From the first word of an answer to the coach's understanding it."""

WORDS = {Ending.PASSAGE: "station passage", Ending.INTERCEPT: "needle alive"}
MARGIN_S = 0.01

LATELY = 4
"""Turns that a pilot remembers how he was told."""

TOLD_BEFORE, TOLD_THEN, UNTOLD = 1.0, 0.7, 0.0
"""A turn told ten seconds before, told as it began, or not at all."""

_TURN = re.compile(r"(Left|Right), \w+ \w+ \w+")
_BEFORE = re.compile(r"(Ten seconds\.|.*Coming) .*\w+ \w+ \w+")


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskSession:
    """What came of one."""

    known: tuple[Mastery, ...]
    """What the next one begins with."""

    words: int
    """That the coach said, questions and corrections included."""

    questions: int
    prompts: int
    """That told a turn, a heading or a course before it was corrected or missed."""


class Desk:
    """One session."""

    def __init__(self, plan: Plan, table: PhraseTable, options: Options, learner: Learner) -> None:
        self._plan = plan
        self._session = Session(plan, table, options)
        self._learner = learner
        self._facts: list[tuple[float, int, Event]] = []
        self._numbers = itertools.count()
        self._at_s = 0.0
        self._expected: Answer | None = None
        self._said: list[str] = []
        self._told: deque[float] = deque([TOLD_BEFORE] * LATELY, maxlen=LATELY)
        self._is_told = UNTOLD
        self._is_over = False

    def fly(self) -> DeskSession:
        """From the first word to the last."""
        self._handle(SessionStarted(at_s=0.0, onset_s=0.0))
        for leg_i, planned in enumerate(self._plan.legs):
            self._pass_until(max(self._at_s, PASSAGE_S + MARGIN_S + self._said_s(leg_i)))
            if leg_i == 0 or self._session.progress.leg_i != leg_i:
                self._say(self._word(leg_i))
            if planned.leg.turn_deg:
                self._told.append(self._is_told)
                self._is_told = UNTOLD
        self._pass_until(PASSAGE_S + self._plan.total_s + 1.0)
        self._say(WORDS[Ending.PASSAGE])
        while not self._is_over and self._next_s() is not None:
            self._step()
        return DeskSession(
            known=self._session.mastery,
            words=sum(map(count_of_words, self._said)),
            questions=sum(text in TEXTS.values() for text in self._said),
            prompts=sum(
                bool(_TURN.match(text)) or text.startswith(("Ten", "Course ")) for text in self._said
            ),
        )

    def _said_s(self, leg_i: int) -> float:
        """When the pilot says that a leg begins; needle alive not before half-way round the turn."""
        before = self._plan.legs[leg_i - 1] if leg_i else None
        if before is None or before.needle_alive_s is None:
            return self._plan.legs[leg_i].start_s
        return max(before.needle_alive_s, before.start_s + before.turn_s / 2)

    def _word(self, leg_i: int) -> str:
        ending = self._plan.legs[leg_i - 1].leg.ends_on if leg_i else Ending.PASSAGE
        return WORDS.get(ending, "next leg")

    def _say(self, phrase: str) -> None:
        self._handle(PhraseHeard(at_s=self._at_s, onset_s=self._at_s, phrase=phrase, by="key"))

    # ---- time

    def _pass_until(self, at_s: float) -> None:
        while (next_s := self._next_s()) is not None and next_s <= at_s:
            self._step()
        self._at_s = at_s
        self._handle(Woken(at_s=at_s, onset_s=at_s))

    def _next_s(self) -> float | None:
        facts = [self._facts[0][0]] if self._facts else []
        wake_s = self._session.next_wakeup_s
        return min(facts + ([] if wake_s is None else [wake_s]), default=None)

    def _step(self) -> None:
        wake_s = self._session.next_wakeup_s
        if self._facts and (wake_s is None or self._facts[0][0] <= wake_s):
            at_s, _, event = heapq.heappop(self._facts)
            self._at_s = max(self._at_s, at_s)
            self._handle(event)
        elif wake_s is not None:
            self._at_s = max(self._at_s, wake_s)
            self._handle(Woken(at_s=self._at_s, onset_s=min(wake_s, self._at_s)))

    def _post(self, event: Event) -> None:
        heapq.heappush(self._facts, (event.at_s, next(self._numbers), event))

    # ---- what the coach does

    def _handle(self, event: Event) -> None:
        asked: Say | None = None
        for action in self._session.handle(event):
            self._do(action)
            asked = action if isinstance(action, Say) and action.text in TEXTS.values() else asked
        if asked is not None and self._expected is not None:
            self._answer(asked, self._expected)

    def _do(self, action: Action) -> None:
        match action:
            case Say():
                self._hear(action)
            case Expect():
                self._expected = action.answer
            case Silence():
                self._facts = [fact for fact in self._facts if isinstance(fact[2], AnswerHeard)]
                heapq.heapify(self._facts)
            case Finish():
                self._is_over = True

    def _hear(self, say: Say) -> None:
        starts_s = self._at_s + CUE_S if say.due_s is None else say.due_s
        ends_s = starts_s + WORD_S * count_of_words(say.text)
        self._post(PromptStarted(at_s=starts_s, onset_s=starts_s, prompt=say.prompt))
        self._post(PromptFinished(at_s=ends_s, onset_s=ends_s, prompt=say.prompt))
        self._said.append(say.text)
        told = TOLD_BEFORE if _BEFORE.match(say.text) else TOLD_THEN if _TURN.match(say.text) else UNTOLD
        self._is_told = max(self._is_told, told)

    def _answer(self, asked: Say, expected: Answer) -> None:
        question = next(one for one, text in TEXTS.items() if text == asked.text)
        reply = self._learner.reply(question, expected, self._told_of)
        ends_s = self._at_s + CUE_S + WORD_S * count_of_words(asked.text)
        onset_s = ends_s + reply.after_s
        answer = (
            _seconds_later(reply.answer, onset_s - self._at_s)
            if question is Question.SECONDS
            else reply.answer
        )
        self._post(
            AnswerHeard(
                at_s=onset_s + UNDERSTOOD_S,
                onset_s=onset_s,
                kind=answer.kind,
                digits=answer.digits,
                direction=answer.direction,
                is_right=answer == expected,
            )
        )

    def _told_of(self, _element: Element) -> float:
        return fmean(self._told)


def _seconds_later(answer: Answer, later_s: float) -> Answer:
    """What the clock reads when it is said."""
    return Answer(kind=answer.kind, digits=str(max(0, round(answer.value - later_s))))
