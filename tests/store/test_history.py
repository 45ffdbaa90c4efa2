"""The history file: private, whole or not at all, and really empty once deleted."""

from __future__ import annotations

import os
import sqlite3
import stat
from pathlib import Path

import pytest

from coach.errors import SettingsError
from coach.store.database import VERSION, open_database
from coach.store.history import delete_sessions, keep_session, read_sessions
from tests.debrief.test_history import session


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "of-the-user" / "history.sqlite"


def test_what_is_kept_is_read_again(path: Path):
    kept = [session(0, 0.4), session(1, 0.8, "dme-arc", is_rehearsed=True)]
    for one in reversed(kept):
        keep_session(path, one)
    assert read_sessions(path) == tuple(kept)


def test_a_session_debriefed_again_is_kept_once(path: Path):
    keep_session(path, session(0, 0.4))
    keep_session(path, session(0, 0.5))
    assert [one.skills[0].within_share for one in read_sessions(path)] == [0.5]


def test_without_a_file_there_is_no_session_and_none_is_made(path: Path):
    assert read_sessions(path) == ()
    assert delete_sessions(path, None) == 0
    assert not path.exists()


def test_one_session_or_all_are_deleted(path: Path):
    for day in range(3):
        keep_session(path, session(day, 0.5))
    assert delete_sessions(path, "eight-spoke-1") == 1
    assert delete_sessions(path, "nobody") == 0
    assert [one.session for one in read_sessions(path)] == ["eight-spoke-0", "eight-spoke-2"]
    assert delete_sessions(path, None) == 2
    assert read_sessions(path) == ()


def test_what_was_deleted_does_not_stay_in_the_file(path: Path):
    keep_session(path, session(0, 0.5, "a-drill-of-mine"))
    assert b"a-drill-of-mine" in path.read_bytes()
    delete_sessions(path, None)
    assert b"a-drill-of-mine" not in path.read_bytes()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")
def test_file_and_folder_are_for_their_owner_only(path: Path):
    keep_session(path, session(0, 0.5))
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


def delete_and_break(path: Path) -> None:
    with open_database(path) as connection:
        print(connection.execute("DELETE FROM session").rowcount / 0)


def test_a_change_that_breaks_off_leaves_nothing_of_itself(path: Path):
    keep_session(path, session(0, 0.5))
    with pytest.raises(ZeroDivisionError):
        delete_and_break(path)
    assert len(read_sessions(path)) == 1


def test_a_file_of_a_newer_coach_is_refused_with_the_remedy(path: Path):
    keep_session(path, session(0, 0.5))
    with sqlite3.connect(path) as connection:
        connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    connection.close()
    with pytest.raises(
        SettingsError, match=r"expected a history of version 1, got version 2, .* move history"
    ):
        read_sessions(path)
    assert path.stat().st_size > 0


def test_what_is_no_database_is_refused_and_left_alone(path: Path):
    path.parent.mkdir()
    path.write_bytes(b"my shopping list" * 100)
    with pytest.raises(SettingsError, match=r"file is not a database; move history\.sqlite away"):
        keep_session(path, session(0, 0.5))
    assert path.read_bytes() == b"my shopping list" * 100


def test_a_place_that_is_no_folder_is_one_line(tmp_path: Path):
    (tmp_path / "file").write_text("")
    with pytest.raises(SettingsError, match="expected a place that can be written to"):
        keep_session(tmp_path / "file" / "history.sqlite", session(0, 0.5))
