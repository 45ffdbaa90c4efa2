"""What was played, laid beside the microphone's blocks."""

from __future__ import annotations

import numpy as np

from coach.voice.echo import LEAD_S, EchoReference
from coach.voice.pcm import RATE_HZ
from coach.voice.played import Played
from coach.voice.recogniser import SAMPLE_RATE_HZ

BLOCK = 512
BLOCK_S = BLOCK / SAMPLE_RATE_HZ


def tone_at(first_s: float) -> np.ndarray:
    return 8000 * np.sin(2 * np.pi * 440 * (first_s + np.arange(BLOCK) / SAMPLE_RATE_HZ))


def play(played: Played, seconds: float, *, from_s: float = 0.0) -> None:
    t = from_s + np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    tone = (8000 * np.sin(2 * np.pi * 440 * t)).astype(np.int16)
    played.add(tone, round((from_s + seconds) * RATE_HZ))


def test_nothing_played_is_silence() -> None:
    assert not EchoReference(Played()).beside(BLOCK, 1.0).any()


def test_first_block_is_laid_by_its_time() -> None:
    played = Played()
    play(played, 2.0)
    beside = EchoReference(played).beside(BLOCK, 1.0)
    assert np.abs(beside - tone_at(1.0 + LEAD_S)).max() < 80


def test_blocks_dated_a_little_wrong_stay_in_one_row() -> None:
    """A driver's times jitter by milliseconds; the samples themselves have no hole."""
    played = Played()
    play(played, 3.0)
    reference = EchoReference(played)
    jitters_s = np.random.default_rng(1).uniform(-0.004, 0.004, 20)
    jitters_s[0] = 0.0
    rows = [reference.beside(BLOCK, 1.0 + n * BLOCK_S + jitter_s) for n, jitter_s in enumerate(jitters_s)]
    whole = np.concatenate([tone_at(1.0 + LEAD_S + n * BLOCK_S) for n in range(20)])
    assert np.abs(np.concatenate(rows) - whole).max() < 80


def test_row_is_laid_anew_where_the_times_are_far_off() -> None:
    """The device lost 0.2 s: after a tenth of a second the row lies right again."""
    played = Played()
    play(played, 3.0)
    reference = EchoReference(played)
    for n in range(4):
        reference.beside(BLOCK, 1.0 + n * BLOCK_S)
    late_s = 1.2 + 4 * BLOCK_S
    for n in range(3):
        beside = reference.beside(BLOCK, late_s + n * BLOCK_S)
    assert np.abs(beside - tone_at(late_s + 2 * BLOCK_S + LEAD_S)).max() < 80
