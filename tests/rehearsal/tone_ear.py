"""A voice and an ear of a few lines: each phrase is a tone of its own. For tests only.

Sound still is all that passes: the ear finds tones in the microphone's samples and knows nothing else.
"""

from __future__ import annotations

import numpy as np

from coach.session.events import NotUnderstood, PhraseHeard, SpeechEnded, SpeechStarted

RATE_HZ = 16_000
FRAME = 800
WORD_S = 0.8
TONES_HZ = {
    "station passage": 1000,
    "needle alive": 1200,
    "established": 1400,
    "wings level": 1600,
    "next leg": 1800,
    "disregard": 2000,
    "resume drill": 2200,
}


def tone_voice(text):
    """A word's sound."""
    at_s = np.arange(round(WORD_S * RATE_HZ)) / RATE_HZ
    return (0.5 * np.sin(2 * np.pi * TONES_HZ[text] * at_s)).astype(np.float32)


class ToneEar:
    """Hears the tones; `misses` is how many words it fails to understand first."""

    def __init__(self, misses=0, is_deaf=False):
        self.misses = misses
        self.is_deaf = is_deaf
        self.heard_samples = 0
        self.next_s = 0.0
        self._phrases = ()
        self._rest = np.zeros(0, np.int16)
        self._word = None

    def listen_for(self, ways):
        self._phrases = tuple(phrase for _, phrase in ways)

    def hear(self, block, at_s):
        assert abs(at_s - self.next_s) < 1e-6, "the sound has a hole"
        self.next_s = at_s + len(block) / RATE_HZ
        self.heard_samples += len(block)
        facts = []
        start_s = at_s - len(self._rest) / RATE_HZ
        sound = np.concatenate([self._rest, block])
        for i in range(len(sound) // FRAME):
            facts += self._frame(sound[i * FRAME : (i + 1) * FRAME], start_s + i * FRAME / RATE_HZ)
        self._rest = sound[len(sound) // FRAME * FRAME :]
        return () if self.is_deaf else tuple(facts)

    def _frame(self, frame, at_s):
        tone = self._find_tone(frame)
        ends_s = at_s + FRAME / RATE_HZ
        if self._word is None and tone is not None:
            self._word = (tone, at_s)
            return [SpeechStarted(at_s=ends_s, onset_s=at_s)]
        if self._word is not None and tone is None:
            (phrase, onset_s), self._word = self._word, None
            return [SpeechEnded(at_s=ends_s, onset_s=at_s), self._tell(phrase, onset_s, ends_s)]
        return []

    def _tell(self, phrase, onset_s, at_s):
        if self.misses or phrase not in self._phrases:
            self.misses = max(0, self.misses - 1)
            return NotUnderstood(at_s=at_s, onset_s=onset_s, reason="no phrase fits")
        return PhraseHeard(at_s=at_s, onset_s=onset_s, phrase=phrase, by="voice", score=1.0)

    def _find_tone(self, frame):
        power = np.abs(np.fft.rfft(frame.astype(float))) ** 2
        share = {phrase: power[hz // 20] / (power.sum() + 1) for phrase, hz in TONES_HZ.items()}
        best = max(share, key=share.__getitem__)
        return best if share[best] > 0.4 else None
