"""The pilot's microphone on the simulated clock: his voice in the cabin's noise, and the ear that listens.

Every word goes through the real ear as sound; nothing is passed around it. Never knows what a word does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coach.rehearsal.cabin import RATE_HZ, Cabin, Samples, band_snr_db, gain_for_snr
from coach.rehearsal.room import Room
from coach.session.answers import Answer
from coach.session.events import (
    AnswerHeard,
    EdgeFailed,
    EdgeRecovered,
    NotUnderstood,
    PhraseHeard,
    SpeechEnded,
    SpeechStarted,
)
from coach.session.phrases import PhraseTable
from coach.voice.echo import EchoReference
from coach.voice.recogniser import Ways

Block = NDArray[np.int16]
Fact = SpeechStarted | SpeechEnded | PhraseHeard | AnswerHeard | NotUnderstood | EdgeFailed | EdgeRecovered

VOICE_RMS = 0.08
"""The voice's level at the microphone, full scale 1.0."""

LOUDEST_NOISE_RMS = 0.12
"""Noise peaks at five times its RMS: from here on the voice is lowered rather than the noise clipped."""

ATTENTIVE_BLOCK = RATE_HZ // 10
"""Sound reaches the ear in tenths of a second while somebody speaks, and so long after."""

IDLE_BLOCK = RATE_HZ // 2
"""And in halves otherwise: an ear that hears only the cabin has nothing to tell."""

AFTER_S = 1.5

HELD_BACK = RATE_HZ // 20
"""With a loudspeaker the ear lags by this, as in the cockpit: what is laid beside a block sounds later."""

COMPUTING_S = 0.25
"""The recogniser's time in simulated time: a fixed figure, so that a run repeats (measured: 0.2-0.3 s)."""


