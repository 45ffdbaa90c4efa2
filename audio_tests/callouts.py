"""How well the ear reads the Ts of a callout, in four synthetic voices at 10 dB.

`python -m audio_tests.callouts`. The words alone among all that is listened for after a passage, the twist
among all courses. The recogniser only: no endpoint, no microphone.
"""

from __future__ import annotations

from collections import Counter

import numpy as np

from coach.rehearsal.cabin import RATE_HZ, Cabin, Samples, gain_for_snr
from coach.session.answers import Answer, Kind
from coach.session.spoken import heading_words
from coach.store.phrases import read_phrases
from coach.voice.answer_reading import Verdict
from coach.voice.pcm import RATE_HZ as COACH_RATE_HZ
from coach.voice.pcm import resample
from coach.voice.recogniser import EarChoice, choose_recogniser
from coach.voice.synthesis import Synthesiser

VOICES = ("gmw/en-us", "gmw/en-us+f2", "gmw/en-gb-scotland", "gmw/en+m3")
WORDS = ("time", "throttle", "talk")
BESIDE = (
    *("terminate drill", "traffic", "I have the flight controls", "you have the flight controls"),
    *("say again", "stand by", "where now", "disregard", "rejoin", "bookmark", "next leg"),
)
"""What else is listened for after a passage."""

COURSES_DEG = (10, 60, 110, 195, 240, 290, 330, 360)
SNR_DB = 10.0
TIMES = 3
"""Each word is read in so many stretches of cabin."""

VOICE_RMS = 0.08
SILENCE = np.zeros(6000, np.float32)


class Bench:
    """One ear in one cabin."""

    def __init__(self) -> None:
        self.ear = choose_recogniser(EarChoice())
        self.ear.listen_for(read_phrases().ways((*BESIDE, *WORDS)))
        loop = Cabin(5).loop
        self._noise = loop / np.sqrt(np.mean(loop**2)) * VOICE_RMS * 10 ** (-SNR_DB / 20)
        self._chance = np.random.default_rng(3)

    def read_word(self, word: str, voice: Samples) -> str:
        """`right`, `not understood`, or the phrase it was taken for."""
        phrase = self.ear.read(self._in_cabin(voice), len(voice) / RATE_HZ).phrase
        return "right" if phrase == word else phrase or "not understood"

    def read_twist(self, course_deg: int, voice: Samples) -> str:
        """The same of a course."""
        expected = Answer(kind=Kind.COURSE, digits=f"{course_deg:03}")
        reading = self.ear.read_answer(self._in_cabin(voice), len(voice) / RATE_HZ, expected)
        return str(reading.answer) if reading.verdict is Verdict.ANOTHER else reading.verdict.value

    def _in_cabin(self, voice: Samples) -> Samples:
        loud = voice * np.float32(gain_for_snr(voice, VOICE_RMS, 0.0))
        sound = np.concatenate([SILENCE, loud, SILENCE])
        first = int(self._chance.integers(0, len(self._noise) - len(sound)))
        mixed: Samples = (sound + self._noise[first : first + len(sound)]).astype(np.float32)
        return mixed


def main() -> None:
    """Print what became of each."""
    bench = Bench()
    words: Counter[str] = Counter()
    twists: Counter[str] = Counter()
    for name in VOICES:
        synthesiser = Synthesiser(name, 156)
        for word in WORDS:
            voice = _voice(synthesiser, word)
            words.update(bench.read_word(word, voice) for _ in range(TIMES))
        for n, course_deg in enumerate(COURSES_DEG):
            said = heading_words(course_deg)
            voice = _voice(synthesiser, f"twist {said if n % 2 else said.replace('niner', 'nine')}")
            twists[bench.read_twist(course_deg, voice)] += 1
    print(f"{bench.ear.name}, {SNR_DB:g} dB")
    for what, found in ((", ".join(WORDS), words), ("twist and a course", twists)):
        print(
            f"{what}: {sum(found.values())} read, {', '.join(f'{n} {how}' for how, n in found.most_common())}"
        )


def _voice(synthesiser: Synthesiser, text: str) -> Samples:
    return resample(synthesiser.render(text) / 32767, COACH_RATE_HZ, RATE_HZ).astype(np.float32)


if __name__ == "__main__":
    main()
