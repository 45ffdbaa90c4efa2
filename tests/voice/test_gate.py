"""The gate opens for what the cabin does not make, whatever the cabin's level."""

from __future__ import annotations

import numpy as np
import pytest

from coach.voice.gate import EXCESS_LIMIT_DB, FRAME_SAMPLES, OPEN_DB, Gate
from coach.voice.recogniser import SAMPLE_RATE_HZ

USUAL = 0.9
"""Nine frames in ten: one that passes now and then costs a little computing and nothing else."""


def make_hiss(seconds: float, level: float, seed: int = 1) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return (level * rng.standard_normal(round(seconds * SAMPLE_RATE_HZ))).astype(np.float32)


def make_hum(seconds: float, level: float, hz: float) -> np.ndarray:
    t = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return (level * np.sin(2 * np.pi * hz * t)).astype(np.float32)


def measure(gate: Gate, sound: np.ndarray) -> list[float]:
    frames = sound[: len(sound) // FRAME_SAMPLES * FRAME_SAMPLES].reshape(-1, FRAME_SAMPLES)
    return [gate.measure(frame) for frame in frames]


@pytest.mark.parametrize("level", [0.0003, 0.01, 0.2])
def test_steady_hiss_stays_below_the_opening_level(level: float) -> None:
    excesses = measure(Gate(), make_hiss(10, level))
    assert np.quantile(excesses[16:], USUAL) < OPEN_DB


def test_floor_does_not_learn_from_a_voice() -> None:
    gate = Gate()
    measure(gate, make_hiss(4, 0.01))
    loud = make_hiss(10, 0.03, seed=2)
    frames = loud[: len(loud) // FRAME_SAMPLES * FRAME_SAMPLES].reshape(-1, FRAME_SAMPLES)
    assert [gate.measure(frame, is_voice=True) for frame in frames][-1] > OPEN_DB


def test_digital_silence_stays_at_nothing() -> None:
    assert max(measure(Gate(), np.zeros(SAMPLE_RATE_HZ, np.float32))) == 0.0


def test_burst_twice_as_loud_as_the_hiss_opens_it() -> None:
    gate = Gate()
    measure(gate, make_hiss(4, 0.01))
    assert np.mean(measure(gate, make_hiss(0.3, 0.02, seed=2))) > OPEN_DB


def test_louder_hum_below_the_band_does_not_open_it() -> None:
    gate = Gate()
    hiss = make_hiss(8, 0.01)
    hum = np.concatenate([np.zeros(4 * SAMPLE_RATE_HZ, np.float32), make_hum(4, 0.05, 80)])
    assert np.quantile(measure(gate, hiss + hum)[130:], USUAL) < OPEN_DB


def test_new_power_setting_becomes_the_floor_within_four_seconds() -> None:
    gate = Gate()
    measure(gate, make_hiss(4, 0.01))
    excesses = measure(gate, make_hiss(6, 0.03, seed=2))
    assert excesses[0] > OPEN_DB
    assert np.quantile(excesses[-60:], USUAL) < OPEN_DB


def test_no_frame_counts_for_more_than_the_limit() -> None:
    gate = Gate()
    measure(gate, make_hiss(4, 0.001))
    assert max(measure(gate, make_hiss(1, 0.9, seed=3))) == pytest.approx(EXCESS_LIMIT_DB)


def test_two_gates_measure_the_same() -> None:
    sound = make_hiss(3, 0.02)
    assert measure(Gate(), sound) == measure(Gate(), sound)
