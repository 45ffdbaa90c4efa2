"""The fault bench: `python -m audio_tests.faults [--short] [--only WORD] [--times N] [--seed N] [--json]`.

Tries every fault of the table and prints what held, what was lost, and the longest time until it was told and
until it was well again. Exits 1 where something did not hold. The whole of it takes some hours of waiting,
nearly all of it real time on the virtual sound card; `--short` is what CI runs.
"""

from __future__ import annotations

import argparse
import json
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import asdict, replace
from typing import TextIO

from audio_tests.fault_trials import Fault, Outcome, try_fault
from audio_tests.faults_children import ear_trials, try_hung_voice
from audio_tests.faults_clock import try_set_wall_clock, try_sleeps, try_stops
from audio_tests.faults_devices import device_trials
from audio_tests.faults_disk import disk_trials
from audio_tests.faults_feed import FEED_BREAKS, feed_trials
from audio_tests.faults_input import TIMES, input_trials
from audio_tests.faults_journal import try_foreign, try_kills, try_power_losses
from audio_tests.faults_long import long_trials
from audio_tests.faults_quiet import quiet_trials
from audio_tests.faults_resume import try_resumed_flights
from audio_tests.soundcard import SoundCard, find_lack, sound_card
from coach.cli.native_output import native_output_aside


def find_faults(card_of: Callable[[], SoundCard]) -> tuple[Fault, ...]:
    """The whole table; `card_of` gives the virtual sound card once it has been started."""
    with_card = (replace(fault, needs_card=True) for fault in _with_card(card_of))
    return (*_without_card(), *with_card)


def _without_card() -> Iterator[Fault]:
    yield Fault(name="kill -9 of a typed rehearsal", tries=try_kills, times=500, short_times=3)
    yield Fault(name="kill -9 of a flight", tries=try_resumed_flights, times=50, short_times=0)
    yield Fault(name="power lost at any write or fsync", tries=try_power_losses, times=2, short_times=1)
    yield Fault(name="journals that are not ours", tries=try_foreign, times=1, short_times=1)

    for name, breaks in FEED_BREAKS.items():
        yield Fault(name=f"feed {name}", tries=feed_trials(breaks), times=50, short_times=1)
    yield Fault(name="wall clock set by an hour", tries=try_set_wall_clock, times=50, short_times=6)
    yield Fault(name="machine suspended", tries=try_sleeps, times=50, short_times=20)
    yield Fault(name="process stopped for 5 s", tries=try_stops, times=50, short_times=0)
    for name, times in TIMES.items():
        yield Fault(name=f"mutated input: {name}", tries=input_trials(name), times=times, short_times=200)
    yield Fault(name="12 hours of drills", tries=long_trials(12.0, is_spoken=True), times=1, short_times=0)


def _with_card(card_of: Callable[[], SoundCard]) -> Iterator[Fault]:
    for kind in ("full", "read-only", "slow"):
        yield Fault(name=f"disk {kind}", tries=disk_trials(kind), times=50, short_times=0)
    for edge in ("microphone", "speaker"):
        yield Fault(name=f"{edge} removed", tries=device_trials(card_of, edge), times=50, short_times=0)
    yield Fault(name="recogniser hung", tries=ear_trials(signal.SIGSTOP), times=50, short_times=0)
    yield Fault(name="recogniser crashed", tries=ear_trials(signal.SIGKILL), times=50, short_times=0)
    yield Fault(name="synthesiser hung", tries=try_hung_voice, times=50, short_times=0)
    for fault in ("ear hung", "ear crashed", "disk full", "disk read-only", "disk slow"):
        yield Fault(name=f"quiet with the {fault}", tries=quiet_trials(fault), times=50, short_times=0)


def main() -> int:
    """Run the bench."""
    options = _parse()
    with ExitStack() as stack:
        told = stack.enter_context(native_output_aside()) if options.json else sys.stdout
        if not options.json:
            stack.enter_context(native_output_aside())
        cards: list[SoundCard] = []
        chosen = [(fault, _times(fault, options)) for fault in find_faults(lambda: cards[0])]
        chosen = [(fault, times) for fault, times in chosen if times and options.only in fault.name]
        if any(fault.needs_card for fault, _ in chosen):
            if (lack := find_lack()) is not None:
                print(f"no virtual sound card: {lack}", file=told)
                return 3
            cards.append(stack.enter_context(sound_card()))
        print(HEAD, file=told, flush=True)
        outcomes = [_try(fault, times, options.seed, told) for fault, times in chosen]
    if options.json:
        kept = ("fault", "tried", "held", "lost", "detected_s", "recovered_s")
        rows = [{name: value for name, value in asdict(row).items() if name in kept} for row in outcomes]
        print(json.dumps({"faults": rows}, indent=1))
    return int(any(row.held < row.tried for row in outcomes))


def _times(fault: Fault, options: argparse.Namespace) -> int:
    return int(fault.short_times if options.short else options.times or fault.times)


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m audio_tests.faults", description=__doc__)
    parser.add_argument("--short", action="store_true", help="a few of each that need no waiting")
    parser.add_argument("--only", default="", metavar="WORD", help="only faults with this in their name")
    parser.add_argument("--times", type=int, default=0, metavar="N", help="try each so often")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--json", action="store_true")
    return parser.parse_args()


HEAD = f"{'fault':36} {'tried':>8} {'held':>8} {'lost':>5} {'told in':>8} {'back in':>8} {'took':>7}"


def _try(fault: Fault, times: int, seed: int, told: TextIO) -> Outcome:
    began_s = time.monotonic()
    outcome = try_fault(fault, times, seed)
    print(_row(outcome, time.monotonic() - began_s), file=told, flush=True)
    for line in (*outcome.notes, *outcome.why[:10]):
        print(f"    {line}", file=told, flush=True)
    return outcome


def _row(outcome: Outcome, took_s: float) -> str:
    def shown(time_s: float | None) -> str:
        return "-" if time_s is None else f"{time_s:.2f} s"

    return (
        f"{outcome.fault:36} {outcome.tried:8d} {outcome.held:8d} {outcome.lost:5d} "
        f"{shown(outcome.detected_s):>8} {shown(outcome.recovered_s):>8} {took_s:5.0f} s"
    )


if __name__ == "__main__":
    sys.exit(main())
