"""Simulated learners: how a pilot answers what is asked, session after session, and how he comes to know.

Made up, not measured on people: they show what the rule does with each kind, and nothing about pilots.
A learner knows the question and its right answer and spoils it as he would; never sees what the coach thinks.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from coach.session.answers import Answer, Direction, Kind, heading
from coach.session.mastery import Element
from coach.session.recall import ABOUT, Question

SPREAD = 0.35
"""Of the logarithm of the time to answer."""

GRID_DEG = 45
"""A guessed heading is one of the drill's."""

NEAR_SHARE = 0.2
"""Of wrong headings, those that are five degrees off; as many are reciprocals."""

Told = Callable[[Element], float]
"""How much of an element he has been told of late: 1 all of it, 0 nothing."""


class LearnerKind(StrEnum):
    """What sort of pilot he is."""

    KNOWS = "knows"
    GUESSES = "guesses"
    SLOW = "slow"
    LEANS = "leans"
    """Right while prompts tell him, lost without."""

    FORGETS = "forgets"
    """Knows, then does not after a break, then learns again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Traits:
    """One learner."""

    kind: LearnerKind
    known: float
    """The share he knows, 0-1, with everything told; a guesser knows nothing."""

    leans: float = 0.0
    """How much of that he loses where nothing is told."""

    answers_after_s: float = 2.5
    """Median of the time to begin an answer in the first session."""

    quickens: float = 1.0
    """What the time is multiplied by from session to session."""

    forgets_before: int | None = None
    """The session, from 1, before which the break was; None: he had none."""

    forgotten: float = 0.0
    """The share he knows after the break."""

    relearns: float = 0.0
    """What is added to it from session to session, up to what he knew."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What comes of a question."""

    answer: Answer
    after_s: float
    """From the end of the question to the first word."""


def draw_traits(kind: LearnerKind, seed: str) -> Traits:
    """One individual of a kind; another seed is another individual."""
    chance = random.Random(f"learner {kind} {seed}")
    quick_s = chance.uniform(1.5, 3.0)
    match kind:
        case LearnerKind.GUESSES:
            return Traits(kind=kind, known=0.0, answers_after_s=chance.uniform(2.0, 4.0))
        case LearnerKind.SLOW:
            return Traits(
                kind=kind,
                known=chance.uniform(0.9, 0.98),
                answers_after_s=chance.uniform(9.0, 13.0),
                quickens=chance.uniform(0.82, 0.92),
            )
        case LearnerKind.LEANS:
            return Traits(
                kind=kind,
                known=chance.uniform(0.85, 0.97),
                leans=chance.uniform(0.4, 0.8),
                answers_after_s=quick_s,
            )
        case LearnerKind.FORGETS:
            return Traits(
                kind=kind,
                known=chance.uniform(0.95, 1.0),
                answers_after_s=quick_s,
                forgets_before=chance.randint(5, 6),
                forgotten=chance.uniform(0.1, 0.4),
                relearns=chance.uniform(0.05, 0.15),
            )
    return Traits(kind=kind, known=chance.uniform(0.95, 1.0), answers_after_s=quick_s)


class Learner:
    """One learner in one session; the same seed answers the same."""

    def __init__(self, traits: Traits, *, session: int, seed: str) -> None:
        """`session` counts from 1."""
        self._traits = traits
        self._session = session
        self._chance = random.Random(f"{traits} {session} {seed}")

    def reply(self, question: Question, expected: Answer, told: Told) -> Reply:
        """What he answers, and when."""
        median_s = self._traits.answers_after_s * self._traits.quickens ** (self._session - 1)
        after_s = median_s * math.exp(self._chance.gauss(0.0, SPREAD))
        return Reply(answer=self._answer(question, expected, told), after_s=after_s)

    def knows(self, element: Element, told: Told) -> bool:
        """Whether it comes to him now."""
        return self._chance.random() < self._share(told(element))

    def _share(self, told: float) -> float:
        traits = self._traits
        known = traits.known - traits.leans * (1.0 - told)
        before = traits.forgets_before
        if before is not None and self._session >= before:
            known = min(known, traits.forgotten + traits.relearns * (self._session - before))
        return max(0.0, known)

    def _answer(self, question: Question, expected: Answer, told: Told) -> Answer:
        if question in (Question.TURN, Question.STATION_TURN):
            value_deg = expected.value if self.knows(Element.HEADING, told) else self._guess_deg(expected)
            return heading(value_deg, self._side(expected.direction, told))
        if self.knows(ABOUT[question], told):
            return expected
        if expected.kind is Kind.NUMBER:
            most = 60 if question is Question.SECONDS else 8
            return Answer(kind=Kind.NUMBER, digits=str(self._chance.randint(1, most)))
        return Answer(kind=expected.kind, digits=heading(self._guess_deg(expected)).digits)

    def _side(self, right: Direction | None, told: Told) -> Direction | None:
        if right is None or self.knows(Element.SIDE, told):
            return right
        return self._chance.choice(tuple(Direction))

    def _guess_deg(self, expected: Answer) -> int:
        """One of the drill's headings, the right one not left out; or nearly right."""
        draw = self._chance.random()
        if draw < NEAR_SHARE and self._traits.known > 0.0:
            return expected.value + self._chance.choice((-5, 5))
        if draw < 2 * NEAR_SHARE and self._traits.known > 0.0:
            return expected.value + 180
        return expected.value + GRID_DEG * self._chance.randrange(360 // GRID_DEG)
