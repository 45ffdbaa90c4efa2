"""How the simulated pilot answers questions and calls the five Ts, with the card before him.

What is right he has from the card and his own clock; a learner spoils it. Never sees what the coach expects.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, replace
from statistics import fmean

from coach.drill.model import Ending, Leg, T, TimerFrom
from coach.nav.angles import as_heading
from coach.nav.turn import turn_time_s
from coach.rehearsal.card import Card
from coach.rehearsal.learners import Learner, Reply
from coach.rehearsal.talker import Word
from coach.session.actions import Tone
from coach.session.answers import Answer, Kind
from coach.session.callouts import expected_value, needed_ts
from coach.session.floor import WORD_S
from coach.session.mastery import Element
from coach.session.prompts import count_of_words
from coach.session.recall import TEXTS, Question, turn_answer
from coach.session.spoken import digit_words, heading_words
from coach.session.teacher import Mode

TOO_LATE_S = 10.0
"""Who has not found an answer by then says nothing."""

GAP_S = 0.7
"""Between two Ts: each stands alone."""

AGAIN_S = 4.5
"""An answer that nothing followed on is given again after so long."""

ASKED_AGAIN_S = 2.5
"""Or from when he began it, where a low tone asks for it."""

AFTER_WORD_S = 1.6
"""From the word that begins a leg to its callout; where the clock begins it, from then on."""

AFTER_CLOCK_S = 0.4
LATELY = 4
"""Turns that he remembers whether he was told."""

_ELEMENTS = {T.TURN: Element.HEADING, T.TIME: Element.TIMER, T.TWIST: Element.COURSE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """How a pilot is taught, and how he does."""

    mode: Mode
    learner: Learner
    order: tuple[T, ...]
    """Of the five Ts."""


class Answering:
    """One pilot in one drill."""

    def __init__(self, card: Card, practice: Practice, *, only_keys: bool) -> None:
        self._card = card
        self._practice = practice
        self._only_keys = only_keys
        self._words: list[Word] = []
        self._leg_i = -1
        self._begun_s = 0.0
        self._told: deque[float] = deque([1.0] * LATELY, maxlen=LATELY)
        self._is_told = False
        self._is_again = False

    @property
    def keeps_time(self) -> bool:
        """Whether he turns by his own clock, since nobody may call the time."""
        return self._practice.mode is not Mode.TOLD

    def take_card(self, card: Card) -> None:
        """The card as it is now."""
        self._card = card

    def hear_prompt(self, text: str, at_s: float) -> None:
        """A prompt begins to sound."""
        question = next((one for one, words in TEXTS.items() if words == text), None)
        if question is not None and self._practice.mode is Mode.RECALL:
            self._hear_question(question, at_s + WORD_S * count_of_words(text))
        elif self._practice.mode is Mode.RECALL:
            self._words.clear()
        # A turn that is told has its heading: three words after the side.
        self._is_told |= ", " in text and count_of_words(text) >= 4

    def hear_tone(self, tone: Tone) -> None:
        """A tone in the headset: his answer was understood, or it was not."""
        if not self._is_again or not self._words:
            return
        if tone is Tone.HEARD:
            self._words.clear()
        elif tone is Tone.LOW:
            self._words[0] = replace(self._words[0], at_s=self._words[0].at_s - AGAIN_S + ASKED_AGAIN_S)

    def begin_leg(self, leg_i: int, at_s: float) -> None:
        """He begins a leg."""
        self._told.append(float(self._is_told))
        self._leg_i, self._begun_s, self._is_told = leg_i, at_s, False
        if self._practice.mode is Mode.CALLOUT:
            self._words = list(self._call_out(at_s))

    def find_word(self, at_s: float) -> Word | None:
        """Return what he says now; None: nothing."""
        if not self._words or at_s < self._words[0].at_s:
            return None
        word = self._words.pop(0)
        if word.answer is not None and self._practice.mode is Mode.RECALL and not self._is_again:
            # Without a sound from the coach it was not heard: once more.
            self._is_again = True
            self._words.append(replace(word, at_s=at_s + AGAIN_S))
            return replace(word, at_s=at_s)
        # The next one is not begun before this one is over.
        over_s = at_s + WORD_S * count_of_words(word.spoken or word.phrase) + GAP_S
        if self._words and self._words[0].at_s < over_s:
            self._words[0] = replace(self._words[0], at_s=over_s)
        return replace(word, at_s=at_s)

    def _told_of(self, _element: Element) -> float:
        return fmean(self._told)

    # ---- questions

    def _hear_question(self, question: Question, ended_s: float) -> None:
        expected = self._find_right(question, ended_s)
        if expected is None:
            return
        reply = self._practice.learner.reply(question, expected, self._told_of)
        self._is_again = False
        if reply.after_s <= TOO_LATE_S:
            self._words = [self._answer_word(question, reply, ended_s)]

    def _answer_word(self, question: Question, reply: Reply, ended_s: float) -> Word:
        answer = reply.answer
        if question is Question.SECONDS:
            answer = Answer(kind=Kind.NUMBER, digits=str(max(0, round(answer.value - reply.after_s))))
        return self._word(answer, ended_s + reply.after_s)

    def _find_right(self, question: Question, at_s: float) -> Answer | None:
        leg = self._card.legs[self._leg_i] if self._leg_i >= 0 else None
        following = self._card.legs[self._leg_i + 1] if self._leg_i + 1 < len(self._card.legs) else None
        if leg is None:
            return None
        match question:
            case Question.TURN | Question.STATION_TURN:
                return None if following is None else turn_answer(following)
            case Question.SPOKE:
                return None if leg.spoke is None else Answer(kind=Kind.NUMBER, digits=str(leg.spoke))
            case Question.RADIAL if leg.course_mag_deg is not None:
                return Answer(kind=Kind.RADIAL, digits=f"{as_heading(leg.course_mag_deg + 180.0):03}")
            case Question.COURSE if leg.course_mag_deg is not None:
                return Answer(kind=Kind.COURSE, digits=f"{leg.course_mag_deg:03}")
            case Question.SECONDS:
                return self._find_seconds(leg, at_s)
        return None

    def _find_seconds(self, leg: Leg, at_s: float) -> Answer | None:
        """By his own clock, as he started it."""
        if leg.ends_on is not Ending.TIME or leg.leg_s is None:
            return None
        timing = leg.timed_from or self._card.timer_from
        turn_s = 0.0 if timing is TimerFrom.TURN else turn_time_s(leg.turn_deg)
        left_s = self._begun_s + turn_s + leg.leg_s - at_s
        return Answer(kind=Kind.NUMBER, digits=str(max(0, round(left_s))))

    # ---- callouts

    def _call_out(self, at_s: float) -> Iterator[Word]:
        legs, i = self._card.legs, self._leg_i
        before = legs[i - 1] if i > 0 else None
        is_by_clock = before is not None and before.ends_on is Ending.TIME
        due_s = at_s + (AFTER_CLOCK_S if is_by_clock else AFTER_WORD_S)
        timing = legs[i].timed_from or self._card.timer_from
        for t in needed_ts(legs[i], before, self._practice.order, timing):
            word = self._find_piece(legs[i], t, due_s)
            if word is not None:
                yield word
                due_s += WORD_S * count_of_words(word.spoken or word.phrase) + GAP_S

    def _find_piece(self, leg: Leg, t: T, at_s: float) -> Word | None:
        """A T as he says it; one that does not come to him is left out, a heading or course is guessed."""
        learner = self._practice.learner
        expected = expected_value(leg, t)
        if expected is None:
            is_known = learner.knows(_ELEMENTS.get(t, Element.NEXT), self._told_of)
            phrase = t.value if is_known and t is not T.TURN else None
            return None if phrase is None else Word(at_s=at_s, phrase=phrase, by_key=self._only_keys)
        question = Question.TURN if t is T.TURN else Question.COURSE
        answer = learner.reply(question, expected, self._told_of).answer
        return self._word(answer, at_s, before="turn " if t is T.TURN else "", course="twist")

    def _word(self, answer: Answer, at_s: float, *, before: str = "", course: str = "course") -> Word:
        spoken = before + spoken_answer(answer, course=course)
        return Word(at_s=at_s, phrase=str(answer), by_key=self._only_keys, answer=answer, spoken=spoken)


def spoken_answer(answer: Answer, *, course: str = "course") -> str:
    """An answer in a pilot's words: "left one niner five"."""
    if answer.kind is Kind.NUMBER:
        return digit_words(answer.digits)
    first = answer.direction or {Kind.COURSE: course}.get(answer.kind, answer.kind)
    return f"{first} {heading_words(answer.value)}"
