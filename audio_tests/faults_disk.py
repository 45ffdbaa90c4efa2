"""A disk that is full, read-only or slow while a drill is flown in real time on the virtual sound card.

Times of calls are those that the speaker reports, which `test_speaker` compares with the recorded sound.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor

from audio_tests.fault_flight import LEG_S, LiveFlight
from audio_tests.fault_trials import Chance, Trial
from coach.session.events import EdgeFailed, EdgeRecovered, Event
from coach.session.journal import parse_journal, split_lines

CALL_WITHIN_S = 0.030

AT_ONCE = 5
"""Flights at the same time: most of each is waiting."""


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
