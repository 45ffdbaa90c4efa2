"""The history of what was learnt, on disk."""

from __future__ import annotations

import json
import os
import stat
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.errors import SettingsError
from coach.session.mastery import Element, Learnt, Mastery, nothing_known
from coach.store import mastery as store
from coach.store.mastery import add_session, find_known, read_mastery

HEADING = Mastery(element=Element.HEADING, known=0.8125, answers=16, step=2, held=1, wait=3)


def learnt(drill: str = "eight-spoke", day: int = 1, *elements: Mastery) -> Learnt:
    began_utc = datetime(2031, 5, day, 8, 30, tzinfo=UTC)
    return Learnt(began_utc=began_utc, drill=drill, elements=elements or nothing_known())


def test_what_is_kept_comes_back_exactly(tmp_path: Path):
    path = tmp_path / "there" / "mastery.json"
    add_session(path, learnt())
    add_session(path, learnt("eight-spoke", 2, HEADING))
    assert read_mastery(path) == (learnt(), learnt("eight-spoke", 2, HEADING))


def test_where_there_is_no_file_nothing_is_known(tmp_path: Path):
    assert read_mastery(tmp_path / "mastery.json") == ()
    assert find_known((), "eight-spoke") == ()


def test_each_drill_has_its_own_last_session():
    history = (learnt("eight-spoke", 1, HEADING), learnt("other", 2))
    assert find_known(history, "eight-spoke") == (HEADING,)
    assert find_known(history, "other") == nothing_known()
    assert find_known(history, "third") == ()


def test_a_flight_gone_on_with_is_one_session(tmp_path: Path):
    path = tmp_path / "mastery.json"
    for session in (learnt(), learnt("other"), learnt("eight-spoke", 1, HEADING)):
        add_session(path, session)
    assert read_mastery(path) == (learnt("other"), learnt("eight-spoke", 1, HEADING))


@pytest.mark.skipif(os.name != "posix", reason="rights of files are POSIX")
def test_only_the_owner_may_read_it(tmp_path: Path):
    path = tmp_path / "mastery.json"
    add_session(path, learnt())
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_the_oldest_sessions_are_forgotten(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(store, "MOST_SESSIONS", 3)
    path = tmp_path / "mastery.json"
    for day in range(1, 6):
        add_session(path, learnt("eight-spoke", day))
    assert [session.began_utc.day for session in read_mastery(path)] == [3, 4, 5]


def test_a_write_that_fails_leaves_the_old_history(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = tmp_path / "mastery.json"
    add_session(path, learnt())

    def refuse(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(SettingsError, match="no space left on device"):
        add_session(path, learnt("eight-spoke", 2))
    assert read_mastery(path) == (learnt(),)


BROKEN = {
    "no JSON": (b"{", "expected a history of what was learnt, got no JSON"),
    "deep": (b"[" * 100_000, "got no JSON"),
    "list": (b"[]", "expected a history of version 1, got version None"),
    "other version": (b'{"version": 2}', "expected a history of version 1, got version 2"),
    "no sessions": (b'{"version": 1}', "expected a list of sessions, got NoneType"),
    "unknown element": (
        json.dumps(
            {
                "version": 1,
                "sessions": [
                    {
                        "began_utc": "2031-05-01T08:30:00+00:00",
                        "drill": "a",
                        "elements": [{"element": "rudder"}],
                    }
                ],
            }
        ).encode(),
        "got 'rudder'",
    ),
}


@pytest.mark.parametrize(("content", "message"), BROKEN.values(), ids=BROKEN)
def test_a_broken_file_is_refused_with_its_remedy_and_left_alone(
    tmp_path: Path, content: bytes, message: str
):
    path = tmp_path / "mastery.json"
    path.write_bytes(content)
    with pytest.raises(SettingsError) as raised:
        add_session(path, learnt())
    assert message in str(raised.value)
    assert "move mastery.json away" in str(raised.value)
    assert path.read_bytes() == content


@pytest.mark.parametrize(
    ("field", "value"), [("known", 1.5), ("known", "nan"), ("step", 4), ("wait", -1), ("answers", -2)]
)
def test_values_out_of_their_range_are_refused(tmp_path: Path, field: str, value: object):
    path = tmp_path / "mastery.json"
    add_session(path, learnt("eight-spoke", 1, HEADING))
    values = json.loads(path.read_text())
    values["sessions"][0]["elements"][0][field] = value
    path.write_text(json.dumps(values))
    with pytest.raises(SettingsError, match="heading: a share from 0 to 1"):
        read_mastery(path)


def test_a_file_without_end_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(store, "LARGEST_BYTES", 100)
    path = tmp_path / "mastery.json"
    path.write_bytes(b" " * 101)
    with pytest.raises(SettingsError, match="at most 100 bytes"):
        read_mastery(path)
