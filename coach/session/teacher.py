"""Recall: the coach asks, hears, corrects or tells, and says less of what is known.

Keeps the open question and what became of it. Never decides where the drill stands; the session
(`coach.session.taught`) hands it the facts and carries out what it answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from coach.drill.model import Leg
from coach.drill.plan import Plan
from coach.session import prompts, recall
from coach.session.answers import Answer
from coach.session.asking import ANSWER_S, UNDERSTOOD_S, Schedule
from coach.session.calls import Call
from coach.session.floor import WORD_S
from coach.session.mastery import Element, Fading, Mastery, Step
from coach.session.progress import Progress, State, find_following, leg_of
from coach.session.prompts import Talk
from coach.session.recall import Question, Verdict, find_expected, judge

CUE_TONE_S = 0.3
"""Before the first word of a question that sounds at once."""


class Mode(StrEnum):
    """Who says what is next."""

    TOLD = "told"
    """The coach."""

    RECALL = "recall"
    """The coach asks, the pilot answers, and less is said of what he knows."""

    CALLOUT = "callout"
    """The pilot, in the five Ts; the coach only what is missing or wrong."""


class Outcome(StrEnum):
    """What became of a question."""

    RIGHT = "right"
    CORRECTED = "corrected"
    MISSED = "missed"
    """No answer in time: it has to be told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The open question."""

    question: Question
    expected: Answer
    prompt: int
    leg_i: int
    begun_s: float
    ended_s: float
    """When the question was asked to its end; expected until it is reported."""

    is_misheard: bool = False
    """Somebody answered and was not understood, or the pilot held the key."""

    @property
    def until_s(self) -> float:
        """An answer begun later is too late."""
        return self.ended_s + ANSWER_S

    @property
    def given_up_s(self) -> float:
        """By then an answer begun in time is understood."""
        return self.until_s + UNDERSTOOD_S


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What follows from an answer, or from none."""

    record: str
    """For the journal."""

    text: str | None
    """What is said to it; None: nothing."""

    is_missed: bool = False
    """No answer came; else one that is right and has no text is acknowledged by a tone."""


