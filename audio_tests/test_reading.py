"""What is sounded on the ground, by the commands themselves, on the virtual sound card."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator

import numpy as np
import pytest

from audio_tests.soundcard import HEADSET, RATE_HZ, Monitor, SoundCard
from coach.nav.morse import encode_morse
from coach.voice.morse_tone import PITCH_HZ, render_morse

COACH = (sys.executable, "-m", "coach")
LOUD = 100
FIRST_SOUND_WITHIN_S = 20.0
"""The command starts, renders its first sentence and opens the card."""

STOPS_WITHIN_S = 1.0


@pytest.fixture
def monitor(card: SoundCard) -> Iterator[Monitor]:
    with Monitor(HEADSET) as monitor:
        yield monitor


def wait_until_loud(monitor: Monitor) -> None:
    give_up_s = time.monotonic() + FIRST_SOUND_WITHIN_S
    while time.monotonic() < give_up_s:
        if np.any(np.abs(monitor.sound[-RATE_HZ:].astype(int)) > LOUD):
            return
        time.sleep(0.05)
    raise AssertionError("nothing was heard")


def test_an_ident_is_announced_and_keyed_at_600_hertz(card: SoundCard, monitor: Monitor) -> None:
    # V37: T-E lasts a dash, three gaps and a dot: 1.2 s at 7 words a minute (computed).
    subprocess.run([*COACH, "station", "morse", "TE"], check=True, timeout=60.0, capture_output=True)
    time.sleep(0.3)
    loud = np.flatnonzero(np.abs(monitor.sound.astype(int)) > LOUD)
    keyed = render_morse(encode_morse("TE")).size
    sample = monitor.sound[loud[-1] + 1 - keyed : loud[-1] + 1].astype(float)
    power = np.abs(np.fft.rfft(sample)) ** 2
    hertz = np.fft.rfftfreq(sample.size, 1 / RATE_HZ)
    assert hertz[np.argmax(power)] == pytest.approx(PITCH_HZ, abs=3)
    near = power[np.abs(hertz - PITCH_HZ) < 60].sum() / power.sum()
    print(f"\n{near:.1%} of the power within 60 Hz of {PITCH_HZ:g} Hz")
    assert near > 0.95
    announced = monitor.sound[: loud[-1] + 1 - keyed]
    assert np.any(np.abs(announced.astype(int)) > LOUD), "it was not announced"


def test_a_briefing_is_read_and_an_interrupt_ends_it(card: SoundCard, monitor: Monitor) -> None:
    reading = subprocess.Popen(
        [*COACH, "brief", "eight-spoke", "--set", "spokes=1", "--aloud"],
        env=dict(os.environ),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        wait_until_loud(monitor)
        time.sleep(3.0)
        assert reading.poll() is None, "it ended by itself"
        interrupted_s = time.monotonic()
        reading.send_signal(signal.SIGINT)
        _, err = reading.communicate(timeout=10.0)
    finally:
        reading.kill()
    time.sleep(0.5)
    loud = np.flatnonzero(np.abs(monitor.sound.astype(int)) > LOUD)
    gone_after_s = float(monitor.times_s()[loud[-1]]) - interrupted_s
    print(f"\nlast sound {gone_after_s * 1e3:+.0f} ms after the interrupt")
    assert gone_after_s <= STOPS_WITHIN_S
    assert reading.returncode == 130
    assert err.splitlines()[-1] == "coach: interrupted"
