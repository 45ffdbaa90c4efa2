"""Where a voice starts and ends: a count over frames, and the onset of the word looked up in the sound.

Pure: probabilities in, marks out. Never reads words and never knows the time.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from coach.voice.gate import FRAME_S
from coach.voice.recogniser import SAMPLE_RATE_HZ, Samples

START_PROBABILITY = 0.1
"""Of 160 words in cabin noise at -5 dB, 0.3 missed 8.7 % and 0.1 4.4 %; in seven minutes of noise alone no
two frames in a row reached it (`audio_tests/README.md`)."""

END_SHARE = 0.5
"""A frame belongs to the voice with this share of the surest frame's probability. The model falls slowly
after a word: waiting for 0.3 cost 50 ms at the median and heard no word more (`audio_tests/README.md`)."""

ONSET_SHARE = 0.3
"""The word starts at the first frame with this share: a weak first sound belongs to it."""

SURE_PROBABILITY = 0.5
"""A voice that never reached this may have been none: unless it was a command, nothing is said about it."""

START_FRAMES = 2
"""A single frame is a click."""

PAUSE_FRAMES = 2
"""After this much silence (64 ms) reading may begin, at the risk that the voice goes on."""

EARLY_FRAMES = 4
"""A sure and complete phrase is taken after 128 ms of silence: longer than the closure of a stop."""

END_FRAMES = 9
"""Anything else waits for 288 ms of silence."""

ANSWER_END_FRAMES = 25
"""An answer that is not complete waits for 800 ms of silence: who reads digits out pauses between groups."""

SHORTEST_FRAMES = 3
"""Less voice than this (96 ms) is no word."""

LONGEST_S = 12.0
"""Longer than any answer; who talks on is talking to somebody else."""


class Mark(StrEnum):
    """What a frame changed."""

    NOTHING = "nothing"
    STARTED = "started"
    PAUSED = "paused"
    ENDED = "ended"
    TOO_LONG = "too long"


class Endpoint:
    """Counts frames of voice and of silence."""

    def __init__(self) -> None:
        self.is_speaking = False
        self.voiced_frames = 0
        """Frames with a voice since it started."""
        self.silent_frames = 0
        """Frames since the last one with a voice."""
        self.surest = 0.0
        """The highest probability since it started."""
        self.end_frames = END_FRAMES
        """Frames of silence after which the voice has ended."""
        self._frames = 0

    @property
    def is_sure(self) -> bool:
        """Whether this was a voice beyond doubt."""
        return self.surest >= SURE_PROBABILITY

    def feed(self, probability: float) -> Mark:
        """Count one frame of 32 ms."""
        self.surest = max(self.surest, probability) if self.voiced_frames else probability
        return self._go_on(probability) if self.is_speaking else self._wait(probability)

    def stop(self) -> None:
        """The utterance is over by somebody else's decision."""
        self.is_speaking = False
        self.voiced_frames = self.silent_frames = self._frames = 0

    def _wait(self, probability: float) -> Mark:
        self.voiced_frames = self.voiced_frames + 1 if probability >= START_PROBABILITY else 0
        if self.voiced_frames < START_FRAMES:
            return Mark.NOTHING
        self.is_speaking = True
        self._frames = self.voiced_frames
        self.silent_frames = 0
        return Mark.STARTED

    def _go_on(self, probability: float) -> Mark:
        self._frames += 1
        if probability >= END_SHARE * self.surest:
            self.voiced_frames += 1
            self.silent_frames = 0
            return Mark.TOO_LONG if self._frames == round(LONGEST_S / FRAME_S) else Mark.NOTHING
        self.silent_frames += 1
        return self._count_silence()

    def _count_silence(self) -> Mark:
        if self.silent_frames >= self.end_frames:
            return Mark.ENDED
        return Mark.PAUSED if self.silent_frames == PAUSE_FRAMES else Mark.NOTHING


ONSET_HOP = SAMPLE_RATE_HZ // 100
"""The onset is looked up in steps of 10 ms."""

ONSET_REACH_HOPS = 25
"""A word starts at most 250 ms before the model notices it (an unvoiced consonant first)."""

ONSET_GAP_HOPS = 4
"""Silence between a consonant and its vowel that still belongs to the word."""

ONSET_OVER_DB = 6.0
"""A step belongs to the word when it stands this far above what came before."""

ONSET_UNDER_DB = 25.0
"""And not so far below the loudest step: after digital silence the room's own noise is no word."""

ONSET_LOW_HZ, ONSET_HIGH_HZ = 300.0, 7000.0
"""Wider than the gate's band: an s lives above 3,400 Hz."""


def find_onset(audio: Samples, noticed: int) -> int:
    """The sample where the word begins, given the one where the voice was noticed.

    `audio` starts well before the word; what it starts with is taken for the cabin.
    """
    onset = noticed // ONSET_HOP
    level_db = _measure_hops(audio)
    cabin_db = float(np.median(level_db[: max(onset // 3, 1)]))
    loud = level_db > max(cabin_db + ONSET_OVER_DB, float(level_db.max()) - ONSET_UNDER_DB)
    gap = 0
    for hop in range(onset - 1, max(onset - ONSET_REACH_HOPS, 0) - 1, -1):
        gap = 0 if loud[hop] else gap + 1
        if gap > ONSET_GAP_HOPS:
            break
        onset = hop if loud[hop] else onset
    return min(onset * ONSET_HOP, noticed)


def _measure_hops(audio: Samples) -> NDArray[np.float32]:
    hops = audio[: len(audio) // ONSET_HOP * ONSET_HOP].reshape(-1, ONSET_HOP)
    power = np.abs(np.fft.rfft(hops * np.hanning(ONSET_HOP).astype(np.float32), axis=1)) ** 2
    lines_hz = np.fft.rfftfreq(ONSET_HOP, 1 / SAMPLE_RATE_HZ)
    is_counted = (lines_hz >= ONSET_LOW_HZ) & (lines_hz <= ONSET_HIGH_HZ)
    level_db: NDArray[np.float32] = 10 * np.log10(power[:, is_counted].sum(axis=1) + 1e-9)
    return level_db
