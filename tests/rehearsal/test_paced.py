"""A rehearsal held to a clock: the same flight, no sooner than the clock allows, open to facts of others."""

from __future__ import annotations

import pytest

from coach.cockpit import fly
from coach.rehearsal.paced import STEP_S, PacedWorld
from coach.session.actions import Action, Say
from coach.session.events import BookmarkMade, Event, PhraseHeard, Woken
from coach.session.machine import Session
from tests.session.dialogue import TABLE, eight_spoke


class Clock:
    """A clock that sleeping moves."""

    def __init__(self) -> None:
        self.at_s = 100.0

    def sleep(self, seconds: float) -> None:
        assert seconds > 0.0
        self.at_s += seconds


class Simulated:
    """A world where words come at given times and the clock jumps."""

    def __init__(self, words: dict[float, str]) -> None:
        self._words = dict(words)
        self._at_s = 0.0

    def now_s(self) -> float:
        return self._at_s

    def wait(self, until_s: float | None) -> Event:
        word_s = min(self._words, default=None)
        if word_s is not None and (until_s is None or word_s <= until_s):
            self._at_s = word_s
            return PhraseHeard(at_s=word_s, onset_s=word_s, phrase=self._words.pop(word_s), by="key")
        assert until_s is not None
        self._at_s = max(self._at_s, until_s)
        return Woken(at_s=self._at_s, onset_s=until_s)

    def do(self, action: Action) -> None:
        pass


class Kept:
    def __init__(self) -> None:
        self.steps: list[tuple[Event, tuple[Action, ...]]] = []

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        self.steps.append((event, actions))


WORDS = {60.0: "station passage", 225.0: "needle alive", 374.0: "station passage"}


def flown(pace: float | None) -> tuple[Kept, Clock]:
    clock, kept = Clock(), Kept()
    world = Simulated(WORDS)
    held = world if pace is None else PacedWorld(world, pace, monotonic=lambda: clock.at_s, sleep=clock.sleep)
    fly(Session(eight_spoke(spokes=1), TABLE), held, kept)
    return kept, clock


@pytest.mark.parametrize("pace", [1.0, 20.0])
def test_the_flight_is_the_same_at_any_pace(pace: float):
    assert flown(pace)[0].steps == flown(None)[0].steps


@pytest.mark.parametrize("pace", [1.0, 20.0])
def test_it_lasts_as_long_as_the_clock_says(pace: float):
    kept, clock = flown(pace)
    assert clock.at_s - 100.0 == pytest.approx(kept.steps[-1][0].at_s / pace)


def test_what_comes_from_outside_is_taken_within_a_step():
    clock = Clock()
    paced = PacedWorld(Simulated({}), 2.0, monotonic=lambda: clock.at_s, sleep=clock.sleep)
    assert paced.wait(10.0).at_s == 10.0
    paced.post(BookmarkMade(at_s=0.0, onset_s=9.0, what="late"))
    taken = paced.wait(60.0)
    assert isinstance(taken, BookmarkMade)
    assert (taken.onset_s, taken.at_s) == (9.0, pytest.approx(10.0 + 2.0 * STEP_S))


def test_edges_and_followers_see_all_that_the_world_does():
    clock, seen, done = Clock(), [], []

    class Watching:
        def do(self, action: Action) -> None:
            done.append(action)

    paced = PacedWorld(
        Simulated({5.0: "time"}),
        1.0,
        edges=[Watching()],
        followers=[seen.append],
        monotonic=lambda: clock.at_s,
        sleep=clock.sleep,
    )
    assert paced.wait(20.0) == seen[0]
    say = Say(prompt=1, text="Early", due_s=None, stale_s=9.0, is_time_call=False)
    paced.do(say)
    assert done == [say]


def test_more_facts_than_can_wait_are_dropped():
    clock = Clock()
    paced = PacedWorld(Simulated({}), 1.0, monotonic=lambda: clock.at_s, sleep=clock.sleep)
    for _ in range(1000):
        paced.post(BookmarkMade(at_s=0.0, onset_s=0.0, what="late"))
    assert isinstance(paced.wait(1.0), BookmarkMade)
