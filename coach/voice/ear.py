"""The ear: microphone blocks in, facts out.

Gate, voice activity, endpoint and recogniser in a row. It has no clock, no thread and no device: the same
blocks give the same facts, in the cockpit's child process as in a rehearsal. Never decides what a phrase
does.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from coach.session.answers import Answer, Kind
from coach.session.events import AnswerHeard, NotUnderstood, PhraseHeard, SpeechEnded, SpeechStarted
from coach.voice.answer_reading import AnswerReading, Verdict
from coach.voice.cleanup import Cleaner
from coach.voice.endpoint import (
    ANSWER_END_FRAMES,
    EARLY_FRAMES,
    END_FRAMES,
    ONSET_SHARE,
    SHORTEST_FRAMES,
    Endpoint,
    Mark,
    find_onset,
)
from coach.voice.frame_cutter import Block as Block
from coach.voice.frame_cutter import FrameCutter
from coach.voice.gate import FRAME_S, FRAME_SAMPLES, OPEN_DB, Gate
from coach.voice.lengths import compare_length, find_longest_s
from coach.voice.likeness import OwnVoice
from coach.voice.recogniser import SAMPLE_RATE_HZ, Reading, Recogniser, Samples, Ways
from coach.voice.voice_activity import VoiceActivity

Fact = SpeechStarted | SpeechEnded | PhraseHeard | AnswerHeard | NotUnderstood

LEAD_FRAMES = 12
"""Sound kept before the voice is noticed, 384 ms: the onset is looked up in it, the recogniser reads it."""

WARM_FRAMES = 10
"""Sound before the gate opened that the voice-activity model hears first."""

LINGER_FRAMES = 6
"""How long the model goes on judging after the gate has closed."""

SHORTEST_SETTLED = -0.5
"""Logarithm of the voice's length over the usual one: a shorter voice may be half a phrase ("station ..."),
and is waited out before it counts."""

LONGER_THAN_ANY = "longer than any phrase"
"""Why a sentence is not even read."""


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame of sound and what the gate thought of it."""

    sound: Samples
    at_s: float
    """Session time of its first sample."""

    excess_db: float
    voice: float = 0.0
    """Probability of a voice; 0 where the model was not asked."""


