"""Faults of a flight in real time: its disk, its devices, its child processes; and quiet under each of them.

On the virtual sound card. Times of calls are those that the speaker reports, which `test_speaker` compares
with the recorded sound; silence is taken from the recorded sound itself.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

import coach.flight
from audio_tests.fault_flight import LEG_S, LiveFlight
from audio_tests.fault_trials import Chance, Trial
from audio_tests.soundcard import CABIN, HEADSET, Monitor, SoundCard
from coach.session.events import EdgeFailed, EdgeRecovered, Event
from coach.session.journal import parse_journal, split_lines
from coach.voice.synthesis import Synthesiser

CALL_WITHIN_S = 0.030
LATE_WITHIN_S = 0.050
TOLD_WITHIN_S = 2.0
BACK_WITHIN_S = 3.0
SILENT_WITHIN_S = 0.100

AT_ONCE = 5
"""Flights at the same time: most of each is waiting."""

SPARE = "spare"
"""A third sink, so that a stream has somewhere to go."""


# ---- the disk


def disk_trials(kind: str) -> Callable[[int, Chance], Iterator[Trial]]:
    """Flights whose disk goes bad at a random moment of a timed leg, and for half of them comes back."""

    def tries(times: int, chance: Chance) -> Iterator[Trial]:
        moments = [(chance.uniform(0.5, 5.0), chance.random() < 0.5) for _ in range(times)]
        with ThreadPoolExecutor(AT_ONCE) as pool:
            yield from pool.map(lambda moment: _fly_on_bad_disk(kind, *moment), moments)

    return tries


def _fly_on_bad_disk(kind: str, after_s: float, comes_back: bool) -> Trial:
    with LiveFlight() as flight:
        flight.wait_for(lambda: flight.find(EdgeFailed, 0.0) is None, 1.0, "a quiet start")
        time.sleep(2.0)
        passage_s = flight.begin_leg()
        time.sleep(after_s)
        bad_s = flight.clock()
        flight.disk.kind = kind
        told_s = flight.wait_fact(EdgeFailed, bad_s, "journal", 2.5)
        time.sleep(1.0)
        well_s = flight.clock()
        if comes_back:
            flight.disk.kind = None
        back_s = flight.wait_fact(EdgeRecovered, well_s, "journal", 3.0) if comes_back else None
        time.sleep(max(0.0, passage_s + LEG_S + 1.5 - flight.clock()))
    return _judge_disk(flight, passage_s, bad_s, told_s, well_s, back_s, comes_back=comes_back)


def _judge_disk(
    flight: LiveFlight,
    passage_s: float,
    bad_s: float,
    told_s: float | None,
    well_s: float,
    back_s: float | None,
    *,
    comes_back: bool,
) -> Trial:
    call = flight.find_call(passage_s)
    off_s = None if call is None else flight.find_call_off_s(call)
    lost = _count_lost(flight) if comes_back else 0
    times = {
        "detected_s": None if told_s is None else told_s - bad_s,
        "recovered_s": None if back_s is None else back_s - well_s,
        "lost": lost,
    }
    problems = {
        f"the flight ended: {flight.error!r}": flight.error is not None,
        "no time call": call is None,
        f"the time call {'did not sound' if off_s is None else f'was off by {off_s * 1e3:.0f} ms'}": off_s
        is None
        or abs(off_s) > CALL_WITHIN_S,
        "not told": told_s is None,
        "told more than once": flight.count(EdgeFailed, bad_s, "journal") > 1,
        "not told that it is back": comes_back and back_s is None,
        "events lost": lost > 0,
    }
    return Trial(why=", ".join(why for why, is_so in problems.items() if is_so), **times)  # type: ignore[arg-type]


def _count_lost(flight: LiveFlight) -> int:
    """Facts that the loop took and the journal of the disk that came back does not have."""
    steps = parse_journal(split_lines(flight.disk.file.after_kill())[0]).steps
    kept = {(type(event).__name__, event.at_s) for event, _ in steps}
    taken = [thing for _, thing in flight.watcher.seen if isinstance(thing, Event.__args__)]  # type: ignore[attr-defined]
    return sum((type(event).__name__, event.at_s) not in kept for event in taken[:-1])


# ---- devices


def device_trials(card: SoundCard, edge: str) -> Callable[[int, Chance], Iterator[Trial]]:
    """The microphone or the speaker removed and given back, in three ways by turns, beside timed legs."""

    def tries(times: int, chance: Chance) -> Iterator[Trial]:
        ways = (_Moved(card, edge), _OnlyOne(card, edge), _ServerStopped(card))
        with LiveFlight(has_ear=edge == "microphone", has_voice=True) as flight:
            flight.wait_for(lambda: flight.find(EdgeFailed, 0.0) is None, 1.0, "a quiet start")
            time.sleep(5.0)
            for n in range(times):
                yield _remove(flight, edge, ways[n % len(ways)], chance)

    return tries


def _remove(flight: LiveFlight, edge: str, way: _Way, chance: Chance) -> Trial:
    way.prepare()
    time.sleep(0.5)
    passage_s = flight.begin_leg()
    time.sleep(chance.uniform(0.2, 3.5))
    gone_s = flight.clock()
    way.take()
    told_s = flight.wait_fact(EdgeFailed, gone_s, edge, TOLD_WITHIN_S + 1.5)
    time.sleep(chance.uniform(0.2, 1.0))
    given_s = flight.clock()
    way.give_back()
    back_s = flight.wait_fact(EdgeRecovered, given_s, edge, BACK_WITHIN_S + 3.0)
    time.sleep(max(0.0, passage_s + LEG_S + 0.5 - flight.clock()))
    call = flight.find_call(passage_s)
    way.tidy()
    detected_s = None if told_s is None else told_s - gone_s
    recovered_s = None if back_s is None else back_s - given_s
    problems = {
        f"{way.name}: not told in time": detected_s is None or detected_s > TOLD_WITHIN_S,
        f"{way.name}: not back in time": recovered_s is None or recovered_s > BACK_WITHIN_S,
        f"{way.name}: no time call on the screen": call is None,
        f"{way.name}: told more than once": flight.count(EdgeFailed, gone_s, edge) > 1,
        f"{way.name}: the loop was late by {flight.late_s(gone_s) * 1e3:.0f} ms": flight.late_s(gone_s) > 0.2,
    }
    return Trial(
        why=", ".join(why for why, is_so in problems.items() if is_so),
        lost=call is None,
        detected_s=detected_s,
        recovered_s=recovered_s,
    )


class _Way:
    """A way for a device to go."""

    name = ""

    def __init__(self, card: SoundCard, edge: str = "") -> None:
        self.card = card
        self.sink = CABIN if edge == "microphone" else HEADSET
        self.edge = edge

    def prepare(self) -> None:
        """Before the leg."""

    def take(self) -> None:
        raise NotImplementedError

    def give_back(self) -> None:
        raise NotImplementedError

    def tidy(self) -> None:
        """After the leg."""


class _Moved(_Way):
    """Its sink is pulled out while others exist: the stream is moved without any sign."""

    name = "moved"

    def prepare(self) -> None:
        self.card.plug(SPARE)

    def take(self) -> None:
        self.card.unplug(self.sink)

    def give_back(self) -> None:
        self.card.plug(self.sink)
        self._make_default()

    def tidy(self) -> None:
        self.card.unplug(SPARE)

    def _make_default(self) -> None:
        if self.sink == CABIN:
            self.card.control("set-default-source", f"{CABIN}.monitor")
        else:
            self.card.control("set-default-sink", HEADSET)


class _OnlyOne(_Moved):
    """Every sink is pulled out: nothing is left to play on or to listen to."""

    name = "only one"

    def prepare(self) -> None:
        return

    def take(self) -> None:
        for sink in (HEADSET, CABIN) if self.sink == CABIN else (CABIN, HEADSET):
            self.card.unplug(sink)

    def give_back(self) -> None:
        for sink in (HEADSET, CABIN):
            self.card.plug(sink)
        self.card.control("set-default-sink", HEADSET)
        self.card.control("set-default-source", f"{CABIN}.monitor")

    def tidy(self) -> None:
        return


class _ServerStopped(_Way):
    """The sound server ends: the stream stays active for ever, and closing it blocks."""

    name = "server stopped"

    def take(self) -> None:
        self.card.stop()

    def give_back(self) -> None:
        self.card.start()


# ---- child processes


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


# ---- quiet


def quiet_trials(fault: str) -> Callable[[int, Chance], Iterator[Trial]]:
    """The mute key, "traffic" and "stand by" pressed while a prompt sounds, under a fault."""

    def tries(times: int, chance: Chance) -> Iterator[Trial]:
        with Monitor(HEADSET) as monitor, LiveFlight(has_ear=fault.startswith("ear")) as flight:
            time.sleep(4.0)
            hung = _begin(flight, fault)
            for n in range(times):
                yield _press_until_quiet(flight, monitor, ("mute", "traffic", "stand by")[n % 3], chance)
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


def _press_until_quiet(flight: LiveFlight, monitor: Monitor, phrase: str, chance: Chance) -> Trial:
    """Once more where the key was pressed in a pause between two prompts."""
    trials = (_press_quiet(flight, monitor, phrase, chance) for _ in range(4))
    return next((trial for trial in trials if trial.why != NOTHING), Trial(why=NOTHING))


def _press_quiet(flight: LiveFlight, monitor: Monitor, phrase: str, chance: Chance) -> Trial:
    flight.press("resume drill")
    time.sleep(1.0)
    flight.press("rejoin")
    time.sleep(chance.uniform(1.0, 1.8))
    pressed_s = flight.press(phrase)
    time.sleep(1.0)
    offset_s = time.monotonic() - flight.clock()
    times_s = monitor.times_s()[-3 * 48_000 :] - offset_s
    loud = np.flatnonzero(np.abs(monitor.sound[: len(monitor.times_s())][-3 * 48_000 :].astype(int)) > 3)
    loud = loud[loud < len(times_s)]
    before = times_s[loud][times_s[loud] < pressed_s]
    if not before.size or before[-1] < pressed_s - 0.3:
        return Trial(why=NOTHING)
    gone_s = float(times_s[loud[-1]]) - pressed_s
    why = f"{phrase}: sound gone after {gone_s * 1e3:.0f} ms" if gone_s > SILENT_WITHIN_S else ""
    return Trial(why=why, recovered_s=max(0.0, gone_s))
