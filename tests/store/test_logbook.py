"""The logbook's lines on disk."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from coach.errors import SettingsError
from coach.store.database import open_database
from coach.store.history import delete_sessions, keep_session
from coach.store.logbook import add_entry, delete_entry, read_entries
from tests.debrief.test_history import session
from tests.debrief.test_logbook import ENTRY


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "history.sqlite"


def test_lines_come_back_in_the_order_of_their_days(path: Path):
    later, earlier = ENTRY, replace(ENTRY, day=date(2026, 9, 1))
    assert [add_entry(path, later), add_entry(path, earlier)] == [1, 2]
    assert read_entries(path) == ((2, earlier), (1, later))


def test_a_line_is_deleted_and_its_number_is_not_given_again(path: Path):
    add_entry(path, ENTRY)
    assert delete_entry(path, 1)
    assert not delete_entry(path, 1)
    assert add_entry(path, ENTRY) == 2


def test_deleting_the_history_leaves_the_logbook(path: Path):
    add_entry(path, ENTRY)
    keep_session(path, session(0, 0.5))
    delete_sessions(path, None)
    assert len(read_entries(path)) == 1


def test_without_a_file_there_is_no_line(path: Path):
    assert read_entries(path) == ()
    assert not delete_entry(path, 1)
    assert not path.exists()


@pytest.mark.parametrize("text", ["{}", "no json", '{"tasks": 1, "approaches": []}'])
def test_a_line_that_is_none_is_told_by_its_number(path: Path, text: str):
    with open_database(path) as connection:
        connection.execute("INSERT INTO log_entry (day, entry) VALUES ('2026-01-01', ?)", (text,))
    with pytest.raises(SettingsError, match="entry 1: expected a line of the logbook, got"):
        read_entries(path)
