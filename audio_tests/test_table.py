"""The table's bookkeeping and the thresholds' fit, on made-up counts: nothing is heard here."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from audio_tests import table
from audio_tests.score_trials import Clip, Outcome
from audio_tests.table import Job, count, list_jobs, read_results, write_results
from audio_tests.table_clips import CLEAN, OUTSIDE, Measure, is_in_first_half
from audio_tests.table_report import render_share, render_table
from audio_tests.thresholds_fit import Row, choose_line, fit_weights
from audio_tests.thresholds_fit import count as count_rows

WAYS = (("next", "next leg"), ("stand by", "stand by"))


def make_outcome(words: str, heard: tuple[str, ...], kind: str = "accept", speaker: str = "a") -> Outcome:
    clip = Clip(path=Path("x.wav"), words=words, speaker=speaker, kind=kind)  # type: ignore[arg-type]
    return Outcome(
        clip=clip,
        seed=0,
        heard=heard,
        reason="" if heard else "no phrase fits",
        score=None,
        latency_ms=200.0 if heard else None,
        clip_s=1.8,
        band_snr_db=None,
    )


def make_measure(name: str, *, turns: bool = False) -> Measure:
    cabins = ((CLEAN, None), (OUTSIDE, 10.0), (OUTSIDE, 0.0))
    return Measure(name=name, ways=WAYS, clips=(), cabins=cabins, turns=turns)


def test_right_wrong_and_missed_are_all_trials() -> None:
    outcomes = [
        make_outcome("next", ("next leg",)),
        make_outcome("next", ("stand by",)),
        make_outcome("next", ("next leg", "stand by")),
        make_outcome("stand by", ()),
        make_outcome("bed", ("next leg",), kind="reject"),
        make_outcome("bird", (), kind="reject"),
    ]
    counts = count(WAYS, outcomes)
    assert (counts["trials"], counts["right"], counts["wrong"], counts["missed"]) == (4, 1, 2, 1)
    assert (counts["rejects"], counts["accepted"], counts["speech_s"]) == (2, 1, 3.6)
    assert counts["confused"]["bed > next leg"] == 1
    assert counts["latencies_ms"] == [200]


def test_first_seed_of_everything_comes_before_the_second_of_anything() -> None:
    jobs = list(list_jobs((make_measure("a"), make_measure("b", turns=True)), 2))
    assert [job.seed for job in jobs] == [0] * 4 + [1] * 4
    assert len({job.key for job in jobs}) == 8
    assert [job.snr_db for job in jobs if job.measure.name == "b"] == [None, 10.0]


def test_shares_of_the_clips_are_together_all_of_them() -> None:
    clips = tuple(make_outcome(f"word {n}", ()).clip for n in range(10))
    jobs = list_jobs((replace(make_measure("a"), clips=clips, cabins=((CLEAN, None),)),), 3, every=3)
    heard = [clip.words for job in jobs for clip in job.clips]
    assert sorted(heard) == sorted(clip.words for clip in clips)


def test_run_that_was_stopped_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class FakeEar:
        name = "made-up ear"

        def __init__(self, *_: object, **__: object) -> None: ...
        def start(self) -> None: ...
        def close(self) -> None: ...

    done: list[str] = []

    def run_job(_ear: object, job: Job) -> dict[str, object]:
        if len(done) == 2:
            raise KeyboardInterrupt
        done.append(job.key)
        halves = {
            name: count(WAYS, [make_outcome("next", ("next leg",))]) for name in ("chosen on", "others")
        }
        cabin = {"noise": job.noise, "snr_db": job.snr_db, "band_snr_db": 1.0}
        return {"measure": "a", **cabin, "seed": job.seed, "halves": halves, "rtf": 0.1, "wall_s": 1.0}

    monkeypatch.setattr(table, "EarProcess", FakeEar)
    monkeypatch.setattr(table, "find_measures", lambda *_: (make_measure("a"),))
    monkeypatch.setattr(table, "run_job", run_job)
    results = tmp_path / "t.json"
    arguments = ["--seeds", "1", "--results", str(results), "--clips", str(tmp_path)]
    with pytest.raises(KeyboardInterrupt):
        table.main(arguments)
    assert len(read_results(results)) == 2
    first, done[:] = list(done), []
    assert table.main(arguments) == 0
    assert len(done) == 1
    assert not set(done) & set(first)


def test_results_are_read_back_as_written(tmp_path: Path) -> None:
    jobs = {"a": {"measure": "a", "seed": 0}}
    write_results(tmp_path / "t.json", "ear", jobs)
    assert read_results(tmp_path / "t.json") == jobs
    assert json.loads((tmp_path / "t.json").read_text())["engine"] == "ear"
    assert read_results(tmp_path / "none.json") == {}


def test_share_names_its_bound_and_its_trials() -> None:
    assert render_share(99, 100) == "99.0 % (94.5-99.8; 99 of 100)"
    assert render_share(0, 0) == "no trials"


def test_report_tells_speakers_apart_and_counts_by_the_hour() -> None:
    right = count(WAYS, [make_outcome("next", ("next leg",))])
    missed = count(WAYS, [make_outcome("next", ())])
    accepted = count(WAYS, [make_outcome("bed", ("next leg",), kind="reject")] * 2)
    nothing = count(WAYS, [])
    cabin = {"noise": OUTSIDE, "snr_db": 10.0, "band_snr_db": 21.0, "seed": 0, "rtf": 0.1}
    jobs = [
        {"measure": "words", "halves": {"chosen on": right, "others": missed}, **cabin},
        {"measure": "talk", "halves": {"chosen on": accepted, "others": nothing}, **cabin},
    ]
    text = render_table("made-up ear", jobs)
    assert "| words | outside, 10 dB (21 dB in the voice's band) | 1 | 50.0 %" in text
    assert "0.0 % (0.0-79.3; 0 of 1) |" in text
    assert "talk, all cabins: 2 false accepts, 2000.00 in 0.00 h" in text
    assert "bed > next leg 2" in text


def make_row(n: int, *, fit: float, is_command: bool) -> Row:
    return {
        "source": "made up",
        "speaker": f"s{n}",
        "words": "next",
        "noise": "own",
        "snr_db": "none",
        "is_command": is_command,
        "is_right": is_command,
        "way": "next",
        "fit": fit,
        "end": -0.1,
        "prior": -10.0 + n % 3,
        "voice_s": 0.5,
        "usual_s": 0.54,
        "margin": 3.0,
    }


def test_line_lets_the_wanted_share_through() -> None:
    rows = [make_row(n, fit=-float(n), is_command=False) for n in range(100)]
    scores = np.array([row["fit"] for row in rows])
    line = choose_line(rows, scores, 0.05)
    assert count_rows(rows, scores, line)["accepted"] == 5


def test_fit_finds_what_tells_commands_from_others() -> None:
    random = np.random.default_rng(1)
    rows = []
    for n in range(400):
        is_command = n % 2 == 0
        row = make_row(n, fit=float(random.normal(-2 if is_command else -5)), is_command=is_command)
        rows.append({**row, "end": float(random.normal(-0.5 if is_command else -1.5, 0.5))})
    weights = fit_weights(rows)
    assert weights[0] == 1.0
    assert weights[1] > 0.5
    assert abs(weights[2]) < 0.5


def test_speakers_fall_into_two_halves() -> None:
    halves = [is_in_first_half(f"speaker {n}") for n in range(400)]
    assert 150 < sum(halves) < 250
