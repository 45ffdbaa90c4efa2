"""`coach logbook` from the command line."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from coach.cli import main

ADD = [
    "logbook",
    "--add",
    "--date",
    "2026-09-15",
    "--place",
    "Nowhere to Nowhere",
    "--aircraft",
    "single-engine, N0NE",
    "--conditions",
    "view-limited",
    "--safety-pilot",
    "Somebody",
    "--task",
    "tracking",
]


@pytest.fixture(autouse=True)
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "data" / "history.sqlite"
    monkeypatch.setattr("coach.cli.logbook.database_path", lambda: path)
    monkeypatch.setattr("coach.cli.logbook.today", lambda: date(2026, 9, 20))
    return path


def test_an_empty_logbook_counts_nothing_and_sends_to_the_instructor(capsys: pytest.CaptureFixture[str]):
    assert main(["logbook"]) == 0
    out = capsys.readouterr().out
    assert "of the entries since 2026-03-01 none count on 2026-09-20." in out
    assert "Check with your instructor and the rule in force." in out
    assert "current" not in out


def test_a_line_is_added_and_listed(capsys: pytest.CaptureFixture[str]):
    assert main([*ADD, "--simulated", "0.7", "--total", "1.2", "--approach", "Nowhere, VOR"]) == 0
    added = capsys.readouterr().out
    assert added.startswith("Line 1 is in the logbook on this machine. Enter it in your own logbook too.")
    assert "of the entries since 2026-03-01 1 counts on 2026-09-20, the latest through 2027-03-31." in added
    assert main(["logbook", "--json"]) == 0
    (entry,) = json.loads(capsys.readouterr().out)["entries"]
    assert (entry["simulated_h"], entry["safety_pilot"]) == (0.7, "Somebody")
    assert entry["tasks"] == ["intercepting and tracking"]


@pytest.mark.parametrize(("day", "count"), [("2027-03-31", 1), ("2027-04-01", 0), ("2026-09-14", 0)])
def test_a_line_counts_to_the_end_of_the_sixth_month(
    day: str, count: int, capsys: pytest.CaptureFixture[str]
):
    main([*ADD, "--json"])
    capsys.readouterr()
    assert main(["logbook", "--on", day, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["standing"]["counted"] == count


def test_a_home_simulator_is_listed_and_not_counted(capsys: pytest.CaptureFixture[str]):
    home = [*ADD[:9], "home", "--task", "tracking"]
    assert main(home) == 0
    assert "none count" in capsys.readouterr().out
    assert main(["logbook"]) == 0
    said = capsys.readouterr().out
    assert "- not counted: 2026-09-15, Nowhere to Nowhere: a simulator that is not approved" in said


def test_everything_that_is_missing_is_told_at_once(capsys: pytest.CaptureFixture[str]):
    assert main(["logbook", "--add"]) == 2
    assert capsys.readouterr().err == (
        "coach: --date: expected a day such as 2026-09-20, not in the future (UTC), got none\n"
        "coach: --conditions: expected one of visual, actual, view-limited, ffs, ftd, atd, home, as it was, "
        "got none\n"
        "coach: --place: expected departure and arrival (14 CFR 61.51(b)(1)), got none\n"
        "coach: --aircraft: expected type and identification (14 CFR 61.51(b)(1)), got none\n"
        "coach: --task: expected what was performed (tracking, holding), or a session in which it was, "
        "got none\n"
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            [*ADD[:10], "--task", "tracking"],
            "--safety-pilot: expected the safety pilot's name with a view-limiting",
        ),
        (
            [*ADD, "--date", "2026-09-21"],
            "--date: expected a day such as 2026-09-20, not in the future (UTC), got",
        ),
        ([*ADD, "--simulated", "some"], "--simulated: expected hours such as 0.7, got 'some'"),
        ([*ADD, "--task", "aerobatics"], "--task: expected tracking or holding, got 'aerobatics'"),
        (["logbook", "--place", "Nowhere"], "--place: expected --add with it, got none"),
        (["logbook", "--on", "tomorrow"], "--on: expected a day such as 2026-09-20, got 'tomorrow'"),
        (
            ["logbook", "--delete", "7"],
            "--delete: expected the number of a line, as `coach logbook` shows it",
        ),
        (["logbook", "--add", "no.jsonl"], "no.jsonl: expected a journal, got no such file"),
    ],
)
def test_what_cannot_stand_is_one_line_and_nothing_is_kept(
    arguments: list[str], message: str, kept: Path, capsys: pytest.CaptureFixture[str]
):
    assert main(arguments) == 2
    err = capsys.readouterr().err
    assert err.startswith(f"coach: {message}")
    assert err.count("\n") == 1
    assert not kept.exists()


def test_a_line_is_deleted_by_its_number(capsys: pytest.CaptureFixture[str]):
    main(ADD)
    assert main(["logbook", "--delete", "1"]) == 0
    assert capsys.readouterr().out.endswith("Line 1 is deleted.\n")
