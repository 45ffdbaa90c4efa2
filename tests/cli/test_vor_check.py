"""The check of a VOR receiver as a form."""

from __future__ import annotations

import json
from argparse import Namespace
from datetime import date
from pathlib import Path

import pytest

from coach.cli import main, vor_check
from coach.errors import SettingsError
from coach.nav.vor_check import Kind, VorCheck
from coach.store import vor_checks

TODAY = date(2026, 11, 25)
GROUND = {"kind": "ground", "place": "Nowhere", "bearing": "124,122", "signature": "N. N."}


@pytest.fixture(autouse=True)
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "vor-checks.jsonl"
    monkeypatch.setattr(vor_checks, "vor_checks_path", lambda: path)
    monkeypatch.setattr(vor_check, "today", lambda: TODAY)
    monkeypatch.setattr("coach.cli.output.console.width", 100)
    return path


def options(**given: str | bool) -> Namespace:
    none = dict.fromkeys(("kind", "place", "bearing", "signature", "error", "date"))
    return Namespace(**{**none, "json": False, "list": False, **given})


def parse(**given: str) -> VorCheck:
    return vor_check.parse_form({"error": None, "date": None, **GROUND, **given})


@pytest.mark.parametrize(
    ("given", "error_deg"),
    [
        ({}, 2),
        ({"bearing": "001,358"}, 3),
        ({"kind": "DUAL", "bearing": "358, 002"}, -4),
        ({"kind": "vot", "bearing": "002"}, 2),
        ({"kind": "vot", "bearing": "177"}, -3),
        ({"bearing": "", "error": "-2.5"}, -2.5),
    ],
)
def test_the_error_is_what_was_shown_less_what_was_right(given: dict[str, str], error_deg: float) -> None:
    assert parse(**given).error_deg == error_deg


def test_the_day_is_today_unless_given() -> None:
    assert parse().day == TODAY
    assert parse(date="2026-10-31").day == date(2026, 10, 31)


@pytest.mark.parametrize(
    ("given", "problem"),
    [
        (
            {"kind": "grond"},
            "--kind: expected one of vot, ground, airborne, airway, dual (nearest: 'ground'), got 'grond'",
        ),
        (
            {"place": ""},
            "--place: expected where it was checked, at most 200 characters on one line, got nothing",
        ),
        (
            {"signature": "N\nN"},
            "--signature: expected your name, at most 200 characters on one line, got 'N\\nN'",
        ),
        ({"bearing": "124"}, "--bearing: expected SHOWN,PUBLISHED in degrees, such as 124,122, got '124'"),
        (
            {"bearing": "124,361"},
            "--bearing: expected SHOWN,PUBLISHED in degrees, such as 124,122, got '124,361'",
        ),
        (
            {"kind": "vot"},
            "--bearing: expected the selected course in degrees with the needle centred, such as 002 "
            "(or 181 with TO), got '124,122'",
        ),
        ({"error": "nan"}, "--error: expected the bearing error in degrees, -180 to 180, got 'nan'"),
        (
            {"date": "2026-11-26"},
            "--date: expected a day such as 2026-11-25, not in the future (UTC), got '2026-11-26'",
        ),
        (
            {"date": "25.11.26"},
            "--date: expected a day such as 2026-11-25, not in the future (UTC), got '25.11.26'",
        ),
    ],
)
def test_a_field_that_is_not_understood_is_one_clear_line(given: dict[str, str], problem: str) -> None:
    with pytest.raises(SettingsError) as caught:
        parse(**given)
    assert str(caught.value) == problem


def test_all_that_is_missing_is_told_at_once() -> None:
    with pytest.raises(SettingsError) as caught:
        vor_check.run(options())
    assert [str(problem) for problem in caught.value.problems] == [
        "--kind: expected one of vot, ground, airborne, airway, dual, got none",
        "--place: expected where it was checked, got none",
        "--signature: expected your name, got none",
        "--bearing: expected the bearing shown, or two of them, got none",
    ]


