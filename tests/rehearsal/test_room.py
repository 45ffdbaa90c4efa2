"""The way from the loudspeaker into the microphone."""

from __future__ import annotations

import numpy as np
import pytest

from coach.rehearsal.cabin import RATE_HZ
from coach.rehearsal.room import DELAY_S, Room

TONE = (8000 * np.sin(2 * np.pi * 440 * np.arange(48_000) / 48_000)).astype(np.int16)


def test_sound_comes_after_its_delay() -> None:
    carried = Room().carry(TONE, RATE_HZ)
    assert carried is not None
    first = int(np.flatnonzero(np.abs(carried) > 0.01)[0])
    assert first / RATE_HZ == pytest.approx(DELAY_S, abs=0.003)


@pytest.mark.parametrize("block", [37, 800, 5000])
def test_blocks_of_any_length_carry_the_same_sound(block: int) -> None:
    whole, room = Room().carry(TONE, RATE_HZ), Room()
    starts = range(0, RATE_HZ - block, block)
    parts = [room.carry(TONE[3 * k : 3 * (k + block)], block) for k in starts]
    joined = np.concatenate([part if part is not None else np.zeros(block) for part in parts])
    assert whole is not None
    assert np.allclose(joined, whole[: len(joined)], atol=1e-5)


def test_it_rings_on_and_then_is_silent() -> None:
    room = Room()
    room.carry(TONE, RATE_HZ)
    assert room.carry(None, RATE_HZ // 20) is not None
    room.carry(None, RATE_HZ)
    assert room.carry(None, RATE_HZ // 20) is None


def test_gain_is_a_factor() -> None:
    loud, soft = (Room(gain).carry(TONE, RATE_HZ) for gain in (1.0, 0.25))
    assert loud is not None
    assert soft is not None
    assert np.allclose(soft, 0.25 * loud, atol=1e-6)