class Teacher:
    """Asks in one session."""

    def __init__(self, known: Iterable[Mastery]) -> None:
        self.fading = Fading(known)
        self.asked: Asked | None = None
        self._schedule = Schedule(self.fading)
        self._outcome: tuple[int, float, Outcome] | None = None
        """Of the last question about a turn: the leg it was asked on and when that began."""

    def follow(self, plan: Plan, progress: Progress) -> None:
        """Take note of the leg that is flown; a question about another is dropped."""
        self._schedule.follow(plan, progress)
        asked = self.asked
        if asked is not None and (asked.leg_i, asked.begun_s) != (progress.leg_i, progress.begun_s):
            self.asked = None

    # ---- asking

    def open(self, text: str, prompt: int, plan: Plan, progress: Progress, at_s: float) -> bool:
        """Take note of a prompt that begins to sound; True where it is a question."""
        question = next((one for one, words in recall.TEXTS.items() if words == text), None)
        expected = None if question is None else find_expected(question, plan, progress, at_s)
        if question is None or expected is None:
            return False
        self._schedule.note_asked(question, leg_of(plan, progress))
        self.asked = Asked(
            question=question,
            expected=expected,
            prompt=prompt,
            leg_i=progress.leg_i,
            begun_s=progress.begun_s,
            ended_s=at_s + CUE_TONE_S + WORD_S * prompts.count_of_words(text),
        )
        return True

    def note_sounded(self, prompt: int, ended_s: float) -> None:
        """A prompt has sounded to its end: from the question's end on the time to answer runs."""
        if self.asked is not None and self.asked.prompt == prompt:
            self.asked = replace(self.asked, ended_s=ended_s)

    def note_misheard(self) -> None:
        """An answer was not understood, or could not be given: none tells nothing of what the pilot knows."""
        if self.asked is not None:
            self.asked = replace(self.asked, is_misheard=True)

    def drop(self, prompt: int | None = None) -> None:
        """The open question is over without an answer that counts; with a prompt only if it is that one."""
        if self.asked is not None and prompt in (None, self.asked.prompt):
            self.asked = None

    # ---- answers

    def judge(self, heard: Answer, onset_s: float, plan: Plan, progress: Progress) -> Answered | None:
        """What follows from an answer; None where nothing was asked, or it comes too late."""
        asked = self.asked
        if asked is None or onset_s > asked.until_s:
            return None
        self.asked = None
        # Seconds to go are right at the moment they are said.
        expected = find_expected(asked.question, plan, progress, onset_s) or asked.expected
        judgement = judge(asked.question, expected, heard)
        self._note(asked, expected, heard)
        is_right = judgement.verdict is Verdict.RIGHT
        self._keep(asked, Outcome.RIGHT if is_right else Outcome.CORRECTED)
        named = "" if judgement.fault is None else f" ({judgement.fault.lower()})"
        after_s = max(0.0, onset_s - asked.ended_s)
        return Answered(
            record=f"asked {asked.question}, {expected}: answered {heard} after {after_s:.1f} s, "
            f"{judgement.verdict}{named}",
            text=None if is_right else recall.correction(asked.question, expected, judgement),
        )

    def give_up(self, at_s: float) -> Answered | None:
        """What follows where no answer came in time; the coming turn is told at its ten seconds."""
        asked = self.asked
        if asked is None or at_s < asked.given_up_s:
            return None
        self.asked = None
        if not asked.is_misheard:
            self._note(asked, asked.expected, None)
        self._keep(asked, Outcome.MISSED)
        is_told_later = asked.question in (Question.TURN, Question.SECONDS)
        text = None if is_told_later else recall.told(asked.question, asked.expected)
        what = "not understood" if asked.is_misheard else "no answer"
        record = f"asked {asked.question}, {asked.expected}: {what}"
        return Answered(record=record, text=text, is_missed=True)

    def _note(self, asked: Asked, expected: Answer, heard: Answer | None) -> None:
        for element, worth in recall.evidence(asked.question, expected, heard):
            self.fading.note(element, worth)

    def _keep(self, asked: Asked, outcome: Outcome) -> None:
        if asked.question in (Question.TURN, Question.STATION_TURN):
            self._outcome = (asked.leg_i, asked.begun_s, outcome)

    def outcome(self, progress: Progress) -> Outcome | None:
        """What became of the question about the turn at the end of this leg; None: not asked, or open."""
        if self._outcome is None or self._outcome[:2] != (progress.leg_i, progress.begun_s):
            return None
        return self._outcome[2]

    def outcome_before(self, progress: Progress) -> Outcome | None:
        """The same of the turn that this leg began with."""
        if self._outcome is None or self._outcome[0] != progress.leg_i - 1:
            return None
        return self._outcome[2]

    # ---- how much is said

    def adapt(
        self, own: tuple[Call, ...], plan: Plan, progress: Progress, talk: Talk, at_s: float
    ) -> tuple[Call, ...]:
        """The calls of a leg, with its questions and without what is known."""
        if progress.state is not State.FLYING:
            return own
        faded = (self._fade(call, plan, progress) for call in own)
        found = [call for call in faded if call is not None]
        found += self._schedule.calls(plan, progress, talk, at_s)
        return tuple(sorted(found, key=lambda call: call.due_s))

    def _fade(self, call: Call, plan: Plan, progress: Progress) -> Call | None:
        following = find_following(plan, progress)
        if call.name == "ten" and following is not None:
            return self._fade_ten(call, following, progress)
        if call.name == "turn" and following is not None:
            return self._fade_turn(call, following, self.outcome(progress))
        if call.text.startswith("Course "):
            return self._fade_course(call)
        is_clock = "clock" in call.text.lower() and call.name.startswith("t")
        return None if is_clock and self.fading.step(Element.TIMER) >= Step.CUE else call

    def _fade_ten(self, call: Call, following: Leg, progress: Progress) -> Call | None:
        """Ten seconds before: told where no answer came, a tone where one did, else by what is known."""
        outcome, step = self.outcome(progress), self.fading.step(Element.NEXT)
        if outcome is Outcome.MISSED or self._is_open(progress):
            return replace(call, text=prompts.ten_seconds(following))
        if outcome is not None:
            return replace(call, text="") if step < Step.SILENCE else None
        texts = {Step.FULL: call.text, Step.SHORT: prompts.TEN_SECONDS, Step.CUE: ""}
        return None if step is Step.SILENCE else replace(call, text=texts[step])

    def _is_open(self, progress: Progress) -> bool:
        asked = self.asked
        return asked is not None and asked.question is Question.TURN and asked.leg_i == progress.leg_i

    def _fade_turn(self, call: Call, following: Leg, outcome: Outcome | None) -> Call | None:
        text = self.turn_text(following, call.text, outcome)
        is_marked = min(self.fading.step(element) for element in _AT_TURN) < Step.SILENCE
        return replace(call, text=text) if text or is_marked else None

    def turn_text(self, leg: Leg, own: str, outcome: Outcome | None) -> str:
        """What is said at a turn: what of side and heading is not known yet; all of it after a mistake."""
        if leg.says is not None or outcome in (Outcome.CORRECTED, Outcome.MISSED):
            return own
        has_side, has_heading = (self.fading.step(element) < Step.CUE for element in _SAID_AT_TURN)
        if has_side and has_heading:
            return own
        side, _, value = own.partition(", ")
        return side if has_side else value.capitalize() if has_heading else ""

    def _fade_course(self, call: Call) -> Call | None:
        step = self.fading.step(Element.COURSE)
        if step is Step.SILENCE:
            return None
        return replace(call, text="Course") if step is Step.CUE else call

    # ---- why

    def why(self, text: str, progress: Progress) -> str:
        """Why this was said, for the screen; empty where nothing but the drill asked for it."""
        if text in recall.TEXTS.values():
            question = next(one for one, words in recall.TEXTS.items() if words == text)
            return self.fading.why(recall.ABOUT[question])
        if text.startswith(prompts.TEN_SECONDS):
            is_missed = self.outcome(progress) is Outcome.MISSED
            return "no answer" if is_missed else self.fading.why(Element.NEXT)
        if text.startswith("Course"):
            return self.fading.why(Element.COURSE)
        return "; ".join(_reasons(text, self.fading))


_SAID_AT_TURN = (Element.SIDE, Element.HEADING)
_AT_TURN = (*_SAID_AT_TURN, Element.TIMER)


def _reasons(text: str, fading: Fading) -> Iterator[str]:
    if text.startswith(("Left", "Right")):
        yield fading.why(Element.SIDE)
        yield fading.why(Element.HEADING)
