"""What is known, from the disk to the session and back."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach import learning
from coach.errors import JournalError
from coach.flight import Choice, header_of, options_of
from coach.learning import KNOWN, encode_known, find_learnt, keep_learnt, known_of
from coach.session.journal import Header
from coach.session.mastery import Element, Mastery, nothing_known
from coach.session.teacher import Mode
from coach.settings import Settings
from tests.session.dialogue import TABLE, eight_spoke

KNOWN_NOW = (Mastery(element=Element.TIMER, known=0.75, answers=8, step=1),)
RECALL = Settings(mode=Mode.RECALL)


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "mastery.json"
    monkeypatch.setattr(learning, "mastery_path", lambda: path)
    return path


def header(**settings: str) -> Header:
    return Header(
        version=1,
        drill="eight-spoke",
        drill_settings=(),
        began_utc=datetime(2031, 5, 1, tzinfo=UTC),
        coach_version="1",
        session_settings=tuple(settings.items()),
    )


def test_the_next_session_begins_with_what_was_kept(path: Path):
    told: list[str] = []
    keep_learnt(Mode.RECALL, header(), KNOWN_NOW, told.append)
    assert find_learnt(RECALL, "eight-spoke", told.append) == KNOWN_NOW
    assert find_learnt(RECALL, "another", told.append) == ()
    assert told == []


def test_the_told_mode_neither_looks_nor_keeps(path: Path):
    path.write_text("{")
    told: list[str] = []
    keep_learnt(Mode.TOLD, header(), KNOWN_NOW, told.append)
    assert find_learnt(Settings(), "eight-spoke", told.append) == ()
    assert told == []


def test_a_session_without_an_answer_is_not_kept(path: Path):
    keep_learnt(Mode.RECALL, header(), nothing_known(), lambda _line: None)
    assert not path.exists()


def test_a_broken_history_is_told_and_left_and_the_flight_goes_on(path: Path):
    path.write_text("{")
    told: list[str] = []
    assert find_learnt(RECALL, "eight-spoke", told.append) == ()
    keep_learnt(Mode.RECALL, header(), KNOWN_NOW, told.append)
    assert [line.split(".")[0] for line in told] == [
        "Nothing known of earlier sessions, all is said",
        "What was learnt is not kept",
    ]
    assert path.read_text() == "{"


def test_a_journal_says_what_its_session_began_with():
    assert known_of(header(**{KNOWN: encode_known(KNOWN_NOW)})) == KNOWN_NOW
    assert known_of(header()) == ()


@pytest.mark.parametrize("text", ["{", "3", "[3]", '[{"element": "rudder"}]', "null"])
def test_a_header_that_is_none_of_ours_is_refused(text: str):
    with pytest.raises(JournalError):
        known_of(header(**{KNOWN: text}))


def test_a_flight_hands_on_what_is_known_and_its_journal_keeps_it():
    settings = Settings(mode=Mode.CALLOUT)
    choice = Choice(plan=eight_spoke(), settings=settings, table=TABLE, known=KNOWN_NOW)
    options, header = options_of(choice), header_of(choice)
    assert (options.mode, options.known) == (Mode.CALLOUT, KNOWN_NOW)
    assert known_of(header) == KNOWN_NOW
    assert dict(header.session_settings)["mode"] == "callout"
