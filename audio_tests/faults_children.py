"""The recogniser's process hung or crashed, the synthesiser's hung: the loop must not wait for either."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import coach.flight
from audio_tests.fault_flight import LiveFlight
from audio_tests.fault_trials import Chance, Trial
from coach.session.events import EdgeFailed, EdgeRecovered
from coach.voice.synthesis import Synthesiser

LATE_WITHIN_S = 0.050


def ear_trials(sign: signal.Signals) -> Callable[[int, Chance], Iterator[Trial]]:
    """The recogniser's process stopped (it hangs) or killed (it crashes)."""

    def tries(times: int, chance: Chance) -> Iterator[Trial]:
        with LiveFlight(has_ear=True) as flight:
            for _ in range(times):
                yield _break_ear(flight, sign, chance)

    return tries


def _break_ear(flight: LiveFlight, sign: signal.Signals, chance: Chance) -> Trial:
    flight.wait_for(lambda: find_ear(), 15.0, "an ear")
    time.sleep(2.0 + chance.uniform(0.0, 0.5))
    broken_s = flight.clock()
    os.kill(find_ear(), sign)
    told_s = flight.wait_fact(EdgeFailed, broken_s, "ear", 8.0)
    back_s = flight.wait_fact(EdgeRecovered, broken_s, "ear", 10.0)
    late_s = flight.late_s(broken_s)
    problems = {
        "not told": told_s is None,
        "not back": back_s is None,
        f"the loop was late by {late_s * 1e3:.0f} ms": late_s > LATE_WITHIN_S,
        "told more than once": flight.count(EdgeFailed, broken_s, "ear") > 1,
    }
    return Trial(
        why=", ".join(why for why, is_so in problems.items() if is_so),
        detected_s=None if told_s is None else told_s - broken_s,
        recovered_s=None if back_s is None or told_s is None else back_s - told_s,
    )


def find_ear() -> int:
    """The process id of this process's ear; 0: none."""
    tasks = Path(f"/proc/{os.getpid()}/task").glob("*/children")
    for child in (int(child) for task in tasks for child in task.read_text().split()):
        try:
            command = Path(f"/proc/{child}/cmdline").read_bytes()
        except OSError:
            continue
        if b"coach.voice.ear_child" in command:
            return child
    return 0


HANGS = """
import json, os, sys, time
request = json.loads(sys.stdin.readline())
if request["do"] == "describe":
    named = [{"name": f"x/en-{n}", "languages": ["en"]} for n in (1, 2)]
    print(json.dumps({"engine": "none 1", "voices": named, "variants": []}))
else:
    time.sleep(600)
"""
"""A speech process that says what voices it has and hangs on every word."""

HUNG_AFTER_S = 0.5
"""Its deadline here; 5 s in a flight. How late the loop is does not hang on it."""


def try_hung_voice(times: int, chance: Chance) -> Iterator[Trial]:
    """A synthesiser that hangs on each text: told once, and the screen has every call."""
    before = coach.flight.synthesiser_of
    child = (sys.executable, "-c", HANGS)
    coach.flight.synthesiser_of = lambda *_: Synthesiser("en-1", child=child, deadline_s=HUNG_AFTER_S)  # type: ignore[assignment]
    try:
        with LiveFlight() as flight:
            told_s = flight.wait_fact(EdgeFailed, 0.0, "voice", 20.0)
            for _ in range(times):
                yield _ask_hung_voice(flight, told_s, chance)
    finally:
        coach.flight.synthesiser_of = before


def _ask_hung_voice(flight: LiveFlight, told_s: float | None, chance: Chance) -> Trial:
    asked_s = flight.press("where now")
    time.sleep(2.0 * HUNG_AFTER_S + chance.uniform(0.2, 0.5))
    late_s = flight.late_s(asked_s)
    problems = {
        "not told": told_s is None,
        "told more than once": flight.count(EdgeFailed, 0.0, "voice") > 1,
        f"the loop was late by {late_s * 1e3:.0f} ms": late_s > LATE_WITHIN_S,
    }
    return Trial(why=", ".join(why for why, is_so in problems.items() if is_so), detected_s=told_s)
