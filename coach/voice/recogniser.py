"""What every recogniser gives the ear: one utterance in, one reading out.

A recogniser only tells sound from words. It never finds where speech begins or ends, never knows the
time, and never decides what a phrase does.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol, cast

import numpy as np
from numpy.typing import NDArray

from coach.errors import SetupError
from coach.session.answers import Answer
from coach.session.voice_profile import VoiceProfile
from coach.settings import Settings
from coach.voice.answer_reading import AnswerReading

SAMPLE_RATE_HZ = 16_000
"""The rate of all sound inside the ear."""

Samples = NDArray[np.float32]
"""Mono sound at `SAMPLE_RATE_HZ`, full scale 1.0."""

Ways = tuple[tuple[str, str], ...]
"""(way of saying, canonical phrase) pairs, as `coach.session.phrases.PhraseTable.ways` gives them."""

ENGLISH = "en"

Engine = Literal["whisper", "vosk", "pocketsphinx"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a recogniser made of one utterance."""

    phrase: str | None
    """The canonical phrase; None: it was no command."""

    way: str | None
    """The way of saying that fitted best, whether it was accepted or not; None: nothing fitted."""

    score: float
    """How well it fitted, on the recogniser's own scale; higher is surer."""

    reason: str = ""
    """Why it was no command, such as `no phrase fits`, `too unsure`; empty where it was one."""

    margin: float | None = None
    """How far the best way of another phrase lies below; None: this recogniser does not tell."""


class Recogniser(Protocol):
    """One engine with its model loaded. Reads utterances one at a time; the same sound reads the same."""

    name: str
    """The engine and its model in a few words, for `coach check` and the journal."""

    def listen_for(self, ways: Ways) -> None:
        """Understand these from now on and no others; ways with unknown words are left out."""

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """The words of these ways that the model can never hear, in order, each once."""

    def read(self, audio: Samples, voice_s: float) -> Reading:
        """Read one utterance with some silence about it; `voice_s` is how long the voice in it lasts."""

    def read_answer(self, audio: Samples, voice_s: float, expected: Answer) -> AnswerReading:
        """Read one utterance as an answer to a question for the expected one's kind."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EarChoice:
    """Which recogniser to load and from where: plain values, so that a child process can be told."""

    engine: Engine | None = None
    """None: the best one that is here."""

    language: str = ENGLISH
    """What the pilot speaks, an ISO 639-1 code; only Vosk has models for anything but English."""

    whisper_folder: Path | None = None
    """A folder with the weights of Whisper tiny.en for CTranslate2; None: those of the extra `ear`."""

    vosk_folder: Path | None = None
    """A Vosk model; None: Vosk is not used."""

    profile: VoiceProfile | None = None
    """Personal thresholds; None, or those of another recogniser: the usual ones."""


def ear_choice(settings: Settings, profile: VoiceProfile | None = None) -> EarChoice:
    """Which recogniser the settings ask for, with the pilot's personal thresholds if there are any."""
    return EarChoice(
        profile=profile,
        engine=None if settings.recogniser == "auto" else cast(Engine, settings.recogniser),
        language=settings.language,
        whisper_folder=settings.whisper_model,
        vosk_folder=settings.vosk_model,
    )


def choose_recogniser(choice: EarChoice) -> Recogniser:
    """Load the recogniser of a choice, or the best one that is here.

    Best first: Whisper where its weights are found, Vosk where a model folder is named, pocketsphinx.
    A folder the user named is used or refused, never passed over. `SetupError` names the remedy.
    """
    if choice.language != ENGLISH:
        return _load_other_language(choice)
    if choice.engine is not None:
        return _LOADERS[choice.engine](choice)
    if choice.vosk_folder is not None and choice.whisper_folder is None:
        return _load_vosk(choice)
    if choice.whisper_folder is not None or has_whisper():
        return _load_whisper(choice)
    return _load_pocketsphinx(choice)


def _load_other_language(choice: EarChoice) -> Recogniser:
    if choice.engine in (None, "vosk"):
        return _load_vosk(choice)
    raise SetupError(
        f"{choice.engine}: hears English only; for language {choice.language} set vosk_model to the folder "
        "of a Vosk model for it"
    )


def has_whisper() -> bool:
    """Whether the weights of the best ear are on this machine."""
    from coach.voice.recognisers.whisper_model import find_weights

    return find_weights(None) is not None


def _load_whisper(choice: EarChoice) -> Recogniser:
    from coach.voice.recognisers.whisper import load_whisper

    return load_whisper(choice.whisper_folder)


def _load_vosk(choice: EarChoice) -> Recogniser:
    from coach.voice.recognisers.vosk import load_vosk

    if choice.vosk_folder is None:
        raise SetupError("vosk: no model folder is named; set vosk_model to the folder of a Vosk model")
    return load_vosk(choice.vosk_folder, language=choice.language)


def _load_pocketsphinx(_choice: EarChoice) -> Recogniser:
    from coach.voice.recognisers.pocketsphinx import load_pocketsphinx

    return load_pocketsphinx()


_LOADERS = {"whisper": _load_whisper, "vosk": _load_vosk, "pocketsphinx": _load_pocketsphinx}


def find_words(ways: Ways) -> tuple[str, ...]:
    """Every word of these ways in small letters, in order, each once."""
    return tuple(dict.fromkeys(word for way, _ in ways for word in way.lower().split()))


def find_readable(ways: Ways, unknown: tuple[str, ...]) -> Ways:
    """The ways, in small letters, that hold none of the unknown words."""
    small = ((way.lower(), phrase) for way, phrase in ways)
    return tuple((way, phrase) for way, phrase in small if not set(way.split()) & set(unknown))
