"""The sample of a Morse ident: its timing, its pitch, and that no flight can reach it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from coach.nav.morse import encode_morse
from coach.voice.morse_tone import DOT_S, PITCH_HZ, render_morse
from coach.voice.pcm import RATE_HZ

COACH = Path(__file__).parents[2] / "coach"


@pytest.mark.parametrize(
    ("ident", "dots", "seconds"),
    [("TEST", 21, 3.60), ("DEN", 19, 3.26), ("ABC", 31, 5.31), ("JJJ", 45, 7.71)],
)
def test_an_ident_lasts_as_long_as_seven_words_a_minute_make_it(
    ident: str, dots: int, seconds: float
) -> None:
    # V37: ITU-R M.1677-1 for the ratios; lengths computed; 7 wpm (V36) and the length of a dot from memory.
    sound = render_morse(encode_morse(ident))
    assert sound.size / RATE_HZ == pytest.approx(dots * DOT_S, abs=0.001)
    assert sound.size / RATE_HZ == pytest.approx(seconds, abs=0.006)


def test_a_dash_is_three_dots_and_gaps_are_one_and_three() -> None:
    # V37: .- - : dot, gap, dash, three gaps, dash.
    level = np.abs(render_morse(".- -").astype(int)) > 0
    dot = round(DOT_S * RATE_HZ)
    sounding = [
        bool(level[round((n + 0.5) * dot) - 200 : round((n + 0.5) * dot) + 200].mean() > 0.5)
        for n in range(11)
    ]
    assert sounding == [True, False, True, True, True, False, False, False, True, True, True]


def test_the_pitch_is_near_600_hertz_and_far_from_a_navigation_aids() -> None:
    # V35: AIM 1-1-7f, 1,020 Hz for a VOR, 1,350 Hz for a DME.
    sound = render_morse("- - -").astype(float)
    power = np.abs(np.fft.rfft(sound)) ** 2
    hertz = np.fft.rfftfreq(sound.size, 1 / RATE_HZ)
    assert hertz[np.argmax(power)] == pytest.approx(PITCH_HZ, abs=1)
    for navigation_hz in (1020, 1350):
        assert power[np.abs(hertz - navigation_hz) < 60].sum() < 1e-4 * power.sum()


def test_there_is_no_click() -> None:
    sound = render_morse("...").astype(int)
    assert np.abs(np.diff(sound)).max() < 1000
    assert (abs(sound[0]), abs(sound[-1])) == (0, 0)


@pytest.mark.parametrize(
    ("code", "reason"), [("", "nothing to sound"), (".x", "'x' is neither dot nor dash")]
)
def test_what_is_no_code_is_refused(code: str, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        render_morse(code)


def test_only_the_command_on_the_ground_can_sound_it() -> None:
    users = {
        path.relative_to(COACH).as_posix() for path in COACH.rglob("*.py") if "morse_tone" in path.read_text()
    }
    assert users <= {"voice/morse_tone.py", "cli/station_morse.py"}