class Hearing(Protocol):
    """The ear, in this process or in a child."""

    def listen_for(self, ways: Ways) -> None:
        """Understand these (way of saying, canonical phrase) pairs."""

    def expect(self, expected: Answer | None) -> None:
        """Listen for an answer too; None: no more."""

    def hear(self, block: Block, at_s: float, echo: Block | None = None) -> tuple[Fact, ...]:
        """What a block made certain; `at_s` is the session time of its first sample.

        `echo` is what the loudspeaker played in the same time; None: a headset.
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class Loudspeaker:
    """An open loudspeaker as the microphone has it."""

    room: Room
    reference: EchoReference


@dataclass(frozen=True, slots=True, kw_only=True)
class Loudness:
    """How loud voice and noise are at the microphone."""

    voice_rms: float
    noise_rms: float


def loudness_at(snr_db: float | None) -> Loudness:
    """Return the levels that give an SNR; None: no noise at all."""
    if snr_db is None:
        return Loudness(voice_rms=VOICE_RMS, noise_rms=0.0)
    noise_rms = min(LOUDEST_NOISE_RMS, VOICE_RMS * 10 ** (-snr_db / 20))
    return Loudness(voice_rms=noise_rms * 10 ** (snr_db / 20), noise_rms=noise_rms)


class Microphone:
    """Mixes what the pilot says into the cabin and gives it to the ear."""

    def __init__(
        self,
        hearing: Hearing,
        table: PhraseTable,
        voice: Callable[[str], Samples],
        cabin: Cabin,
        snr_db: float | None,
        loudspeaker: Loudspeaker | None = None,
    ) -> None:
        """`voice` gives a text's sound: mono at 16 kHz, sample 0 the onset of its first word."""
        self._hearing = hearing
        self._loudspeaker = loudspeaker
        self._table = table
        self._voice = voice
        self._loudness = loudness_at(snr_db)
        loop = _encode(cabin.loop * np.float32(self._loudness.noise_rms))
        self._noise = np.concatenate([loop, loop[: 10 * RATE_HZ]])
        self._loop = len(loop)
        self._offset = cabin.offset
        self._cursor = 0
        self._spoken: dict[str, Samples] = {}
        self._words: list[tuple[int, Samples]] = []
        self._unheard: list[Block] = []
        self._unheard_from = 0
        self._attentive_until = 0

    def listen_for(self, phrases: tuple[str, ...]) -> None:
        """Understand these canonical phrases from here on."""
        self._hearing.listen_for(self._table.ways(phrases))

    def expect(self, expected: Answer | None) -> None:
        """Understand an answer too from here on; None: no more."""
        self._hearing.expect(expected)

    def say(self, phrase: str) -> float:
        """Begin to say a phrase the best way; return how long it lasts, in seconds."""
        if phrase not in self._spoken:
            self._spoken[phrase] = self._speak(phrase)
        sound = self._spoken[phrase]
        self._words.append((self._cursor, sound))
        self._attentive_until = self._cursor + len(sound) + round(AFTER_S * RATE_HZ)
        return len(sound) / RATE_HZ

    def find_band_snr_db(self) -> float | None:
        """Return the SNR within 300-3400 Hz, mean over the phrases said; None without noise or words."""
        noise = self._noise[: 10 * RATE_HZ].astype(np.float32) / np.float32(32767)
        if not noise.any() or not self._spoken:
            return None
        return float(np.mean([band_snr_db(sound, noise) for sound in self._spoken.values()]))

    def advance(
        self, to_sample: int, coach: NDArray[np.int16] | None = None
    ) -> tuple[Block, tuple[Fact, ...]]:
        """Take in sound up to a sample (16 kHz, from the session's start); return it and what was heard.

        `coach` is what the loudspeaker plays in the same time (48 kHz); None: silence, or a headset.
        A fact's `at_s` is when it is known: the sound that settled it, and the recogniser's time.
        """
        block = self._mix(self._cursor, to_sample - self._cursor)
        if self._loudspeaker is not None:
            block = _add(block, self._loudspeaker.room.carry(coach, len(block)))
        self._cursor = to_sample
        self._unheard.append(block)
        wanted = ATTENTIVE_BLOCK if self._cursor < self._attentive_until else IDLE_BLOCK
        if self._cursor - self._unheard_from < wanted:
            return block, ()
        return block, self._hear()

    def _speak(self, phrase: str) -> Samples:
        found = self._table.find_phrase(phrase)
        spoken = self._voice(found.ways[0] if found and found.ways else phrase)
        return spoken * np.float32(gain_for_snr(spoken, self._loudness.voice_rms, 0.0))

    def _hear(self) -> tuple[Fact, ...]:
        sound, at_s = np.concatenate(self._unheard), self._unheard_from / RATE_HZ
        held_back = 0 if self._loudspeaker is None else HELD_BACK
        heard, kept = sound[: len(sound) - held_back], sound[len(sound) - held_back :]
        self._unheard, self._unheard_from = [kept], self._cursor - held_back
        if self._loudspeaker is None:
            facts = self._hearing.hear(heard, at_s)
        else:
            facts = self._hearing.hear(heard, at_s, self._loudspeaker.reference.beside(len(heard), at_s))
        if any(isinstance(fact, SpeechStarted) for fact in facts):
            self._attentive_until = max(self._attentive_until, self._cursor + round(AFTER_S * RATE_HZ))
        return facts

    def _mix(self, start: int, length: int) -> Block:
        first = (start + self._offset) % self._loop
        noise = self._noise[first : first + length]
        if not self._words:
            return noise
        self._words = [(begin, sound) for begin, sound in self._words if begin + len(sound) > start]
        mixed = noise.astype(np.float32)
        for begin, sound in self._words:
            part = sound[max(0, start - begin) : start + length - begin]
            late = max(0, begin - start)
            mixed[late : late + len(part)] += part * 32767
        return np.clip(np.rint(mixed), -32767, 32767).astype(np.int16)


def _add(block: Block, echo: Samples | None) -> Block:
    if echo is None:
        return block
    both: Block = np.clip(np.rint(block + 32767 * echo), -32767, 32767).astype(np.int16)
    return both


def _encode(sound: Samples) -> Block:
    return np.clip(np.rint(sound * 32767), -32767, 32767).astype(np.int16)
