"""Mutated bytes: no exception, no growth, no fix from noise. The long run: `audio_tests/bench_feed.py`."""

import random

import pytest

from tests.fixes.mutated_bytes import DECODERS, held_bytes, mutate


@pytest.mark.parametrize("name", DECODERS)
def test_mutated_bytes_raise_nothing_and_nothing_grows(name: str):
    make, stream = DECODERS[name]
    decoder, chance = make(), random.Random(5)
    held = []
    for _ in range(40):
        decoder.feed(mutate(stream, chance), 0.0)
        held.append(held_bytes(decoder))
    assert decoder.tally.n_bytes > 20_000
    assert decoder.tally.rejected
    assert decoder.tally.fixes > 0
    assert max(held[20:]) < 2 * max(held[:20])


@pytest.mark.parametrize("name", DECODERS)
def test_pure_noise_gives_no_fix(name: str):
    decoder, chance = DECODERS[name][0](), random.Random(6)
    for _ in range(40):
        decoder.feed(chance.randbytes(1000), 0.0)
    assert decoder.tally.fixes == 0
