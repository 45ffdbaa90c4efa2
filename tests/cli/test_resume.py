"""`coach fly --resume` and the offer: which flight, with which options."""

from __future__ import annotations

import argparse
import io
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.broken_off import encode_asked
from coach.cli.arguments import build_parser
from coach.cli.resume import asked_of, find_resumed
from coach.errors import JournalError
from coach.session.events import Woken
from coach.session.journal import Header, encode_line

NAME = "20310504T080000Z-eight-spoke"


def options_of(*argv: str) -> argparse.Namespace:
    return build_parser().parse_args(["fly", *argv])


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("coach.cli.resume.journals_folder", lambda: tmp_path)
    return tmp_path


def write_flight(folder: Path, asked: str) -> None:
    header = Header(
        version=1,
        drill="eight-spoke",
        drill_settings=(),
        began_utc=datetime(2031, 5, 4, 8, 0, tzinfo=UTC),
        coach_version="0",
        session_settings=(("asked", asked),),
    )
    lines = (encode_line(header), encode_line(Woken(at_s=1.0, onset_s=1.0)))
    (folder / f"{NAME}.jsonl").write_text("".join(f"{line}\n" for line in lines))


BEGUN = ("eight-spoke", "--set", "leg_s=40", "--wind", "250/20", "--no-ear", "--talk", "full")


@pytest.mark.parametrize("argv", [("--resume",), ("--resume", NAME), ("other", "--resume")])
def test_options_are_those_the_flight_was_begun_with(folder: Path, argv: tuple[str, ...]) -> None:
    write_flight(folder, asked_of(options_of(*BEGUN)))
    options = options_of(*argv)
    resumed = find_resumed(options)
    assert resumed is not None
    assert resumed.path.stem == NAME
    begun = vars(options_of(*BEGUN))
    assert {name: vars(options)[name] for name in begun if name not in ("resume", "run")} == {
        name: value for name, value in begun.items() if name not in ("resume", "run")
    }


def test_drill_file_is_kept_by_its_full_path(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    assert f'"drill":"{tmp_path}/mine.yaml"' in asked_of(options_of("mine.yaml"))


def test_journal_of_something_else_is_refused(folder: Path) -> None:
    write_flight(folder, "{}")
    with pytest.raises(JournalError, match="expected a flight of `coach fly`, got another journal"):
        find_resumed(options_of("--resume"))


def test_journal_gives_no_option_that_the_command_does_not_have(folder: Path) -> None:
    write_flight(folder, encode_asked({"drill": "eight-spoke", "run": "rm", "color": "red", "resume": "x"}))
    options = options_of("--resume")
    run = options.run
    find_resumed(options)
    assert options.run is run
    assert not hasattr(options, "color")
    assert options.resume == ""


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("typed", "is_resumed"), [("\n", True), ("y\n", True), ("n\n", False), ("N\n", False)]
)
def test_flight_just_broken_off_is_offered(
    folder: Path, monkeypatch: pytest.MonkeyPatch, typed: str, is_resumed: bool
) -> None:
    write_flight(folder, asked_of(options_of(*BEGUN)))
    monkeypatch.setattr("sys.stdin", Terminal(typed))
    monkeypatch.setattr("sys.stdout", Terminal())
    assert (find_resumed(options_of("eight-spoke")) is not None) is is_resumed


def test_without_a_terminal_it_is_told_and_a_new_one_begins(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_flight(folder, asked_of(options_of(*BEGUN)))
    assert find_resumed(options_of("eight-spoke")) is None
    assert "was broken off 0:0" in capsys.readouterr().out


def test_nothing_is_offered_where_nothing_was_broken_off(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert find_resumed(options_of("eight-spoke")) is None
    assert capsys.readouterr().out == ""
