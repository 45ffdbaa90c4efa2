"""A flight handled again: it stands where it was broken off, and goes on as it would have."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.errors import JournalError
from coach.session.actions import Expect, Listen, Say, Show
from coach.session.events import (
    PromptDropped,
    PromptFinished,
    SessionStarted,
    TransmitEnded,
    TransmitStarted,
    Woken,
)
from coach.session.machine import Options, Session
from coach.session.replay import Standing, replay
from coach.session.teacher import Mode
from tests.session.dialogue import TABLE, Dialogue, eight_spoke
from tests.session.test_journal import flown

FLOWN = tuple(flown().all)


def session() -> Session:
    return Session(eight_spoke(), TABLE)


@pytest.mark.parametrize("cut", range(len(FLOWN) + 1))
def test_broken_off_anywhere_it_goes_on_as_it_would_have(cut: int) -> None:
    again = session()
    replay(again, FLOWN[:cut], where="journal")
    assert [(event, again.handle(event)) for event, _ in FLOWN[cut:]] == list(FLOWN[cut:])


@pytest.mark.parametrize("cut", range(1, len(FLOWN) + 1))
def test_it_stands_as_it_was_last_told(cut: int) -> None:
    standing = replay(session(), FLOWN[:cut], where="journal")
    told = [action for _, actions in FLOWN[:cut] for action in actions]
    assert standing.at_s == FLOWN[cut - 1][0].at_s
    assert standing.show == [action for action in told if isinstance(action, Show)][-1]
    assert standing.listen == [action for action in told if isinstance(action, Listen)][-1]


@pytest.mark.parametrize("cut", range(1, len(FLOWN) + 1))
def test_unfinished_is_what_the_speaker_would_still_have_told_of(cut: int) -> None:
    standing = replay(session(), FLOWN[:cut], where="journal")
    ended = {event.prompt for event, _ in FLOWN[:cut] if isinstance(event, PromptFinished | PromptDropped)}
    said = {say.prompt for _, actions in FLOWN[:cut] for say in actions if isinstance(say, Say)}
    assert {say.prompt for say in standing.unfinished} <= said - ended
    later = {event.prompt for event, _ in FLOWN[cut:] if isinstance(event, PromptFinished)}
    assert later & said <= {say.prompt for say in standing.unfinished}


def test_nothing_flown_stands_at_nothing() -> None:
    expected = Standing(
        at_s=0.0, listen=None, expect=None, show=None, unfinished=(), is_transmitting=False, missing=()
    )
    assert replay(session(), (), where="journal") == expected


def test_last_step_may_lack_actions_at_its_end() -> None:
    event, actions = FLOWN[0]
    standing = replay(session(), ((event, actions[:1]),), where="journal")
    assert standing.unfinished == tuple(action for action in actions if isinstance(action, Say))
    assert standing.missing == actions[1:]


def test_another_drill_is_refused_by_the_event_that_shows_it() -> None:
    other = Session(eight_spoke(leg_s=90), TABLE)
    with pytest.raises(JournalError, match=r"^flight: event \d+: expected the flight of this drill by this"):
        replay(other, FLOWN, where="flight")


def test_a_step_that_lacks_actions_within_is_refused() -> None:
    changed = ((FLOWN[0][0], FLOWN[0][1][:1]), *FLOWN[1:])
    with pytest.raises(JournalError, match="event 1"):
        replay(session(), changed, where="flight")


def test_answer_that_is_asked_for_is_known() -> None:
    dialogue = Dialogue(eight_spoke(), Options(mode=Mode.RECALL)).wait_until(50.0)
    dialogue.hear("station passage", by="key")
    steps = tuple(dialogue.wait_until(88.0).all)
    asked = [action for _, actions in steps for action in actions if isinstance(action, Expect)]
    assert asked
    again = Session(eight_spoke(), TABLE, Options(mode=Mode.RECALL))
    assert replay(again, steps, where="journal").expect == asked[-1]


@pytest.mark.parametrize("is_released", [False, True])
def test_transmit_key_that_was_held_is_known(is_released: bool) -> None:
    started = session()
    events = [SessionStarted(at_s=0.0, onset_s=0.0), TransmitStarted(at_s=1.0, onset_s=1.0)]
    events += [TransmitEnded(at_s=2.0, onset_s=2.0)] if is_released else [Woken(at_s=2.0, onset_s=2.0)]
    steps = tuple((event, started.handle(event)) for event in events)
    assert replay(session(), steps, where="journal").is_transmitting is not is_released


def test_time_does_not_have_to_go_on_where_it_stopped() -> None:
    again = session()
    standing = replay(again, FLOWN[:1], where="journal")
    later = replace(FLOWN[1][0], at_s=standing.at_s + 500.0)
    again.handle(later)
    assert again.next_wakeup_s is None or again.next_wakeup_s >= standing.at_s
