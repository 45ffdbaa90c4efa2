"""Silence at once, under faults: from the key to the last sound in the recorded loudspeaker."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from audio_tests.fault_flight import LiveFlight
from audio_tests.fault_trials import Chance, Trial
from audio_tests.faults_children import find_ear
from audio_tests.soundcard import HEADSET, Monitor

SILENT_WITHIN_S = 0.100


def quiet_trials(fault: str) -> Callable[[int, Chance], Iterator[Trial]]:
    """The mute key, "traffic" and "stand by" pressed while a prompt sounds, under a fault."""

    def tries(times: int, chance: Chance) -> Iterator[Trial]:
        with LiveFlight(has_ear=fault.startswith("ear")) as flight:
            time.sleep(4.0)
            hung = _begin(flight, fault)
            for n in range(times):
                yield _press_until_quiet(flight, ("mute", "traffic", "stand by")[n % 3], chance)
                if fault == "ear crashed" or (fault == "ear hung" and not _is_stopped(hung)):
                    hung = _begin(flight, fault)
            flight.disk.kind = None

    return tries


def _begin(flight: LiveFlight, fault: str) -> int:
    if fault.startswith("disk"):
        flight.disk.kind = fault.removeprefix("disk ")
        time.sleep(1.5)
        return 0
    flight.wait_for(find_ear, 15.0, "an ear")
    time.sleep(1.0)
    hung = find_ear()
    os.kill(hung, signal.SIGSTOP if fault == "ear hung" else signal.SIGKILL)
    return hung


def _is_stopped(process: int) -> bool:
    """Whether the ear that hangs has not been replaced yet."""
    return Path(f"/proc/{process}").exists() and find_ear() == process


NOTHING = "nothing was sounding"


def _press_until_quiet(flight: LiveFlight, phrase: str, chance: Chance) -> Trial:
    """Once more where the key was pressed in a pause between two prompts."""
    trials = (_press_quiet(flight, phrase, chance) for _ in range(4))
    return next((trial for trial in trials if trial.why != NOTHING), Trial(why=NOTHING))


def _press_quiet(flight: LiveFlight, phrase: str, chance: Chance) -> Trial:
    flight.press("resume drill")
    with Monitor(HEADSET) as monitor:
        time.sleep(1.0)
        flight.press("rejoin")
        time.sleep(chance.uniform(1.0, 1.8))
        pressed_s = flight.press(phrase)
        time.sleep(1.0)
        times_s = monitor.times_s() - (time.monotonic() - flight.clock())
        loud = np.flatnonzero(np.abs(monitor.sound[: len(times_s)].astype(int)) > 3)
    before = times_s[loud][times_s[loud] < pressed_s]
    if not before.size or before[-1] < pressed_s - 0.3:
        return Trial(why=NOTHING)
    gone_s = float(times_s[loud[-1]]) - pressed_s
    why = f"{phrase}: sound gone after {gone_s * 1e3:.0f} ms" if gone_s > SILENT_WITHIN_S else ""
    return Trial(why=why, recovered_s=max(0.0, gone_s))
