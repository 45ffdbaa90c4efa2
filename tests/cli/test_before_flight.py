"""`coach fly` opens with the flow before flight, once, and only where there is somebody to confirm it."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coach.cli import before_flight, fly, main
from coach.drill.plan import plan_drill
from coach.errors import SettingsError
from coach.store import vor_checks
from tests.drill.eight_spoke import eight_spoke
from tests.screen.test_preflight import NoTerminal


@pytest.fixture(autouse=True)
def nothing_flies(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(vor_checks, "vor_checks_path", lambda: tmp_path / "vor-checks.jsonl")
    monkeypatch.setattr(fly, "fly_live", lambda *_: None)
    monkeypatch.setattr("coach.store.settings.settings_path", lambda: tmp_path / "settings.yaml")


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, ...]]:
    flows: list[tuple[str, ...]] = []

    def ask(items: tuple[str, ...], *, longest_s: float, tell: Callable[[str], None], **_more: Any) -> None:
        assert longest_s == 30.0
        flows.append(items)

    monkeypatch.setattr(before_flight, "ask_all_done", ask)
    return flows


def test_a_flight_opens_with_the_flow(asked: list[tuple[str, ...]]) -> None:
    assert main(["fly", "eight-spoke"]) == 0
    ((first, *_rest, last),) = asked
    assert first == "Station tuned, identified, tested; course 155 set"
    assert last.endswith("no check recorded here")


@pytest.mark.parametrize("argv", [("--preflight", "false"), ("--no-preflight",)])
def test_the_setting_leaves_it_out(asked: list[tuple[str, ...]], argv: tuple[str, ...]) -> None:
    assert main(["fly", "eight-spoke", *argv]) == 0
    assert asked == []


def test_without_a_keyboard_the_flight_begins_at_once(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coach.screen.preflight.find_source", NoTerminal)
    assert main(["fly", "eight-spoke"]) == 0
    assert "Before flight: no keyboard to confirm it with, left out." in capsys.readouterr().out


def test_a_log_that_cannot_be_read_is_no_reason_not_to_fly(
    asked: list[tuple[str, ...]], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken() -> None:
        raise SettingsError("no")

    monkeypatch.setattr(before_flight, "read_checks", broken)
    before_flight.ask_before_flight(Namespace(station=None), plan_drill(eight_spoke()))
    assert asked[0][-1].endswith("the log of checks cannot be read")
