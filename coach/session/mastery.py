"""What a pilot knows of each element of a drill, and how much is still said of it.

The rule, for each element by itself:

- `known` is the share of right answers, the last `MEMORY` counting most; half right counts half.
- Each element has a step: full, short, cue, silence. A session begins with the step the last one left.
- After a session the step fades by one where `known` has reached `FADE_FROM`, and comes back by one where it
  fell below `BACK_BELOW`. Between the two it stays.
- A step that came back within `HELD` sessions did not hold, and is tried again after `WAIT_UNHELD` more; one
  that held for longer, after `WAIT_HELD`. So no element changes its way more than twice in ten sessions.
- In flight a mistake brings the prompt back by one step at once, until `AGAIN` right answers in a row.

Never asks, never speaks, never keeps anything on disk.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from enum import IntEnum, StrEnum

MEMORY = 12
"""Answers that `known` looks back on, about: the first ones are averaged plainly."""

FADE_FROM = (0.85, 0.9, 0.95)
BACK_BELOW = (0.7, 0.75, 0.8)
"""From full to short, short to cue, cue to silence; and back again. Chosen on simulated learners
(`python -m audio_tests.fading`)."""

LEAST_ANSWERS = 2
"""A session with fewer answers about an element tells nothing about it."""

HELD = 4
WAIT_HELD = 3
WAIT_UNHELD = 6
AGAIN = 2

RIGHT, HALF, WRONG = 1.0, 0.5, 0.0
"""What an answer is worth."""


class Element(StrEnum):
    """What a pilot has to know at a checkpoint."""

    SIDE = "turn side"
    HEADING = "heading"
    TIMER = "timer"
    COURSE = "course"
    NEXT = "next leg"
    """What comes next, as a whole and in time; which spoke this is."""


class Step(IntEnum):
    """How much is said of an element; higher is less."""

    FULL = 0
    SHORT = 1
    CUE = 2
    SILENCE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Mastery:
    """One element, as kept from session to session."""

    element: Element
    known: float = 0.0
    """0-1."""

    answers: int = 0
    """So far, in all sessions."""

    step: int = 0
    """0 full, 1 short, 2 cue, 3 silence."""

    held: int = 0
    """Sessions since the step last faded."""

    wait: int = 0
    """Sessions before it may fade again."""

    def after_answer(self, worth: float) -> Mastery:
        """With one more answer, 0 wrong to 1 right."""
        answers = self.answers + 1
        known = self.known + (worth - self.known) / min(answers, MEMORY)
        return replace(self, answers=answers, known=known)

    def after_session(self, answers: int) -> Mastery:
        """At the end of a session with so many answers about it."""
        if answers < LEAST_ANSWERS:
            return self
        wait, held = max(0, self.wait - 1), self.held + 1
        if self.step > Step.FULL and self.known < BACK_BELOW[self.step - 1]:
            again = WAIT_HELD if held >= HELD else WAIT_UNHELD
            return replace(self, step=self.step - 1, held=held, wait=max(wait, again))
        if self.wait == 0 and self.step < Step.SILENCE and self.known >= FADE_FROM[self.step]:
            return replace(self, step=self.step + 1, held=0, wait=0)
        return replace(self, held=held, wait=wait)


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What one session left, for the history."""

    began_utc: datetime
    """Aware, UTC."""

    drill: str
    """The drill's name: what is known of one drill says little of another."""

    elements: tuple[Mastery, ...]
    """As the next session begins with them."""


def nothing_known() -> tuple[Mastery, ...]:
    """A pilot of whom nothing is known: everything is said in full."""
    return tuple(Mastery(element=element) for element in Element)


@dataclass(slots=True, kw_only=True)
class _Today:
    answers: int = 0
    right_in_a_row: int = 0
    is_back: bool = False
    """A mistake has brought the prompt back by one step."""

    last: float | None = None


class Fading:
    """The elements during one session."""

    def __init__(self, known: Iterable[Mastery] = ()) -> None:
        """`known`: as the session before left it; elements not in it are new."""
        given = {mastery.element: mastery for mastery in known}
        self._mastery = {element: given.get(element, Mastery(element=element)) for element in Element}
        self._today = {element: _Today() for element in Element}
        self._asked_for = 0

    def note(self, element: Element, worth: float) -> None:
        """An answer about an element, 0 wrong to 1 right."""
        self._mastery[element] = self._mastery[element].after_answer(worth)
        today = self._today[element]
        today.answers += 1
        today.last = worth
        today.right_in_a_row = today.right_in_a_row + 1 if worth >= RIGHT else 0
        if worth < RIGHT:
            today.is_back = True
        elif today.right_in_a_row >= AGAIN:
            today.is_back = False

    def ask_for(self, steps: int) -> None:
        """The pilot asks for more talk (1) or less (-1): every element by one step, for this session."""
        most = int(Step.SILENCE)
        self._asked_for = min(most, max(-most, self._asked_for + steps))

    def step(self, element: Element) -> Step:
        """How much is said of it now."""
        back = int(self._today[element].is_back) + self._asked_for
        return Step(min(int(Step.SILENCE), max(int(Step.FULL), self._mastery[element].step - back)))

    def known(self, element: Element) -> float:
        """0-1."""
        return self._mastery[element].known

    def why(self, element: Element) -> str:
        """Why so much is said of it, for the screen: "heading: short, 91% known"."""
        mastery, today = self._mastery[element], self._today[element]
        share = f"{mastery.known:.0%} known" if mastery.answers else "not asked yet"
        reason = ", missed just now" if today.is_back else ""
        wish = {1: ", more talk", -1: ", less talk"}.get((self._asked_for > 0) - (self._asked_for < 0), "")
        return f"{element}: {self.step(element).name.lower()}, {share}{reason}{wish}"

    def weakest(self, among: Iterable[Element]) -> Element | None:
        """The one known least, the one asked less often where two are alike."""
        return min(among, key=lambda one: (self._mastery[one].known, self._today[one].answers), default=None)

    @property
    def so_far(self) -> tuple[Mastery, ...]:
        """What is known, the steps as the session began."""
        return tuple(self._mastery.values())

    @property
    def after(self) -> tuple[Mastery, ...]:
        """What the next session begins with."""
        return tuple(
            mastery.after_session(self._today[element].answers) for element, mastery in self._mastery.items()
        )
