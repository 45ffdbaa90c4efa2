"""What is left of the coach is covered; what is more than that passes."""

from __future__ import annotations

import numpy as np

from coach.voice.residue import Residue

BLOCK = 512
RNG = np.random.default_rng(6)


def noise(level: float) -> np.ndarray:
    return level * RNG.standard_normal(BLOCK)


def make_residue() -> Residue:
    """Four seconds of cabin, two of an echo of which a hundredth of the power is left."""
    residue = Residue()
    for _ in range(80):
        residue.note_cabin(noise(0.001))
    for _ in range(40):
        residue.cover(noise(0.01) + noise(0.001), noise(0.1))
    return residue


def level_db(sound: np.ndarray) -> float:
    return float(10 * np.log10(np.mean(sound**2)))


def test_usual_rest_gives_way_to_the_cabin() -> None:
    residue = make_residue()
    covered = np.concatenate([residue.cover(noise(0.01) + noise(0.001), noise(0.1)) for _ in range(20)])
    assert abs(level_db(covered) - level_db(noise(0.001))) < 3


def test_voice_passes_over_the_echo() -> None:
    residue = make_residue()
    voice = noise(0.1)
    passed = residue.cover(voice, noise(0.1))
    assert level_db(passed[160:] - voice[160:]) < level_db(voice) - 10


def test_share_that_is_usually_left_is_learnt() -> None:
    assert Residue().usual_share == 1.0
    assert 0.003 < make_residue().usual_share < 0.03
