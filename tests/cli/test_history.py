"""`coach history` from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coach.cli import main
from coach.store.history import keep_session
from tests.debrief.test_history import session


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "data" / "history.sqlite"
    monkeypatch.setattr("coach.cli.history.database_path", lambda: path)
    return path


@pytest.fixture
def three(kept: Path) -> Path:
    for day, share in enumerate((0.4, 0.6, 0.9)):
        keep_session(kept, session(day, share))
    return kept


def test_without_a_session_it_says_how_one_comes_in(kept: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["history"]) == 0
    assert capsys.readouterr().out.startswith("No session is in the history. `coach debrief` keeps")
    assert not kept.exists()


def test_the_trend_of_each_drill_is_told_with_its_spread(three: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["history"]) == 0
    out = capsys.readouterr().out
    assert "eight-spoke, 3 sessions, last 2026-01-03" in out
    assert "more often" in out
    assert "spread" in out
    assert "current" not in out


def test_json_has_every_session_and_trend(three: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["history", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["sessions"]) == 3
    assert told["trends"][0]["direction"] == "more often"


def test_an_export_is_written_and_a_picture_drawn(three: Path, tmp_path: Path):
    out, picture = tmp_path / "all.json", tmp_path / "all.svg"
    assert main(["history", "--export", str(out), "--picture", str(picture)]) == 0
    assert len(json.loads(out.read_text())["sessions"]) == 3
    assert picture.stat().st_size > 1000


def test_one_session_then_all_are_deleted(three: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["history", "--delete", "eight-spoke-1"]) == 0
    assert main(["history", "--delete", "all"]) == 0
    assert capsys.readouterr().out == (
        "1 session deleted from the history.\n2 sessions deleted from the history.\n"
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ["--delete", "eight-spoke-9"],
            "--delete: expected a session of the history, or all (nearest: 'eight-spoke-2'), "
            "got 'eight-spoke-9'",
        ),
        (
            ["eight-spokes"],
            "DRILL: expected a drill that is in the history (nearest: 'eight-spoke'), got 'eight-spokes'",
        ),
        (
            ["--skill", "turn begin"],
            "--skill: expected a skill that is in the history (nearest: 'turn begins'), got 'turn begin'",
        ),
        (["--picture", "x.pdf"], "--picture: expected a file name ending in .svg or .png, got 'x.pdf'"),
        (["--export", "no/x.json"], "--export: expected a file in a folder that exists, got 'no/x.json'"),
    ],
)
def test_what_is_not_there_is_one_line(
    arguments: list[str], message: str, three: Path, capsys: pytest.CaptureFixture[str]
):
    assert main(["history", *arguments]) == 2
    assert capsys.readouterr().err == f"coach: {message}\n"
