"""The loop, its queue and its clock, with worlds of ten lines."""

from __future__ import annotations

import queue
import time
from dataclasses import replace

import pytest

from coach.cockpit import LATE_S, LOOK_S, Inbox, LiveWorld, SessionClock, fly, steady_s
from coach.session.actions import Action, Finish, Say
from coach.session.events import EdgeFailed, Event, HeldUp, PhraseHeard, SessionStarted, Woken
from coach.session.machine import Options, Session
from tests.session.dialogue import TABLE, eight_spoke


class ScriptedWorld:
    """Words at scripted times on a clock that jumps from event to event."""

    def __init__(self, words: dict[float, str], order: list[str]) -> None:
        self._words = dict(sorted(words.items()))
        self._at_s = 0.0
        self._order = order
        self.said: list[tuple[float, str]] = []

    def now_s(self) -> float:
        return self._at_s

    def wait(self, until_s: float | None) -> Event:
        word_s = min(self._words, default=None)
        if word_s is not None and (until_s is None or word_s <= until_s):
            self._at_s = word_s
            return PhraseHeard(at_s=word_s, onset_s=word_s, phrase=self._words.pop(word_s), by="key")
        assert until_s is not None, "nothing more can happen"
        self._at_s = max(self._at_s, until_s)
        return Woken(at_s=self._at_s, onset_s=until_s)

    def do(self, action: Action) -> None:
        self._order.append("action")
        if isinstance(action, Say):
            self.said.append((action.due_s or self._at_s, action.text))


class KeptJournal:
    def __init__(self, order: list[str]) -> None:
        self.steps: list[tuple[Event, tuple[Action, ...]]] = []
        self._order = order

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        self._order.append("event")
        self.steps.append((event, actions))


def one_spoke() -> tuple[ScriptedWorld, KeptJournal, list[str]]:
    order: list[str] = []
    words = {60.0: "station passage", 225.0: "needle alive", 270.0: "established", 374.0: "station passage"}
    world, journal = ScriptedWorld(words, order), KeptJournal(order)
    fly(Session(eight_spoke(spokes=1), TABLE), world, journal)
    return world, journal, order


def test_loop_runs_until_the_session_finishes():
    world, journal, _ = one_spoke()
    assert world.said[-1] == (374.0, "Drill complete. Hold heading. Look out.")
    assert Finish() in journal.steps[-1][1]
    assert isinstance(journal.steps[0][0], SessionStarted)


def test_every_event_is_written_before_its_actions_are_taken():
    _, journal, order = one_spoke()
    expected = [step for _, actions in journal.steps for step in ["event", *["action"] * len(actions)]]
    assert order == expected


def test_journal_handled_again_gives_the_same_actions():
    _, journal, _ = one_spoke()
    session = Session(eight_spoke(spokes=1), TABLE, Options())
    assert [session.handle(event) for event, _ in journal.steps] == [actions for _, actions in journal.steps]


def test_leg_time_error_is_zero_on_a_fake_clock():
    world, _, _ = one_spoke()
    assert (120.0, "Left, one niner five") in world.said
    assert (180.0, "Right, zero one five") in world.said


FACT = EdgeFailed(at_s=0.0, onset_s=0.0, edge="ear", reason="gone")


class Clock:
    """A monotonic clock and a wall clock that do not agree."""

    def __init__(self) -> None:
        self.monotonic_s = 1000.0


def test_wall_clock_that_jumps_changes_nothing(monkeypatch: pytest.MonkeyPatch):
    clock = Clock()
    session_clock = SessionClock(lambda: clock.monotonic_s)
    monkeypatch.setattr(time, "time", lambda: 3600.0)
    clock.monotonic_s += 60.0
    monkeypatch.setattr(time, "time", lambda: 0.0)
    assert session_clock.now_s() == 60.0


