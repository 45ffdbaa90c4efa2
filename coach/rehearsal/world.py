"""The world of a rehearsal: the loop's clock is simulated, everything else is as real as it can be.

The aircraft flies, the pilot looks and speaks, the coach sounds through its own mixer and hears through its
own ear, all on one clock that runs as fast as the machine can. Never tells the pilot what the session knows
or the session what the pilot knows: sound, tones and keys are all that passes.
"""

from __future__ import annotations

import heapq
import itertools
from dataclasses import replace

from coach.errors import CoachError
from coach.rehearsal.cabin import RATE_HZ
from coach.rehearsal.feed import RehearsalFeed
from coach.rehearsal.flight import Flight
from coach.rehearsal.headset import Headset
from coach.rehearsal.microphone import COMPUTING_S, Block, Microphone
from coach.rehearsal.radio import Radio
from coach.rehearsal.recording import RATIO, Recording
from coach.rehearsal.talker import Word
from coach.rehearsal.transcript import Said, Transcript
from coach.session.actions import Action, Expect, Listen, Record, Say, Silence, Sound
from coach.session.answers import Answer
from coach.session.events import AnswerHeard, Event, NotUnderstood, PhraseHeard, PromptStarted, Woken

NEVER_S = float("inf")


class RehearsalWorld:
    """Where the loop's facts come from and its actions go, on a simulated clock.

    `microphone` None: the pilot only presses keys. `recording` needs a microphone.
    """

    def __init__(
        self,
        flight: Flight,
        headset: Headset,
        transcript: Transcript,
        *,
        microphone: Microphone | None = None,
        recording: Recording | None = None,
        radio: Radio | None = None,
        feed: RehearsalFeed | None = None,
        limit_s: float,
    ) -> None:
        self._flight = flight
        self._headset = headset
        self._transcript = transcript
        self._microphone = microphone
        self._recording = recording
        self._radio = radio
        self._feed = feed
        self._speaks_until_s = 0.0
        self._limit_s = limit_s
        self._now_s = 0.0
        self._facts: list[tuple[float, int, Event]] = []
        self._numbers = itertools.count()
        self._prompts: dict[int, str] = {}
        self._tones: list[Sound] = []
        self._turns_told = 1
        self._expected: Answer | None = None

    @property
    def radio_calls(self) -> int:
        """How many sentences the pilot has said that were not for the coach."""
        return 0 if self._radio is None else len(self._radio.said)

    def now_s(self) -> float:
        """The session clock, simulated."""
        return self._now_s

    def wait(self, until_s: float | None) -> Event:
        """The next fact, or `Woken` at `until_s`; CoachError where the drill does not come to an end."""
        wake_s = NEVER_S if until_s is None else max(until_s, self._now_s)
        while True:
            if self._facts and self._facts[0][0] <= self._now_s:
                return self._take()
            if wake_s <= self._now_s:
                return Woken(at_s=self._now_s, onset_s=min(until_s or 0.0, self._now_s))
            self._advance(wake_s)

    def do(self, action: Action) -> None:
        """Carry an action out."""
        match action:
            case Say():
                self._prompts[action.prompt] = action.text
                self._transcript.note_action(action)
                self._headset.do(action)
            case Record():
                self._transcript.note_record(self._now_s, action)
            case Silence():
                self._headset.do(action)
            case Sound():
                self._headset.do(action)
                self._hear_tone(action)
            case Listen(phrases=phrases):
                if self._microphone is not None:
                    self._microphone.listen_for(phrases)
            case Expect():
                self._expected = action.answer
                if self._microphone is not None:
                    self._microphone.expect(action.answer)

    def _hear_tone(self, sound: Sound) -> None:
        # A tone with a due time is a time call's cue: nothing that the pilot waits for.
        if sound.due_s is None:
            self._flight.pilot.hear_tone(sound.tone)

    def _take(self) -> Event:
        event = heapq.heappop(self._facts)[2]
        event = replace(event, at_s=self._now_s, onset_s=min(event.onset_s, self._now_s))
        self._transcript.note_event(event)
        return event

    def _post(self, event: Event, at_s: float) -> None:
        heapq.heappush(self._facts, (at_s, next(self._numbers), event))

    def _advance(self, wake_s: float) -> None:
        """Let time pass up to the next thing that can happen."""
        fact_s = self._facts[0][0] if self._facts else NEVER_S
        to_s = min(self._flight.next_step_s, wake_s, fact_s)
        self._sound(to_s)
        self._now_s = to_s
        if to_s >= self._flight.next_step_s:
            self._step()
        if self._now_s > self._limit_s:
            raise CoachError(
                f"the rehearsal did not come to an end within {self._limit_s / 60:.0f} minutes of flight"
            )

    def _step(self) -> None:
        pilot = self._flight.pilot
        self._flight.step()
        for begun in pilot.begun[self._turns_told :]:
            self._transcript.note_turn(begun.at_s, begun.what)
        self._turns_told = len(pilot.begun)
        self._feed_coach()
        if self._now_s < self._speaks_until_s:
            return
        word = pilot.find_word(self._now_s)
        if word is not None:
            self._say(word)
        elif self._radio is not None and self._microphone is not None:
            self._transmit(self._radio, self._microphone)

    def _feed_coach(self) -> None:
        if self._feed is not None:
            for event in self._feed.advance(self._now_s, self._flight.aircraft):
                self._post(event, self._now_s)

    def _transmit(self, radio: Radio, microphone: Microphone) -> None:
        text = radio.find_call(self._now_s, is_busy=self._flight.pilot.has_word)
        if text is not None:
            self._speaks_until_s = self._now_s + microphone.say(text)
            self._transcript.note_call_of_pilot(self._now_s, text)

    def _say(self, word: Word) -> None:
        by_key = word.by_key or self._microphone is None
        spoken = word.spoken or word.phrase
        lasts_s = 0.0 if by_key or self._microphone is None else self._microphone.say(spoken)
        said = Said(onset_s=word.at_s, ends_s=word.at_s + lasts_s, phrase=word.phrase, by_key=by_key)
        self._transcript.note_word(said)
        if by_key:
            self._post(self._typed(word), word.at_s)

    def _typed(self, word: Word) -> Event:
        """What a word is without a voice: its key, an answer as it is."""
        answer = word.answer
        if answer is None:
            return PhraseHeard(at_s=word.at_s, onset_s=word.at_s, phrase=word.phrase, by="key")
        return AnswerHeard(
            at_s=word.at_s,
            onset_s=word.at_s,
            kind=answer.kind,
            digits=answer.digits,
            direction=answer.direction,
            is_right=answer == self._expected,
        )

    def _sound(self, to_s: float) -> None:
        """Sound and hear up to a time."""
        to_sample = round(to_s * RATE_HZ)
        coach = self._headset.advance(RATIO * to_sample)
        for event in self._headset.take_events(to_s):
            if isinstance(event, PromptStarted):
                self._flight.pilot.hear_prompt(self._prompts[event.prompt], event.onset_s)
            self._post(event, to_s)
        if self._microphone is not None:
            self._hear(self._microphone, coach, to_sample, to_s)

    def _hear(self, microphone: Microphone, coach: Block | None, to_sample: int, to_s: float) -> None:
        block, facts = microphone.advance(to_sample, coach)
        if self._recording is not None and len(block):
            self._recording.add(coach, block)
        for fact in facts:
            is_read = isinstance(fact, PhraseHeard | AnswerHeard | NotUnderstood)
            self._post(fact, max(to_s, fact.at_s + COMPUTING_S * is_read))
