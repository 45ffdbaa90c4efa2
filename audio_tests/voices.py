"""Synthetic pilots for the measurements: espeak-ng's speakers through the coach's own synthesis, and flite's.

Never a real person's voice; sentences and places are invented.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path

import numpy as np

from audio_tests.score_trials import RATE_HZ, Samples, read_sound
from coach.voice.pcm import RATE_HZ as SOUND_RATE_HZ
from coach.voice.pcm import resample
from coach.voice.synthesis import RATE_WPM, Synthesiser, describe

ESPEAK = (
    "gmw/en-us+m3",
    "gmw/en-us+f2",
    "gmw/en+m1",
    "gmw/en-gb-x-rp+f4",
    "gmw/en-gb-scotland+m7",
    "gmw/en-029+m4",
)
FLITE = ("rms", "slt", "awb", "kal16")
"""flite's voices, each made from one speaker's recordings (Debian package flite)."""

RATES = (0.85, 1.0, 1.2)

SENTENCES = (
    "established on the localizer",
    "traffic in sight, continue",
    "turn left heading two four zero",
    "the weather looks fine over there",
    "could you hand me the map please",
    "I think we should stop for lunch",
    "approach, good morning, level at three thousand",
    "descending to two thousand five hundred",
    "what time do we land",
    "look at that lake down there",
    "we are a bit low on fuel",
    "I will say that again later",
    "next time we go to the coast",
    "stand by for the weather",
    "she was in position before us",
    "the needle is moving",
    "are you alive back there",
    "talk to me about the radio",
    "no more of that please",
    "cleared for the approach, runway two seven",
)
"""What a pilot says that is no command; several begin like one."""


@cache
def voice_names() -> tuple[str, ...]:
    """The synthetic voices of this machine, `flite:` before those of flite."""
    catalogue = describe()
    espeak = tuple(voice for voice in ESPEAK if catalogue.find_voice(voice))
    return espeak + tuple(f"flite:{voice}" for voice in FLITE if shutil.which("flite"))


def say(text: str, voice: str, rate: float = 1.0) -> Samples:
    """A text in one voice, mono at 16 kHz; `rate` 1 is the usual speed, 1.2 a fifth faster."""
    if voice.startswith("flite:"):
        return _say_flite(text, voice.removeprefix("flite:"), rate)
    sound = Synthesiser(voice, round(RATE_WPM * rate)).render(text)
    return resample(sound / 32768, SOUND_RATE_HZ, RATE_HZ).astype(np.float32)


def _say_flite(text: str, voice: str, rate: float) -> Samples:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        stretch = f"duration_stretch={1 / rate:.3f}"
        subprocess.run(["flite", "-voice", voice, "--setf", stretch, "-t", text, "-o", path], check=True)
        return read_sound(path)
