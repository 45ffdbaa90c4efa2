"""A flight in real time, killed at random moments of a timed leg, and gone on with by another process.

What is checked is what `coach fly --resume` promises: the same leg, the time that passed known, and the call
that would have come, at its time.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

from audio_tests.fault_flight import LEG_S
from audio_tests.fault_trials import Chance, Trial

AT_ONCE = 4

CHILD = """
import json, sys
from audio_tests.fault_flight import LiveFlight
from coach.broken_off import find_broken_off
from coach.cockpit import steady_s
from coach.session.actions import Record, Say
from coach.store.journals import journals_folder

goes_on = sys.argv[1] == "resume"
broken_off = find_broken_off(journals_folder()) if goes_on else None
with LiveFlight(has_voice=False, probes=False, is_kept=True, broken_off=broken_off) as flight:
    zero_s = steady_s() - flight.clock()
    passage_s = None if goes_on else flight.begin_leg()
    print(json.dumps({"zero_s": zero_s, "now_s": flight.clock(), "passage_s": passage_s}), flush=True)
    sys.stdin.readline()
    says = [[say.text, say.due_s] for say in flight.actions(Say)]
    records = [[record.what, record.onset_s] for record in flight.actions(Record)]
    print(json.dumps({"says": says, "records": records, "lines": flight.watcher.lines}), flush=True)
"""


def try_resumed_flights(times: int, chance: Chance) -> Iterator[Trial]:
    """`kill -9` at a random moment of a ten-second leg, and the flight resumed at once."""
    moments = [chance.uniform(0.1, 11.0) for _ in range(times)]
    with ThreadPoolExecutor(AT_ONCE) as pool:
        yield from pool.map(_kill_and_resume, moments)


def _start(what: str, folder: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", CHILD, what],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"XDG_DATA_HOME": folder},
    )


def _kill_and_resume(after_s: float) -> Trial:
    with tempfile.TemporaryDirectory(prefix="coach-faults-") as folder:
        first = _start("begin", folder)
        assert first.stdout
        begun = json.loads(first.stdout.readline())
        time.sleep(after_s)
        first.kill()
        first.communicate()
        killed_s = time.monotonic()
        second = _start("resume", folder)
        assert second.stdin
        assert second.stdout
        resumed = json.loads(second.stdout.readline())
        back_s = time.monotonic() - killed_s
        time.sleep(max(0.5, begun["passage_s"] + LEG_S + 1.0 - resumed["now_s"]))
        second.stdin.write("\n")
        second.stdin.flush()
        seen = json.loads(second.stdout.readline())
        second.communicate(timeout=20.0)
    return _judge(begun, resumed, seen, back_s, after_s)


def _judge(begun: dict, resumed: dict, seen: dict, back_s: float, after_s: float) -> Trial:  # type: ignore[type-arg]
    due_s = begun["passage_s"] + LEG_S
    is_before = resumed["now_s"] < due_s - 0.2 and after_s < LEG_S - 1.1
    calls = [text for text, said_s in seen["says"] if said_s is not None and abs(said_s - due_s) < 0.005]
    offset = [at_s for what, at_s in seen["records"] if "offset" in what]
    problems = {
        "not told": not any(line.startswith("Resumed after") for line in seen["lines"]),
        f"the clock is off by {(resumed['zero_s'] - begun['zero_s']) * 1e3:.0f} ms": abs(
            resumed["zero_s"] - begun["zero_s"]
        )
        > 0.030,
        f"the next call: {seen['says']}": is_before and not calls,
        f"the next leg began at {offset}, not at {due_s}": after_s < LEG_S - 0.1
        and not any(abs(at_s - due_s) < 0.005 for at_s in offset),
    }
    return Trial(why=", ".join(why for why, is_so in problems.items() if is_so), recovered_s=back_s)