def test_what_is_left_out_is_asked_for_by_kind() -> None:
    asked: list[str] = []
    answers = iter(("dual", "358,002"))

    def ask(question: str) -> str:
        asked.append(question)
        return next(answers)

    texts = vor_check._texts(options(place="Nowhere", signature="N. N."), ask)
    assert asked == [
        "Kind (one of vot, ground, airborne, airway, dual): ",
        "Bearing (FIRST,SECOND receiver in degrees, such as 358,002): ",
    ]
    assert vor_check.parse_form(texts).kind is Kind.DUAL


def test_an_answer_that_never_comes_is_a_missing_field() -> None:
    def ask(_question: str) -> str:
        raise EOFError

    assert vor_check._texts(options(kind="vot"), ask)["place"] is None


def test_a_check_within_its_limit_is_told_and_recorded(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert vor_check.run(options(**GROUND)) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[:2] == [
        "+2.0 degrees, limit 4 (14 CFR 91.171(b)(2)): within the limit. Required only under IFR.",
        "It counts until 2026-12-25: 30 days (91.171(a)(2)).",
    ]
    assert str(log) in out[2]
    assert len(log.read_text().splitlines()) == 1


def test_a_check_outside_its_limit_is_recorded_too_and_fails(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # V25: 358 against 003.
    assert vor_check.run(options(**{**GROUND, "kind": "dual", "bearing": "358,003"})) == 1
    out = capsys.readouterr().out
    assert "-5.0 degrees, limit 4 (14 CFR 91.171(c)): OUTSIDE THE LIMIT" in out
    assert "counts until" not in out
    assert '"within": false' in log.read_text()


def test_a_point_on_an_airway_is_best_far_from_the_station(capsys: pytest.CaptureFixture[str]) -> None:
    # V24: 14 CFR 91.171(b)(4).
    vor_check.run(options(**{**GROUND, "kind": "airway"}))
    assert "more than 20 NM from the station" in capsys.readouterr().out


def test_the_log_is_listed_with_the_days_left(capsys: pytest.CaptureFixture[str]) -> None:
    vor_check.run(options(**GROUND, date="2026-11-05"))
    capsys.readouterr()
    assert vor_check.run(options(list=True)) == 0
    out = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert out[1] == ["2026-11-05", "Nowhere", "ground", "+2.0", "4", "within", "N.", "N."]
    assert " ".join(out[2]).endswith("last 2026-11-05, Nowhere, 10 days left")


def test_an_empty_log_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    vor_check.run(options(list=True))
    assert capsys.readouterr().out.rstrip().endswith("no check recorded here")


def test_json_has_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    vor_check.run(options(**GROUND, json=True))
    recorded = json.loads(capsys.readouterr().out)
    assert (recorded["error_deg"], recorded["within"]) == (2.0, True)
    vor_check.run(options(list=True, json=True))
    listed = json.loads(capsys.readouterr().out)
    assert listed["days_left"] == 30
    assert listed["checks"][0]["signature"] == "N. N."


@pytest.mark.parametrize(
    ("argv", "problem"),
    [
        (["--kind", "vot"], "coach: --kind: expected --vor before it, got none"),
        (["--vor", "--voice"], "coach: --vor: expected to stand without --voice and --delete, got both"),
        (["--vor", "--list", "--error", "-2"], "coach: --list: expected to stand without --error, got both"),
        (["--list"], "coach: --list: expected --voice before it, got none"),
    ],
)
def test_options_that_do_not_go_together_are_one_clear_line(
    capsys: pytest.CaptureFixture[str], argv: list[str], problem: str
) -> None:
    assert main(["check", *argv]) == 2
    assert capsys.readouterr().err.splitlines() == [problem]


def test_the_command_takes_an_error_to_the_left(log: Path) -> None:
    argv = ["--kind", "ground", "--place", "Nowhere", "--error", "-2.5", "--signature", "N. N."]
    assert main(["check", "--vor", *argv]) == 0
    assert '"error_deg": -2.5' in log.read_text()
