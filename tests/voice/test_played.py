import numpy as np

from coach.voice.pcm import RATE_HZ
from coach.voice.played import KEPT_S, Played


def counting(n, start=0):
    return (np.arange(start, start + n) % 30_000).astype(np.int16)


def between(played, from_sample, n_samples):
    return played.row(played.index_at(from_sample), n_samples)


def test_last_samples_are_found_by_session_time():
    played = Played()
    played.add(counting(480), 10_480)
    assert np.array_equal(between(played, 10_100, 380), counting(380, 100))


def test_what_is_not_known_is_silence():
    played = Played()
    played.add(counting(100, 1), 1_100)
    found = between(played, 950, 200)
    assert not found[:50].any()
    assert np.array_equal(found[50:150], counting(100, 1))
    assert not found[150:].any()


def test_ring_keeps_its_last_seconds_whatever_the_block_size():
    for block in (7, 480, 3 * RATE_HZ, 9 * RATE_HZ):
        played = Played()
        n_blocks = -(-9 * RATE_HZ // block)
        for k in range(n_blocks):
            played.add(counting(block, k * block), (k + 1) * block)
        end = n_blocks * block
        assert np.array_equal(between(played, end - RATE_HZ, RATE_HZ), counting(RATE_HZ, end - RATE_HZ))
        assert not between(played, end - KEPT_S * RATE_HZ - 100, 100).any()


def test_samples_stay_in_one_row_when_the_times_of_blocks_jitter():
    played = Played()
    for k in range(10):
        played.add(counting(480, k * 480), (k + 1) * 480 + (k % 3))
    assert np.array_equal(between(played, played.end_sample - 4_800, 4_800), counting(4_800))
