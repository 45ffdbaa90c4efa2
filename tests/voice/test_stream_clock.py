import pytest

from coach.voice.pcm import RATE_HZ
from coach.voice.stream_clock import SETTLED_BLOCKS, WINDOW_BLOCKS, StreamClock

FRAMES = 480
BLOCK_S = FRAMES / RATE_HZ
DELAY_S = 0.04


def run(clock, nows_s, delay_s=DELAY_S):
    return [clock.date(now_s=now_s, delay_s=delay_s, n_frames=FRAMES) for now_s in nows_s]


def even(n, from_s=10.0, block_s=BLOCK_S):
    return [from_s + k * block_s for k in range(n)]


def settled():
    clock = StreamClock(fallback_delay_s=0.02)
    run(clock, even(100, 9.0))
    return clock


def test_block_sounds_after_the_delay():
    clock = settled()
    assert run(clock, [10.0, 10.01]) == [round(10.04 * RATE_HZ), round(10.05 * RATE_HZ)]


def test_delay_that_is_not_reported_is_assumed():
    clock = StreamClock(fallback_delay_s=0.02)
    assert run(clock, even(50), delay_s=0.0)[-1] == round((10.0 + 49 * BLOCK_S + 0.02) * RATE_HZ)


def test_blocks_taken_at_once_before_the_stream_runs_are_not_dated():
    clock = StreamClock(fallback_delay_s=0.02)
    at_once = run(clock, [10.0, 10.0001, 10.0002, 10.0003])
    running = run(clock, even(20, 11.8))
    assert at_once == [None] * 4
    assert running[:SETTLED_BLOCKS] == [None] * SETTLED_BLOCKS
    assert running[-1] == round((11.8 + 19 * BLOCK_S + DELAY_S) * RATE_HZ)


@pytest.mark.parametrize("late_s", [0.001, 0.02, 0.045])
def test_callback_that_python_delays_changes_nothing(late_s):
    clock = settled()
    nows_s = even(30)
    nows_s[10] += late_s
    expected = [round((10.0 + k * BLOCK_S + DELAY_S) * RATE_HZ) for k in range(30)]
    assert run(clock, nows_s) == expected


@pytest.mark.parametrize("rate_error", [800e-6, -800e-6])
def test_device_clock_that_drifts_is_followed_within_a_fifth_of_a_millisecond(rate_error):
    clock = settled()
    nows_s = even(6_000, block_s=BLOCK_S * (1 + rate_error))
    errors_s = [
        dated / RATE_HZ - (now_s + DELAY_S) for dated, now_s in zip(run(clock, nows_s), nows_s, strict=True)
    ]
    assert max(map(abs, errors_s)) < 0.0002


def test_gap_in_the_sound_is_taken_over_after_settling():
    clock = settled()
    after = run(clock, even(20, 12.0))
    assert after[:SETTLED_BLOCKS] == [None] * SETTLED_BLOCKS
    assert after[SETTLED_BLOCKS:] == [round((12.0 + k * BLOCK_S + DELAY_S) * RATE_HZ) for k in range(5, 20)]


def test_small_shift_is_taken_over_within_the_window():
    clock = settled()
    after = run(clock, even(WINDOW_BLOCKS + 1, 10.03))
    assert after[-1] == round((10.03 + WINDOW_BLOCKS * BLOCK_S + DELAY_S) * RATE_HZ)


def test_shift_after_a_gap_is_taken_over_at_once():
    dated = settled().date(now_s=10.03, delay_s=DELAY_S, n_frames=FRAMES, has_gap=True)
    assert dated == round((10.03 + DELAY_S) * RATE_HZ)


def test_shift_to_earlier_is_taken_over_at_once():
    assert run(settled(), [9.98]) == [round((9.98 + DELAY_S) * RATE_HZ)]
