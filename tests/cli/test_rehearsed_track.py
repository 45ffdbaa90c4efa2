"""A rehearsal flown, its journal and its track written, both debriefed into a report and the history."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coach.cli import main

DRILL = ["eight-spoke", "--set", "spokes=1", "--wind", "250/15"]


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One spoke, the pilot pressing keys; no feed, so that the file is all that is known of the track."""
    folder = tmp_path_factory.mktemp("flown")
    files = ["--journal", str(folder), "--track", str(folder / "flown.gpx")]
    assert main(["rehearse", *DRILL, "--typed", "--station", "-40,-110,12", *files, "--json"]) == 0
    return folder


def debrief_arguments(flown: Path) -> list[str]:
    (journal,) = flown.glob("*.jsonl")
    return ["debrief", str(journal), "--track", str(flown / "flown.gpx"), "--station", "-40,-110,12"]


def test_journal_and_track_are_laid_beside_each_other(flown: Path, capsys: pytest.CaptureFixture[str]):
    capsys.readouterr()
    assert main([*debrief_arguments(flown), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert abs(told["alignment"]["offset_s"]) < 3.0
    assert {leg["how"] for leg in told["legs"]} == {"flown"}
    assert [leg["leg"] for leg in told["legs"]] == ["outbound", "offset", "reversal", "inbound"]


def test_the_report_shows_the_track_over_the_drill(flown: Path, tmp_path: Path):
    assert main([*debrief_arguments(flown), "--report", str(tmp_path / "r.html")]) == 0
    page = (tmp_path / "r.html").read_text()
    assert "Behind it, dashed, Eight spokes over a VOR as planned for wind 250/15" in page
    assert "Legs: turns and times" in page


def test_a_rehearsal_goes_into_the_history_only_where_that_is_asked_for(
    flown: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    path = tmp_path / "data" / "history.sqlite"
    for module in ("debrief", "history"):
        monkeypatch.setattr(f"coach.cli.{module}.database_path", lambda: path)
    assert main(debrief_arguments(flown)) == 0
    assert not path.exists()
    assert main([*debrief_arguments(flown), "--keep"]) == 0
    assert "Kept in the history on this machine as " in capsys.readouterr().out
    assert main(["history"]) == 0
    assert capsys.readouterr().out.startswith("eight-spoke (rehearsed), 1 session, last ")


def test_a_rehearsal_is_no_line_of_a_logbook(flown: Path, capsys: pytest.CaptureFixture[str]):
    (journal,) = flown.glob("*.jsonl")
    capsys.readouterr()
    assert main(["logbook", "--add", str(journal)]) == 2
    assert capsys.readouterr().err == "coach: --add: expected a session that you flew, got a rehearsal\n"


def test_a_track_needs_a_station(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["rehearse", "timed-turns", "--typed", "--track", str(tmp_path / "a.gpx")]) == 2
    assert capsys.readouterr().err.startswith(
        "coach: --station: expected LAT,LON,DECLINATION, since the drill"
    )
