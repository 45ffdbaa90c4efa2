"""`coach check`: one line for each thing looked for, more about it below, and the exit status."""

from __future__ import annotations

import json

import pytest

from coach.cli import check, main
from coach.errors import SetupError
from coach.settings import Settings


def find_ear(_settings: Settings) -> tuple[str, dict[str, str]]:
    return "an ear", {"how_good": "of 2 commands right: 1", "better": "pip install ear"}


def find_no_microphone(_settings: Settings) -> str:
    raise SetupError("no device is a microphone")


@pytest.fixture(autouse=True)
def looks(monkeypatch: pytest.MonkeyPatch) -> None:
    found = (("drills", lambda _: "eight-spoke"), ("recogniser", find_ear), ("input", find_no_microphone))
    monkeypatch.setattr(check, "LOOKS", found)
    monkeypatch.setattr("coach.cli.output.console.width", 100)


def test_recogniser_is_told_with_how_good_it_is_and_what_gets_a_better_one(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["check"]) == SetupError.exit_status
    assert capsys.readouterr().out.splitlines() == [
        "ok       drills      eight-spoke",
        "ok       recogniser  an ear",
        "                     how good: of 2 commands right: 1",
        "                     better: pip install ear",
        "missing  input       no device is a microphone",
    ]


def test_json_has_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", "--json"])
    assert json.loads(capsys.readouterr().out) == {
        "drills": {"ok": True, "is": "eight-spoke"},
        "recogniser": {
            "ok": True,
            "is": "an ear",
            "how_good": "of 2 commands right: 1",
            "better": "pip install ear",
        },
        "input": {"ok": False, "is": "no device is a microphone"},
    }


def test_everything_there_is_exit_status_zero(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(check, "LOOKS", (("drills", lambda _: "eight-spoke"),))
    assert main(["check"]) == 0
