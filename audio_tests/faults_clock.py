"""Faults of time: a wall clock that is set, a machine that sleeps, a process that is stopped.

The first two on fake clocks with the coach's own loop, queue and session; the last with a process of its own.
"""

from __future__ import annotations

import json
import os
import queue
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from audio_tests.fault_trials import Chance, Trial
from coach.cockpit import Inbox, LiveWorld, SessionClock, fly
from coach.drill.plan import plan_drill
from coach.session.actions import Action, Finish, Record, Say
from coach.session.events import Event, HeldUp, PhraseHeard
from coach.session.machine import Session
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases

WORDS = {60.0: "station passage", 225.0: "needle alive", 270.0: "established", 374.0: "station passage"}
"""What the pilot presses, and when: one spoke."""

SILENT = ((1.0, 58.0), (61.0, 223.0), (226.0, 268.0), (271.0, 372.0))
"""Between two of them; a pilot presses nothing while the machine sleeps."""

LONGEST_S = 3600.0


class FakeTime:
    """A monotonic clock that stands still in a sleep, one that runs on, and a wall clock that may be set."""

    def __init__(self) -> None:
        self.monotonic_s, self.boot_s, self.wall_s = 1000.0, 5000.0, 1.9e9

    def pass_by(self, seconds: float) -> None:
        self.monotonic_s += seconds
        self.boot_s += seconds
        self.wall_s += seconds

    def sleep(self, seconds: float) -> None:
        """The machine is suspended."""
        self.boot_s += seconds
        self.wall_s += seconds


class FakeQueue(queue.Queue):  # type: ignore[type-arg]
    """Waits by the fake monotonic clock; the pilot presses his keys, and the fault comes, by the true one."""

    def __init__(self, fake: FakeTime, fault_s: float, sleeps_s: float, steps_wall_s: float) -> None:
        super().__init__()
        self._fake, self._began_s = fake, fake.boot_s
        self._fault_s: float | None = fault_s
        self._sleeps_s, self._steps_wall_s = sleeps_s, steps_wall_s
        self._words = dict(sorted(WORDS.items()))

    def get(self, block: bool = True, timeout: float | None = None) -> Event:
        assert self._fake.boot_s - self._began_s < LONGEST_S, "the drill does not end"
        left_s = timeout or 0.0
        while left_s > 1e-9:
            step_s = min(left_s, 0.1)
            self._fake.pass_by(step_s)
            left_s -= step_s
            self._break()
            if (word := self._find_word()) is not None:
                return word
        raise queue.Empty

    def _break(self) -> None:
        if self._fault_s is not None and self._fake.boot_s - self._began_s >= self._fault_s:
            self._fault_s = None
            self._fake.sleep(self._sleeps_s)
            self._fake.wall_s += self._steps_wall_s

    def _find_word(self) -> Event | None:
        at_s = self._fake.boot_s - self._began_s
        due_s = min(self._words, default=None)
        if due_s is None or due_s > at_s:
            return None
        return PhraseHeard(at_s=at_s, onset_s=due_s, phrase=self._words.pop(due_s), by="key")