class Ear:
    """Hears phrases in blocks of sound."""

    def __init__(
        self, recogniser: Recogniser, activity: VoiceActivity, cleaner: Cleaner | None = None
    ) -> None:
        self._recogniser = recogniser
        self._cleaner = cleaner
        self._activity = activity
        self._gate = Gate()
        self._endpoint = Endpoint()
        self._cutter = FrameCutter()
        self._past: deque[Frame] = deque(maxlen=LEAD_FRAMES + WARM_FRAMES)
        self._utterance: list[Frame] = []
        self._onset_s = 0.0
        self._reading: Reading | None = None
        self._expected: Answer | None = None
        self._answer: AnswerReading | None = None
        """What the utterance is as an answer; None: not read, or none is listened for."""
        self._judging_frames = 0
        self._own_voice = OwnVoice()
        self._longer: frozenset[str] = frozenset()
        self._longest_s = 0.0

    @property
    def name(self) -> str:
        """The recogniser and the voice-activity model in a few words."""
        return f"{self._recogniser.name}; voice activity: {self._activity.name}"

    def listen_for(self, ways: Ways) -> None:
        """Understand these (way of saying, canonical phrase) pairs from the next utterance read on."""
        self._recogniser.listen_for(ways)
        self._reading = None
        self._longer = _find_continued(ways)
        self._longest_s = max((find_longest_s(way) for way, _ in ways), default=0.0)

    def expect(self, expected: Answer | None) -> None:
        """Listen for an answer too, from the next utterance read on; None: no more.

        A phrase comes first. An answer to a question for the expected one's kind is told as `AnswerHeard`,
        the right one and any other.
        """
        self._expected = expected
        self._reading = self._answer = None
        self._endpoint.end_frames = END_FRAMES if expected is None else ANSWER_END_FRAMES

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """The words of these ways that the recogniser can never hear, in order, each once."""
        return self._recogniser.find_unknown_words(ways)

    def hear(self, block: Block, at_s: float, echo: Block | None = None) -> tuple[Fact, ...]:
        """What this block made certain; `at_s` is the session time of its first sample.

        `echo` is what the speaker played in the same time, as long as the block (None: a headset, nothing to
        cancel). A fact's `onset_s` is when it happened (the start of the word), its `at_s` the time of the
        sound that settled it.
        """
        facts: list[Fact] = []
        if echo is not None and self._cleaner is not None:
            block = self._clean(self._cleaner, block, at_s, echo)
        if self._cutter.is_hole(at_s):
            facts += self._lose(at_s)
        for sound, frame_at_s in self._cutter.cut(block, at_s):
            excess_db = self._gate.measure(sound, is_voice=self._endpoint.is_speaking and not self._is_told())
            facts += self._hear_frame(Frame(sound, frame_at_s, excess_db))
        return tuple(facts)

    def _clean(self, cleaner: Cleaner, block: Block, at_s: float, echo: Block) -> Block:
        self._own_voice.note(echo, block, at_s)
        return cleaner.clean(block, echo)

    def _hear_frame(self, frame: Frame) -> list[Fact]:
        was_judging = self._is_judging()
        # Two frames together: noise is loud for one, a voice for many.
        excess_db = (frame.excess_db + self._past[-1].excess_db) / 2 if self._past else frame.excess_db
        self._judging_frames = LINGER_FRAMES if excess_db >= OPEN_DB else self._judging_frames - 1
        if not self._is_judging():
            self._past.append(frame)
            return []
        facts: list[Fact] = [] if was_judging else self._warm_up()
        return facts + self._judge(frame)

    def _is_judging(self) -> bool:
        return self._judging_frames > 0 or self._endpoint.is_speaking

    def _warm_up(self) -> list[Fact]:
        """Let the model hear what came before the gate opened; a word may have begun in it."""
        self._activity.reset()
        before = [self._past.pop() for _ in range(min(WARM_FRAMES, len(self._past)))]
        return [fact for frame in reversed(before) for fact in self._judge(frame)]

    def _judge(self, frame: Frame) -> list[Fact]:
        voice = self._measure(frame)
        frame = Frame(frame.sound, frame.at_s, frame.excess_db, voice)
        mark = self._endpoint.feed(voice)
        self._past.append(frame)
        if mark is Mark.STARTED:
            return [self._start(frame)]
        if not self._endpoint.is_speaking:
            return []
        self._utterance.append(frame)
        return self._follow(mark, round(frame.at_s + FRAME_S, 6))

    def _measure(self, frame: Frame) -> float:
        cabin_rms = self._gate.cabin_rms
        return self._activity.measure(frame.sound, excess_db=frame.excess_db, cabin_rms=cabin_rms)

    def _start(self, frame: Frame) -> Fact:
        self._utterance = list(self._past)
        self._reading = self._answer = None
        self._find_onset()
        return SpeechStarted(at_s=round(frame.at_s + FRAME_S, 6), onset_s=self._onset_s)

    def _find_onset(self) -> None:
        """The start of the word, seen from the surest frame so far: a breath before it was no part of it."""
        least = ONSET_SHARE * self._endpoint.surest
        noticed = next(n for n, frame in enumerate(self._utterance) if frame.voice >= least)
        onset = find_onset(self._join(), noticed * FRAME_SAMPLES)
        self._onset_s = round(self._utterance[0].at_s + onset / SAMPLE_RATE_HZ, 6)

    def _follow(self, mark: Mark, now_s: float) -> list[Fact]:
        if mark is Mark.TOO_LONG:
            self._reading = Reading(phrase=None, way=None, score=0.0, reason="too long")
            return [NotUnderstood(at_s=now_s, onset_s=self._onset_s, reason="too long")]
        if self._is_told():
            return self._end(now_s) if mark is Mark.ENDED else []
        if self._endpoint.silent_frames == 0:
            self._reading = self._answer = None
        if mark in (Mark.PAUSED, Mark.ENDED):
            self._read()
        return self._end(now_s) if mark is Mark.ENDED or self._is_settled() else []

    def _is_told(self) -> bool:
        """This utterance was already given up as too long."""
        return self._reading is not None and self._reading.reason == "too long"

    def _read(self) -> None:
        if self._reading is not None or self._endpoint.voiced_frames < SHORTEST_FRAMES:
            return
        self._find_onset()
        voice_s = self._find_voice_end_s() - self._onset_s
        audio = self._join()
        if voice_s > self._longest_s:
            self._reading = Reading(phrase=None, way=None, score=0.0, reason=LONGER_THAN_ANY)
        else:
            self._reading = self._recogniser.read(audio, voice_s)
        if self._expected is not None and self._reading.phrase is None:
            self._answer = self._recogniser.read_answer(audio, voice_s, self._expected)

    def _find_voice_end_s(self) -> float:
        last_s = self._utterance[-1].at_s + FRAME_S
        return max(last_s - self._endpoint.silent_frames * FRAME_S, self._onset_s)

    def _is_settled(self) -> bool:
        """A phrase was read that nothing longer goes on from, and the silence is no stop consonant."""
        silent_frames = self._endpoint.silent_frames
        if self._reading is None or silent_frames < EARLY_FRAMES:
            return False
        if silent_frames >= END_FRAMES:
            return self._reading.phrase is not None or self._is_answered()
        way = self._reading.way
        if self._reading.phrase is None or way is None or way in self._longer:
            return False
        return compare_length(way, self._find_voice_end_s() - self._onset_s) >= SHORTEST_SETTLED

    def _is_answered(self) -> bool:
        """A heading, course or radial was read: three digits, and no more. Numbers go on as they like."""
        answer = self._answer.answer if self._answer else None
        return answer is not None and answer.kind is not Kind.NUMBER

    def _end(self, now_s: float) -> list[Fact]:
        ended_s = round(self._find_voice_end_s(), 6)
        reading, self._reading = self._reading, None
        answer, self._answer = self._answer, None
        is_sure = self._endpoint.is_sure
        is_own = reading is not None and reading.reason != "too long" and self._is_own_voice()
        self._forget_all_but(self._endpoint.silent_frames)
        self._endpoint.stop()
        self._utterance = []
        ended = SpeechEnded(at_s=now_s, onset_s=ended_s)
        if reading is None or reading.reason == "too long":
            return [ended]
        if is_own:
            return [ended, NotUnderstood(at_s=now_s, onset_s=self._onset_s, reason="the coach's own voice")]
        told = self._tell(reading, answer, now_s)
        return [ended] if isinstance(told, NotUnderstood) and not is_sure else [ended, told]

    def _forget_all_but(self, silent_frames: int) -> None:
        """What was just read is no part of what comes next: its last sounds would be read as it again."""
        kept = list(self._past)[len(self._past) - silent_frames :]
        self._past.clear()
        self._past.extend(kept)

    def _tell(self, reading: Reading, answer: AnswerReading | None, now_s: float) -> Fact:
        if reading.phrase is not None:
            return PhraseHeard(
                at_s=now_s, onset_s=self._onset_s, phrase=reading.phrase, by="voice", score=reading.score
            )
        if answer is None or answer.answer is None:
            reason = answer.reason if answer else reading.reason
            return NotUnderstood(at_s=now_s, onset_s=self._onset_s, reason=reason)
        return _tell_answer(answer, answer.answer, now_s, self._onset_s)

    def _is_own_voice(self) -> bool:
        """True where the utterance is the coach's voice: a canceller can lose its way."""
        voiced = [frame for frame in self._utterance if frame.at_s >= self._onset_s - FRAME_S]
        voiced = voiced[: len(voiced) - self._endpoint.silent_frames]
        if not voiced:
            return False
        return self._own_voice.is_own(np.concatenate([frame.sound for frame in voiced]), voiced[0].at_s)

    def _lose(self, at_s: float) -> tuple[Fact, ...]:
        """Sound is missing: nothing that was begun can be read."""
        was_speaking = self._endpoint.is_speaking and not self._is_told()
        self._endpoint.stop()
        self._past.clear()
        self._utterance = []
        self._reading = self._answer = None
        self._judging_frames = 0
        if not was_speaking:
            return ()
        return (
            SpeechEnded(at_s=at_s, onset_s=at_s),
            NotUnderstood(at_s=at_s, onset_s=self._onset_s, reason="sound was lost"),
        )

    def _join(self) -> Samples:
        return np.concatenate([frame.sound for frame in self._utterance])


def _tell_answer(reading: AnswerReading, answer: Answer, at_s: float, onset_s: float) -> AnswerHeard:
    return AnswerHeard(
        at_s=at_s,
        onset_s=onset_s,
        kind=answer.kind,
        digits=answer.digits,
        direction=answer.direction,
        is_right=reading.verdict is Verdict.RIGHT,
        score=reading.score,
    )


def _find_continued(ways: Ways) -> frozenset[str]:
    """The ways that a longer way begins with: after `next` may come `leg`."""
    said = [way.lower() for way, _ in ways]
    return frozenset(way for way in said if any(longer.startswith(way + " ") for longer in said))
