"""The part of a session that teaches: questions and answers, callouts, less said of what is known.

The session itself (`coach.session.machine`) says what a word does; in the told mode nothing here acts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from coach.drill.model import Leg, T
from coach.session import grammar
from coach.session.actions import Action, Expect, Record, Say, Show, Sound, Tone
from coach.session.answers import Answer, Kind
from coach.session.asked import AskedSession
from coach.session.caller import Caller
from coach.session.callouts import Piece
from coach.session.calls import Call
from coach.session.events import (
    AnswerHeard,
    EdgeFailed,
    EdgeRecovered,
    Event,
    PhraseHeard,
    PromptDropped,
    PromptFinished,
    TransmitStarted,
)
from coach.session.feed_hand import FeedHand
from coach.session.mastery import Element, Mastery, Step
from coach.session.progress import Hush, Progress
from coach.session.spoken import heading_words
from coach.session.teacher import Answered, Mode, Teacher
from coach.session.view import view_of

T_WORDS = {grammar.TIME: T.TIME, grammar.THROTTLE: T.THROTTLE, grammar.TALK: T.TALK}
"""The Ts that are words alone."""

T_KINDS = {Kind.HEADING: T.TURN, Kind.COURSE: T.TWIST}
"""The Ts that come with a heading or a course."""

NO_ANSWER = Expect(kind=None)


class TaughtSession(AskedSession):
    """Teaches, in the modes that do."""

    def __init__(self, feed: FeedHand | None, mode: Mode, known: Iterable[Mastery]) -> None:
        super().__init__(feed)
        self._mode = mode
        self._teacher = Teacher(known)
        self._caller = Caller(self._teacher.fading)
        self._expecting = NO_ANSWER
        self._is_deaf = False
        """No answer can be heard: everything is told until it can."""

    @property
    def mastery(self) -> tuple[Mastery, ...]:
        """What the next session begins with, from what was answered so far."""
        return self._teacher.fading.after

    # ---- facts

    def _learn(self, event: Event) -> list[Action]:
        """What an event means to the teacher."""
        teacher = self._teacher
        match event:
            case PromptFinished(prompt=prompt, onset_s=onset_s, is_cut=False):
                teacher.note_sounded(prompt, onset_s)
            case PromptFinished(prompt=prompt) | PromptDropped(prompt=prompt):
                teacher.drop(prompt)
            case TransmitStarted():
                # On the radio, or with push to talk the answer itself: no answer then tells nothing.
                teacher.note_misheard()
            case EdgeFailed(edge="ear" | "microphone"):
                self._is_deaf = True
                teacher.drop()
            case EdgeRecovered(edge="ear" | "microphone"):
                self._is_deaf = False
            case AnswerHeard():
                return self._hear_answer(event)
        return []

    def _hear_answer(self, event: AnswerHeard) -> list[Action]:
        answer = _find_answer(event)
        if answer is None or self._progress.hush is not Hush.NONE:
            return []
        ways = () if answer.kind is Kind.NUMBER else (heading_words(answer.value),)
        if self._speech.floor.is_own_sound(event.onset_s, ways):
            return [Record(what=f"own words: {answer}", onset_s=event.onset_s)]
        if self._mode is Mode.CALLOUT:
            t = T_KINDS.get(answer.kind)
            return [] if t is None else self._take_piece(Piece(t=t, onset_s=event.onset_s, answer=answer))
        answered = self._teacher.judge(answer, event.onset_s, self._plan, self._progress)
        return [] if answered is None else self._tell(answered, event.onset_s)

    def _take_piece(self, piece: Piece) -> list[Action]:
        """A T of a callout: a wrong value is corrected at once, the last one needed is acknowledged."""
        said = "" if piece.answer is None else f" {piece.answer}"
        record = Record(what=f"called: {piece.t}{said}", onset_s=piece.onset_s)
        heard = self._caller.hear(piece, self._plan, self._progress, self._at_s)
        if heard.text is not None:
            return [record, *self._say(heard.text)]
        return [record, Sound(tone=Tone.HEARD)] if heard.is_complete else [record]

    def _call_out(self, heard: PhraseHeard) -> list[Action]:
        """A T that is a word alone."""
        return self._take_piece(Piece(t=T_WORDS[heard.phrase], onset_s=heard.onset_s))

    def _is_called_out(self, heard: PhraseHeard) -> bool:
        """Whether a word is a T of a callout rather than a question of the pilot."""
        return heard.phrase in T_WORDS and self._hears_ts(heard.onset_s)

    def _hears_ts(self, at_s: float) -> bool:
        is_open = self._mode is Mode.CALLOUT and self._progress.hush is Hush.NONE
        return is_open and self._caller.is_listening(self._plan, self._progress, at_s)

    def _with_callout_words(self, usable: tuple[str, ...]) -> tuple[str, ...]:
        """What is usable, with the Ts about a checkpoint; "talk" is never listened for beside "more talk"."""
        if not self._hears_ts(self._at_s):
            return usable
        kept = (phrase for phrase in usable if phrase not in (grammar.MORE, grammar.LESS))
        return tuple(dict.fromkeys((*kept, *T_WORDS)))

    # ---- time

    def _teach(self) -> list[Action]:
        """What time alone brings: an answer that did not come, a callout that is over."""
        if self._mode is Mode.CALLOUT:
            if self._is_deaf:
                return []
            line = self._caller.close(self._plan, self._progress, self._at_s)
            return [] if line is None else [Record(what=line, onset_s=self._at_s)]
        if self._mode is Mode.TOLD:
            return []
        self._teacher.follow(self._plan, self._progress)
        if self._progress.hush is not Hush.NONE:
            self._teacher.drop()
        if self._speech.floor.is_talked_over(self._at_s):
            return []
        answered = self._teacher.give_up(self._at_s)
        return [] if answered is None else self._tell(answered, self._at_s)

    def _teaching_wakes(self) -> list[float]:
        """When `_teach` may have something to do."""
        if self._mode is Mode.CALLOUT:
            closes_s = None if self._is_deaf else self._caller.closes_at_s(self._progress)
            return [] if closes_s is None else [closes_s]
        asked = self._teacher.asked
        if asked is None:
            return []
        change_s = self._speech.floor.next_change_s(self._at_s)
        if asked.given_up_s > self._at_s:
            return [asked.given_up_s]
        # Somebody speaks on: his silence is waited for, which may be a fact to come.
        return [] if change_s is None else [change_s]

    def _tell(self, answered: Answered, onset_s: float) -> list[Action]:
        record = Record(what=answered.record, onset_s=onset_s)
        if answered.text is not None:
            return [record, *self._say(answered.text)]
        return [record] if answered.is_missed else [record, Sound(tone=Tone.HEARD)]

    # ---- what is said, listened for and shown

    def _adapt(self, own: tuple[Call, ...], progress: Progress, at_s: float) -> tuple[Call, ...]:
        """What becomes of the calls of a leg."""
        if self._is_deaf:
            return own
        if self._mode is Mode.CALLOUT:
            return self._caller.adapt(own, self._plan, progress, at_s)
        if self._mode is Mode.RECALL:
            return self._teacher.adapt(own, self._plan, progress, self._speech.talk, at_s)
        return own

    def _note_said(self, made: Iterable[Action]) -> None:
        """The prompts just made: a question is open from here on; the screen says why."""
        for say in (action for action in made if isinstance(action, Say)):
            self._note = say.text
            if self._mode is Mode.RECALL:
                self._teacher.open(say.text, say.prompt, self._plan, self._progress, self._at_s)
                why = self._teacher.why(say.text, self._progress)
                self._note = f"{say.text} ({why})" if why else say.text
            return

    def _turn_text(self, leg: Leg) -> str:
        own = super()._turn_text(leg)
        if self._is_deaf:
            return own
        if self._mode is Mode.CALLOUT:
            return ""
        if self._mode is Mode.RECALL:
            outcome = self._teacher.outcome_before(self._progress)
            return self._teacher.turn_text(leg, own, outcome)
        return own

    def _inbound_text(self, leg: Leg) -> str:
        """What is said where the needle is alive."""
        if self._is_deaf:
            return super()._inbound_text(leg)
        is_known = self._mode is Mode.RECALL and self._teacher.fading.step(Element.HEADING) >= Step.CUE
        return "" if is_known or self._mode is Mode.CALLOUT else super()._inbound_text(leg)

    def _change_talk(self, heard: PhraseHeard) -> list[Action]:
        self._teacher.fading.ask_for(1 if heard.phrase == grammar.MORE else -1)
        return super()._change_talk(heard)

    def _where(self, heard: PhraseHeard) -> list[Action]:
        """Who asks where he is while he is asked has his answer."""
        self._teacher.drop()
        return super()._where(heard)

    def _expected(self) -> Expect:
        """The answer that is listened for now."""
        if self._progress.hush is not Hush.NONE:
            return NO_ANSWER
        asked = self._teacher.asked
        answer = None if asked is None else asked.expected
        if self._mode is Mode.CALLOUT:
            answer = self._caller.find_expected(self._plan, self._progress, self._at_s)
        if answer is None:
            return NO_ANSWER
        return Expect(kind=answer.kind, digits=answer.digits, direction=answer.direction)

    def _view(self) -> Show:
        """What every screen shows: what is coming only where the pilot need not say it first."""
        shown = view_of(self._plan, self._progress, self._note)
        is_told = (
            self._mode is Mode.TOLD or self._is_deaf or self._teacher.outcome(self._progress) is not None
        )
        is_told = is_told or "ten" in self._progress.issued or self._progress.hush is not Hush.NONE
        return shown if is_told else replace(shown, coming="")


def _find_answer(event: AnswerHeard) -> Answer | None:
    """The answer of an event; None for digits that are none."""
    try:
        return Answer(kind=Kind(event.kind), digits=event.digits, direction=event.direction)
    except ValueError:
        return None
