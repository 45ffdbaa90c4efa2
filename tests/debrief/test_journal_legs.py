"""Legs out of a journal: flown by a real session, undone, interrupted, corrected by a feed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from coach.debrief.journal_legs import Entry, read_legs
from coach.session.actions import Action, Record
from coach.session.events import Woken
from coach.session.journal import Header, Journal
from tests.session.dialogue import Dialogue, eight_spoke

HEADER = Header(
    version=1,
    drill="eight-spoke",
    drill_settings=(),
    began_utc=datetime(2030, 1, 1, tzinfo=UTC),
    coach_version="1",
)


def journal(dialogue: Dialogue) -> Journal:
    return Journal(header=HEADER, steps=tuple(dialogue.all), late=(), is_closed=True)


def noted(*records: tuple[str, float]) -> tuple[Entry, ...]:
    """The legs of a journal with these notes."""
    steps = [(Woken(at_s=at_s, onset_s=at_s), (Record(what=what, onset_s=at_s),)) for what, at_s in records]
    return read_legs(replace(journal_of_nothing(), steps=tuple(steps))).entries


def journal_of_nothing() -> Journal:
    return Journal(header=HEADER, steps=(), late=(), is_closed=True)


def test_a_flown_session_gives_its_legs_with_the_words_onset_and_the_timers_time():
    dialogue = Dialogue(eight_spoke())
    dialogue.wait_until(58.0)
    dialogue.hear("station passage", onset_s=60.0)
    dialogue.wait_until(200.0)
    legs = read_legs(journal(dialogue))
    assert [(entry.leg_n, entry.begun_s) for entry in legs.entries] == [(1, 60.0), (2, 120.0), (3, 180.0)]
    assert [entry.due_s for entry in legs.entries] == [120.0, 180.0, None]
    assert legs.entries[0].ended_s == 120.0
    assert legs.entries[2].ended_s is None


def test_a_step_taken_back_never_was():
    dialogue = Dialogue(eight_spoke())
    dialogue.hear("station passage", onset_s=30.0)
    dialogue.wait_until(40.0)
    dialogue.hear("disregard", onset_s=41.0)
    dialogue.wait_until(60.0)
    dialogue.hear("station passage", onset_s=61.0)
    legs = read_legs(journal(dialogue))
    assert [(entry.leg_n, entry.begun_s) for entry in legs.entries] == [(1, 61.0)]


def test_undoing_to_an_earlier_leg_keeps_its_beginning():
    entries = noted(("leg 1: a", 10.0), ("leg 2: b", 70.0), ("undone: leg 1: a", 75.0), ("leg 2: b", 90.0))
    assert [(entry.leg_n, entry.begun_s, entry.ended_s) for entry in entries] == [
        (1, 10.0, 90.0),
        (2, 90.0, None),
    ]


def test_established_begins_no_leg_and_a_timer_taken_back_gives_way_to_the_word():
    entries = noted(("leg 4: inbound", 10.0), ("leg 4: inbound established", 50.0), ("complete", 90.0))
    assert entries == (Entry(leg_n=4, begun_s=10.0, ended_s=90.0),)
    entries = noted(("leg 2: offset", 60.0), ("leg 2: offset", 59.2))
    assert entries == (Entry(leg_n=2, begun_s=59.2),)


def test_wings_level_said_before_the_timer_moved_on_puts_the_leg_back():
    entries = noted(("leg 1: a", 10.0), ("leg 2: b", 70.0), ("leg 1: a", 69.0), ("leg 2: b", 131.0))
    assert entries == (
        Entry(leg_n=1, begun_s=10.0, ended_s=131.0),
        Entry(leg_n=2, begun_s=131.0),
    )


def test_a_rejoin_ends_a_leg_and_the_next_may_be_any():
    entries = noted(("leg 1: a", 10.0), ("arriving", 30.0), ("leg 5: a", 90.0))
    assert entries[0] == Entry(leg_n=1, begun_s=10.0, ended_s=30.0, is_interrupted=True)
    assert entries[1].leg_n == 5


@pytest.mark.parametrize(("seen_s", "begun_s"), [(8.0, 8.0), (12.5, 12.5), (31.0, 10.0)])
def test_a_passage_that_the_feed_saw_near_it_is_the_checkpoint(seen_s: float, begun_s: float):
    entries = noted(("leg 1: a", 10.0), ("seen: station passage (0.05 NM beside)", seen_s))
    assert entries[0].begun_s == begun_s


def test_words_callouts_and_bookmarks_come_with_their_times():
    dialogue = Dialogue(eight_spoke())
    dialogue.hear("station passage", onset_s=30.0)
    dialogue.wait_until(40.0)
    dialogue.hear("bookmark", onset_s=45.0)
    actions: tuple[Action, ...] = (Record(what="called: twist 060", onset_s=46.0),)
    dialogue.all.append((Woken(at_s=50.0, onset_s=50.0), actions))
    legs = read_legs(journal(dialogue))
    assert legs.bookmarks == ((45.0, "bookmark"),)
    assert legs.called == ((46.0, "twist"),)
    assert [word.text for word in legs.words if word.who == "pilot"] == ["station passage", "bookmark"]
    assert [word.who for word in legs.words][:1] == ["coach"]