class TestInbox:
    def test_facts_are_dated_when_they_are_taken(self):
        inbox = Inbox(lambda: 5.0)
        inbox.post(PhraseHeard(at_s=1.0, onset_s=0.5, phrase="time", by="voice"))
        assert inbox.take(None) == PhraseHeard(at_s=5.0, onset_s=0.5, phrase="time", by="voice")

    def test_onset_is_never_later_than_its_taking(self):
        inbox = Inbox(lambda: 5.0)
        inbox.post(PhraseHeard(at_s=9.0, onset_s=9.0, phrase="time", by="voice"))
        assert inbox.take(None).onset_s == 5.0

    def test_nothing_by_the_time_asked_for_is_a_wakeup(self):
        assert Inbox(lambda: 5.0).take(4.0) == Woken(at_s=5.0, onset_s=4.0)

    def test_full_inbox_tells_what_it_lost_and_never_waits(self):
        inbox = Inbox(lambda: 0.0, size=1)
        for _ in range(3):
            inbox.post(FACT)
        assert inbox.lost == 2
        assert inbox.take(None) == HeldUp(at_s=0.0, onset_s=0.0, lost=2)
        assert inbox.take(None) == FACT

    def test_key_takes_the_place_of_the_oldest_fact_in_a_full_inbox(self):
        inbox = Inbox(lambda: 0.0, size=2)
        key = PhraseHeard(at_s=0.0, onset_s=0.0, phrase="mute", by="key")
        for fact in (FACT, FACT, key):
            inbox.post(fact)
        assert inbox.take(None) == HeldUp(at_s=0.0, onset_s=0.0, lost=1)
        assert [inbox.take(None), inbox.take(None)] == [FACT, key]

    def test_loop_that_stood_still_is_told_so_before_the_fact(self):
        clock = Clock()
        inbox = Inbox(SessionClock(lambda: clock.monotonic_s).now_s)
        inbox.post(FACT)
        inbox.take(None)
        clock.monotonic_s += 5.0
        inbox.post(FACT)
        assert inbox.take(2.0) == HeldUp(at_s=5.0, onset_s=0.0)
        assert inbox.take(2.0) == replace(FACT, at_s=5.0)
        assert inbox.take(2.0) == Woken(at_s=5.0, onset_s=2.0)

    def test_loop_asleep_while_it_waits_is_told_so_and_wakes(self):
        """The wait itself counts on a clock that stands still in a sleep: it must not be believed."""
        clock = Clock()
        inbox = Inbox(SessionClock(lambda: clock.monotonic_s).now_s)
        inbox._facts = Sleeper(clock, 600.0)
        assert inbox.take(60.0) == HeldUp(at_s=600.0, onset_s=LOOK_S)
        assert inbox.take(60.0) == Woken(at_s=600.0, onset_s=60.0)

    def test_fact_taken_after_a_sleep_is_not_lost(self):
        clock = Clock()
        inbox = Inbox(SessionClock(lambda: clock.monotonic_s).now_s)
        inbox._facts = Sleeper(clock, 600.0, FACT)
        assert inbox.take(60.0) == HeldUp(at_s=600.0, onset_s=LOOK_S)
        assert inbox.take(60.0) == replace(FACT, at_s=600.0)

    def test_loop_always_late_still_takes_every_fact(self):
        clock = Clock()
        inbox = Inbox(SessionClock(lambda: clock.monotonic_s).now_s)
        taken = []
        for _ in range(20):
            inbox.post(FACT)
            taken.append(type(inbox.take(None)))
            clock.monotonic_s += 0.5
        assert taken.count(EdgeFailed) >= 10

    def test_a_little_late_is_not_told(self):
        clock = Clock()
        inbox = Inbox(SessionClock(lambda: clock.monotonic_s).now_s)
        inbox.post(FACT)
        inbox.take(None)
        clock.monotonic_s += LATE_S - 0.001
        assert isinstance(inbox.take(0.0), Woken)


class Sleeper:
    """A queue whose wait is slept through: the machine was suspended meanwhile."""

    def __init__(self, clock: Clock, sleeps_s: float, fact: Event | None = None) -> None:
        self._clock, self._sleeps_s, self._fact = clock, sleeps_s, fact

    def get(self, timeout: float) -> Event:
        self._clock.monotonic_s += self._sleeps_s
        self._sleeps_s = 0.0
        if self._fact is None:
            raise queue.Empty
        return self._fact


def test_session_that_goes_on_reads_the_time_it_stands_at():
    clock = Clock()
    session_clock = SessionClock(lambda: clock.monotonic_s, reads_s=250.0)
    clock.monotonic_s += 10.0
    assert session_clock.now_s() == 260.0


def test_clock_of_the_loop_is_not_the_wall_clock():
    before = steady_s()
    assert 0.0 <= steady_s() - before < 60.0


def test_live_world_shows_each_fact_to_its_followers():
    seen: list[Event] = []
    inbox = Inbox(lambda: 5.0)
    world = LiveWorld(SessionClock(lambda: 0.0), inbox, [], [seen.append])
    inbox.post(FACT)
    world.wait(None)
    assert seen == [replace(FACT, at_s=5.0)]