class Kept:
    """Takes the flight down."""

    def __init__(self) -> None:
        self.steps: list[tuple[Event, tuple[Action, ...]]] = []

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        self.steps.append((event, actions))

    def actions(self, kind: type) -> list[tuple[float, Action]]:
        return [
            (event.at_s, action)
            for event, actions in self.steps
            for action in actions
            if isinstance(action, kind)
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Flown:
    records: list[tuple[str, float]]
    calls: dict[str, float]
    held_up: list[HeldUp]
    is_over: bool


def _fly(*, fault_s: float, sleeps_s: float = 0.0, steps_wall_s: float = 0.0) -> _Flown:
    fake, kept = FakeTime(), Kept()
    clock = SessionClock(lambda: fake.boot_s)
    inbox = Inbox(clock.now_s)
    inbox._facts = FakeQueue(fake, fault_s, sleeps_s, steps_wall_s)
    before, time.time = time.time, lambda: fake.wall_s
    try:
        session = Session(plan_drill(read_drill("eight-spoke", {"spokes": "1"})), read_phrases())
        fly(session, LiveWorld(clock, inbox, []), kept)
    finally:
        time.time = before
    says = [action for _, action in kept.actions(Say)]
    return _Flown(
        records=[(action.what, action.onset_s) for _, action in kept.actions(Record)],  # type: ignore[attr-defined]
        calls={say.text: say.due_s for say in says if say.due_s is not None},  # type: ignore[attr-defined]
        held_up=[event for event, _ in kept.steps if isinstance(event, HeldUp)],
        is_over=bool(kept.actions(Finish)),
    )


def try_set_wall_clock(times: int, chance: Chance) -> Iterator[Trial]:
    """The wall clock set by an hour, forward or back: nothing at all may change."""
    whole = _fly(fault_s=1e9)
    for n in range(times):
        flown = _fly(fault_s=chance.uniform(1.0, 380.0), steps_wall_s=(3600.0, -3600.0)[n % 2])
        yield Trial(why="" if flown == whole else "the flight was another")


def try_sleeps(times: int, chance: Chance) -> Iterator[Trial]:
    """The machine asleep for a while: every leg begins when it should, and the sleep is told."""
    whole = _fly(fault_s=1e9)
    for _ in range(times):
        from_s, to_s = chance.choice(SILENT)
        fault_s, awake_s = sorted(chance.uniform(from_s, to_s) for _ in range(2))
        sleeps_s = max(1.0, awake_s - fault_s)
        yield _judge_sleep(_fly(fault_s=fault_s, sleeps_s=sleeps_s), whole, fault_s + sleeps_s)


def _judge_sleep(flown: _Flown, whole: _Flown, awake_s: float) -> Trial:
    told = [held for held in flown.held_up if abs(held.at_s - awake_s) < 1.0]
    timed = dict(whole.records)
    wrong = [what for what, at_s in flown.records if abs(at_s - timed.get(what, -1.0)) > 1e-6]
    problems = {
        "not told": not told,
        f"legs at another time: {wrong[:3]}": bool(wrong) or len(flown.records) != len(whole.records),
        "the drill did not end": not flown.is_over,
    }
    return Trial(
        why=", ".join(why for why, is_so in problems.items() if is_so),
        detected_s=told[0].at_s - awake_s if told else None,
    )


# ---- a process that is stopped

STOPPED_S = 5.0
CHILD = """
import json, sys, threading
import coach.flight
from audio_tests.fault_flight import LiveFlight
from coach.session.actions import Record
from coach.session.events import HeldUp

with LiveFlight(has_voice=False, probes=False) as flight:
    passage_s = flight.begin_leg()
    print("begun", flush=True)
    sys.stdin.readline()
    records = [(record.what, record.onset_s - passage_s) for record in flight.actions(Record)]
    held = [[event.onset_s - passage_s, event.at_s - passage_s] for event in flight.actions(HeldUp)]
    print(json.dumps({"records": records, "held": held, "lines": flight.watcher.lines}), flush=True)
"""


def try_stops(times: int, chance: Chance) -> Iterator[Trial]:
    """SIGSTOP for five seconds at a random moment of a timed leg, then SIGCONT."""
    moments = [chance.uniform(0.3, 10.5) for _ in range(times)]
    with ThreadPoolExecutor(4) as pool:
        yield from pool.map(_stop, moments)


def _stop(after_s: float) -> Trial:
    with tempfile.TemporaryDirectory(prefix="coach-faults-") as scratch:
        child = subprocess.Popen(
            [sys.executable, "-c", CHILD],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"XDG_DATA_HOME": scratch},
        )
        assert child.stdin
        assert child.stdout
        child.stdout.readline()
        time.sleep(after_s)
        child.send_signal(signal.SIGSTOP)
        time.sleep(STOPPED_S)
        child.send_signal(signal.SIGCONT)
        time.sleep(max(1.0, 12.5 - after_s - STOPPED_S))
        child.stdin.write("\n")
        child.stdin.flush()
        seen = json.loads(child.stdout.readline())
        child.communicate(timeout=20.0)
    return _judge_stop(seen, after_s)


def _judge_stop(seen: dict[str, list[list[float]]], after_s: float) -> Trial:
    told = [held for held in seen["held"] if held[1] - held[0] > STOPPED_S - 1.0]
    offset = next((at_s for what, at_s in seen["records"] if "offset" in str(what)), None)
    problems = {
        "not told": not told or not any("Stood still" in str(line) for line in seen["lines"]),
        f"the leg ended after {offset} s": offset is None or abs(offset - 10.0) > 0.001,
    }
    late_s = told[0][1] - after_s - STOPPED_S if told else None
    return Trial(why=", ".join(why for why, is_so in problems.items() if is_so), detected_s=late_s)
