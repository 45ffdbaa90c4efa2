"""The feed that a journal holds, as a track on the journal's clock."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from coach.debrief.session_track import find_session_track
from coach.session.events import FixReceived
from coach.session.journal import Header, Journal
from tests.fixes.samples import flight

HEADER = Header(
    version=1,
    drill="x",
    drill_settings=(),
    began_utc=datetime(2026, 5, 1, 10, tzinfo=UTC),
    coach_version="1",
)


def journal(n: int, delays_s: tuple[float, ...] = (0.0,)) -> Journal:
    fixes = [
        replace(fix, at_s=fix.at_s + 5.0 + delays_s[i % len(delays_s)]) for i, fix in enumerate(flight(n))
    ]
    steps = tuple((FixReceived(at_s=fix.at_s, onset_s=fix.at_s, fix=fix), ()) for fix in fixes)
    return Journal(header=HEADER, steps=steps, late=(), is_closed=True)


def test_its_times_are_the_sessions_whatever_the_receivers_clock_says():
    track = find_session_track(journal(20), name="j")
    assert track is not None
    assert track.form == "session"
    assert track.render_utc(0.0) == "2026-05-01T10:00:05.0Z"
    assert track.ground_speed_kt is not None


def test_fixes_that_arrive_unevenly_late_are_dated_by_their_own_clock():
    track = find_session_track(journal(40, (0.2, 0.9, 0.2, 0.5)), name="j")
    assert track is not None
    assert (track.time_s[2:] - track.time_s[1:-1]).tolist() == pytest.approx([1.0] * 38)


def test_a_session_without_a_feed_has_no_track():
    assert find_session_track(journal(3), name="j") is None
