"""Twelve hours of drills in one process: nothing grows, nothing is left over.

Drills by keys, with a feed on a socket and with a journal, one after the other on the simulated clock; with
`--spoken` by voice too, the ear and the voice being child processes. The process is
`python -m audio_tests.faults_long HOURS`.
"""

from __future__ import annotations

import gc
import json
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from audio_tests.fault_trials import Chance, Trial
from audio_tests.faults_feed import STATION
from coach.cli.rehearsed_journal import rehearsed_journal
from coach.drill.plan import plan_drill
from coach.rehearsal.rehearse import Conditions, rehearse
from coach.rehearsal.transmitter import FeedConditions
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases

GROWS_AT_MOST_MB = 5.0
FROM_HOUR = 2
"""By then everything is loaded and every cache is as full as it gets."""

HOUR_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What this process holds."""

    resident_mb: float
    threads: int
    files: int
    children: int
    scratch: int
    """What is in the folder for temporary files beside the journals."""


def look() -> Left:
    """What this process holds now."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    children = [
        line for task in Path("/proc/self/task").glob("*/children") for line in task.read_text().split()
    ]
    return Left(
        resident_mb=pages * os.sysconf("SC_PAGE_SIZE") / 1e6,
        threads=threading.active_count(),
        files=len(os.listdir("/proc/self/fd")),  # noqa: PTH208 (the folder changes while it is read)
        children=len(children),
        scratch=sum(path.suffix != ".jsonl" for path in Path(tempfile.gettempdir()).iterdir()),
    )


def fly_hours(hours: float, folder: Path, *, is_spoken: bool) -> Iterator[tuple[float, Left]]:
    """Drill after drill; what is held after each, and how many hours have been flown by then."""
    flown_s, n = 0.0, 0
    while flown_s < hours * HOUR_S:
        flown_s += _fly(n, folder, is_spoken=is_spoken and n % 2 == 0)
        n += 1
        yield flown_s / HOUR_S, look()


def _fly(n: int, folder: Path, *, is_spoken: bool) -> float:
    plan = plan_drill(read_drill("eight-spoke", {"spokes": "2"} if is_spoken else {}))
    feed = FeedConditions(form=("nmea", "gdl90")[n % 8 == 1]) if n % 4 == 1 and not is_spoken else None  # type: ignore[arg-type]
    options = _Options(str(folder))
    with rehearsed_journal(options, plan, lambda _line: None) as journal:  # type: ignore[arg-type]
        flown = rehearse(
            plan,
            Conditions(
                table=read_phrases(), seed=n, typed=not is_spoken, feed=feed, station=STATION, journal=journal
            ),
        )
    return flown.simulated_s


class _Options:
    resume = False

    def __init__(self, journal: str) -> None:
        self.journal = journal


def run(hours: float, *, is_spoken: bool) -> dict[str, object]:
    """Fly so long; what was held after hour `FROM_HOUR` at most, and at the end."""
    with tempfile.TemporaryDirectory(prefix="coach-faults-") as folder:
        tempfile.tempdir = folder  # what this process leaves behind is told from what others do
        held = list(fly_hours(hours, Path(folder), is_spoken=is_spoken))
        after = [left for at_h, left in held if at_h >= min(FROM_HOUR, hours / 2)]
    first, last = after[0], after[-1]
    return {
        "drills": len(held),
        "hours": held[-1][0],
        "resident_mb": [left.resident_mb for _, left in held],
        "grown_mb": max(left.resident_mb for left in after) - first.resident_mb,
        "left_over": {
            name: getattr(last, name) - getattr(first, name)
            for name in ("threads", "files", "children", "scratch")
            if getattr(last, name) != getattr(first, name)
        },
    }


def long_trials(hours: float, *, is_spoken: bool):  # type: ignore[no-untyped-def]
    """One long session in a process of its own."""

    def tries(times: int, _chance: Chance) -> Iterator[Trial]:
        for _ in range(times):
            command = [
                sys.executable,
                "-m",
                "audio_tests.faults_long",
                f"{hours}",
                *(["--spoken"] * is_spoken),
            ]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            if done.returncode:
                yield Trial(why=f"the process ended with {done.returncode}: {done.stderr[-300:]}")
                continue
            seen = json.loads(done.stdout)
            problems = {
                f"resident memory grew by {seen['grown_mb']:.1f} MB": seen["grown_mb"] > GROWS_AT_MOST_MB,
                f"left over: {seen['left_over']}": bool(seen["left_over"]),
            }
            note = f"{seen['hours']:.1f} hours, {seen['drills']} drills, grew {seen['grown_mb']:.1f} MB"
            yield Trial(why=", ".join(why for why, is_so in problems.items() if is_so), note=note)

    return tries


if __name__ == "__main__":
    print(json.dumps(run(float(sys.argv[1]), is_spoken="--spoken" in sys.argv)))
