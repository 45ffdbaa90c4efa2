"""The path from the loudspeaker into the microphone is found from what was played and heard."""

from __future__ import annotations

import numpy as np

from coach.voice.echo_path import TAPS, EchoPath

BLOCK = 512


def teach(path: EchoPath, played: np.ndarray, heard: np.ndarray) -> None:
    whole = np.concatenate([np.zeros(TAPS), played])
    for first in range(0, len(played), BLOCK):
        path.learn(whole[first : first + TAPS + BLOCK], heard[first : first + BLOCK], 20.0)


def make_path() -> np.ndarray:
    taps = np.zeros(1000)
    taps[[300, 340, 900]] = 0.5, -0.2, 0.1
    return taps


def test_unknown_path_predicts_silence() -> None:
    assert not EchoPath().is_known
    assert not EchoPath().predict(np.ones(TAPS + BLOCK)).any()


def test_known_path_predicts_its_echo_to_a_thousandth_of_its_power() -> None:
    rng = np.random.default_rng(2)
    played = 0.1 * rng.standard_normal(48_000)
    heard = np.convolve(played, make_path())[: len(played)]
    path = EchoPath()
    teach(path, played[:-BLOCK], heard[:-BLOCK])
    left = heard[-BLOCK:] - path.predict(played[-TAPS - BLOCK :])
    assert np.mean(left**2) < 1e-3 * np.mean(heard[-BLOCK:] ** 2)


def test_somebody_else_who_talks_as_loud_disturbs_it_little() -> None:
    rng = np.random.default_rng(3)
    played, other = 0.1 * rng.standard_normal((2, 80_000))
    echo = np.convolve(played, make_path())[: len(played)]
    path = EchoPath()
    teach(path, played[:-BLOCK], (echo + 0.5 * other)[:-BLOCK])
    left = echo[-BLOCK:] - path.predict(played[-TAPS - BLOCK :])
    assert np.mean(left**2) < 0.1 * np.mean(echo[-BLOCK:] ** 2)


def test_path_that_was_unlearnt_is_found_again() -> None:
    """A tone tells of one frequency alone, and a voice without an echo unlearns all: no filter is a trap."""
    rng = np.random.default_rng(4)
    path = EchoPath()
    tone = 0.1 * np.sin(0.3 * np.arange(5 * BLOCK))
    teach(path, tone, np.convolve(tone, make_path())[: len(tone)])
    played, other = 0.1 * rng.standard_normal((2, 16_000))
    teach(path, played, 3 * other)
    played = 0.1 * rng.standard_normal(160 * BLOCK)
    heard = np.convolve(played, make_path())[: len(played)]
    teach(path, played[:-BLOCK], heard[:-BLOCK])
    left = heard[-BLOCK:] - path.predict(played[-TAPS - BLOCK :])
    assert np.mean(left**2) < 0.1 * np.mean(heard[-BLOCK:] ** 2)


def test_headset_without_an_echo_teaches_nothing() -> None:
    rng = np.random.default_rng(5)
    played, pilot = 0.1 * rng.standard_normal((2, 80_000))
    path = EchoPath()
    teach(path, played[:-BLOCK], pilot[:-BLOCK])
    predicted = path.predict(played[-TAPS - BLOCK :])
    assert np.mean(predicted**2) < 0.02 * np.mean(pilot**2)
