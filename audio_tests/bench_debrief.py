"""How long a debrief takes and how much memory, against bare gpxpy on the same file in the same run.

`python -m audio_tests.bench_debrief [--hours 1 10] [--json]`. The flight is the eight-spoke drill at 10 Hz,
flown again and again, with 2 m of noise in each fix; its journal is that of a session that coached it. Each
measurement runs in a process of its own; the times are the best of `--tries`. The budgets: 1.5 times gpxpy
and 1 s for an hour, no worse than linear for ten; 300 MB for an hour, 1.3 times gpxpy's own peak for ten.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

EVERY_S = 0.1
NOISE_NM = 2.0 / 1852.0
RATIO, AND_S = 1.5, 1.0
MOST_MB, PEAK_RATIO = 300.0, 1.3

BARE = """
import sys, time, resource
import gpxpy
with open(sys.argv[1]) as file:
    began = time.perf_counter()
    gpx = gpxpy.parse(file)
    took = time.perf_counter() - began
points = sum(len(s.points) for t in gpx.tracks for s in t.segments)
print(took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, points)
"""
OURS = """
import sys, time, resource
from pathlib import Path
from audio_tests.bench_debrief import plan_flown, session_flown
from coach.debrief.encoding import encode_debrief
from coach.debrief.make import debrief_session
from coach.nav.station import Station
from coach.store.tracks import read_track
hours = float(sys.argv[2])
plan = plan_flown()
session = session_flown(plan, hours)
began = time.perf_counter()
debrief = debrief_session(session, read_track(Path(sys.argv[1])), plan.drill.station)
encode_debrief(debrief)
took = time.perf_counter() - began
assert debrief.alignment is not None and debrief.legs and debrief.legs[0].marks, debrief.notes
print(took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, len(debrief.flight.track))
"""


def plan_flown():
    from coach.drill.plan import plan_drill
    from coach.store.drills import read_drill

    return plan_drill(read_drill("eight-spoke", {}), tas_kt=90)


def session_flown(plan, hours: float):
    """The journal of the first round; the later ones were flown without a coach."""
    from tests.debrief.flown_drill import begun_of, journal_of, session_of

    due = {planned.leg.n: planned.start_s for planned in plan.legs}
    begun = [(n, at_s) for n, at_s in begun_of(plan, due).items() if at_s < hours * 3600.0 - 60.0]
    return session_of(plan, journal_of(plan, begun, ended_s=min(plan.total_s, hours * 3600.0 - 30.0)))


def points(plan, hours: float) -> Iterator[str]:
    """The `trkpt` elements, one a tenth of a second."""
    from datetime import timedelta

    import numpy as np

    from coach.fixes.track import EPOCH
    from tests.debrief.flown import BEGAN_S

    chance = np.random.default_rng(1)
    pieces = [piece for planned in plan.legs for piece in planned.path]
    begun_s, i, n = 0.0, 0, round(hours * 3600.0 / EVERY_S)
    began = EPOCH + timedelta(seconds=BEGAN_S)
    for k in range(n):
        at_s = k * EVERY_S
        while at_s > begun_s + pieces[i].duration_s:
            begun_s += pieces[i].duration_s
            i = (i + 1) % len(pieces)
        aircraft = pieces[i].at(at_s - begun_s)
        east, north = chance.normal(0.0, NOISE_NM, 2).tolist()
        lat, lon = plan.drill.station.locate(aircraft.east_nm + east, aircraft.north_nm + north)
        utc = began + timedelta(seconds=at_s)
        yield (
            f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><ele>914.4</ele>'
            f"<time>{utc:%Y-%m-%dT%H:%M:%S}.{utc.microsecond // 1000:03d}Z</time></trkpt>\n"
        )


def write_gpx(path: Path, hours: float) -> None:
    with path.open("w") as file:
        file.write('<?xml version="1.0"?>\n<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">\n')
        file.write("<trk><trkseg>\n")
        file.writelines(points(plan_flown(), hours))
        file.write("</trkseg></trk></gpx>\n")


def measure(program: str, path: Path, hours: float, tries: int) -> tuple[float, float, int]:
    """Seconds (the best), megabytes at the peak (the worst) and fixes."""
    runs = []
    for _ in range(tries):
        command = [sys.executable, "-c", program, str(path), str(hours)]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        took, peak, many = done.stdout.split()
        runs.append((float(took), float(peak), int(many)))
    return min(run[0] for run in runs), max(run[1] for run in runs), runs[0][2]


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, nargs="+", default=[1.0, 10.0])
    parser.add_argument("--tries", type=int, default=3)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(argv)
    rows = []
    for hours in options.hours:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "flown.gpx"
            write_gpx(path, hours)
            tries = options.tries if hours <= 1.0 else 1
            bare_s, bare_mb, fixes = measure(BARE, path, hours, tries)
            ours_s, ours_mb, _ = measure(OURS, path, hours, tries)
        rows.append(
            {
                "hours": hours,
                "fixes": fixes,
                "gpxpy_s": round(bare_s, 2),
                "debrief_s": round(ours_s, 2),
                "ratio": round(ours_s / bare_s, 2),
                "within_time": ours_s <= RATIO * bare_s + AND_S,
                "gpxpy_mb": round(bare_mb),
                "debrief_mb": round(ours_mb),
                "within_memory": ours_mb <= (MOST_MB if hours <= 1.0 else PEAK_RATIO * bare_mb),
            }
        )
        if not options.json:
            print(rows[-1], flush=True)
    if options.json:
        print(json.dumps({"debriefs": rows}))
    return 0 if all(row["within_time"] and row["within_memory"] for row in rows) else 1


if __name__ == "__main__":
    began = time.monotonic()
    status = main()
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(
        f"{time.monotonic() - began:.0f} s in all, {used.ru_utime:.0f} s of them computing", file=sys.stderr
    )
    raise SystemExit(status)
