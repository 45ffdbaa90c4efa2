"""The loop: one queue of facts, one session, the edges that carry its actions out.

The same loop flies on a real clock with real devices (`LiveWorld`) and in a rehearsal on a simulated
one. Never decides anything: the session does.
"""

from __future__ import annotations

import queue
import sys
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import replace
from typing import Protocol

from coach.session.actions import Action, Finish
from coach.session.events import Event, HeldUp, PhraseHeard, SessionStarted, Woken
from coach.session.machine import Session

QUEUE_SIZE = 1024
"""Facts that may wait; more than that means that the loop is stuck, and the oldest are not worth keeping."""

LOOK_S = 0.5
"""The clock is looked at so often: a wait that counts on another clock oversleeps where the machine does."""

LATE_S = 0.2
"""A loop this late is journalled (issue: "late by more than 200 ms")."""


class World(Protocol):
    """Where facts come from and actions go."""

    def now_s(self) -> float:
        """The session clock, in seconds; never goes back."""

    def wait(self, until_s: float | None) -> Event:
        """The next fact, or `Woken` at `until_s` if none comes before; None: wait for a fact."""

    def do(self, action: Action) -> None:
        """Carry an action out, without waiting for it."""


class Journal(Protocol):
    """Keeps what happened."""

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        """Keep an event and what followed from it; called before the actions are taken."""


def fly(session: Session, world: World, journal: Journal, *, is_begun: bool = False) -> None:
    """Run a session to its end; `is_begun`: it was flown before as far as it stands, and goes on."""
    now_s = world.now_s()
    event: Event = SessionStarted(at_s=now_s, onset_s=now_s)
    if is_begun:
        event = Woken(at_s=now_s, onset_s=now_s)
    while not _handle(session, world, journal, event):
        event = world.wait(session.next_wakeup_s)


def _handle(session: Session, world: World, journal: Journal, event: Event) -> bool:
    """Take one event; True where the session is over."""
    actions = session.handle(event)
    journal.write(event, actions)
    for action in actions:
        world.do(action)
    return any(isinstance(action, Finish) for action in actions)


def steady_s() -> float:
    """Seconds on a clock that nobody sets and that runs on while the machine sleeps.

    `time.monotonic` stands still in a suspended Linux and macOS. Windows' runs on.
    """
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    return time.monotonic()


class SessionClock:
    """Seconds since the session began: a wall clock that steps, or a sleep, changes nothing."""

    def __init__(self, steady: Callable[[], float] = steady_s, *, reads_s: float = 0.0) -> None:
        """`reads_s`: what it reads now; above 0 where a session goes on."""
        self._steady = steady
        self._began_s = steady() - reads_s

    def now_s(self) -> float:
        """Seconds since the session began."""
        return self._steady() - self._began_s


class Inbox:
    """The one bounded queue: workers put facts in, the loop takes them out and dates them.

    Watches over the loop too: one that was held up, or lost facts because the queue was full, is told so.
    """

    def __init__(self, now_s: Callable[[], float], size: int = QUEUE_SIZE) -> None:
        self._now_s = now_s
        self._facts: queue.Queue[Event] = queue.Queue(maxsize=size)
        self._due_s: float | None = None
        """When the loop was to be here again; None: it was held up just now, and that is told."""

        self._next: Event | None = None
        self._lost_told = 0
        self.lost = 0
        """Facts refused because the queue was full."""

    def post(self, event: Event) -> None:
        """Put a fact in; never waits. Called by any thread."""
        try:
            self._facts.put_nowait(event)
        except queue.Full:
            self.lost += 1
            if isinstance(event, PhraseHeard) and event.by == "key":
                self._put_for_another(event)

    def _put_for_another(self, event: Event) -> None:
        """A key pressed is worth more than the oldest fact that waits: it may be the mute key."""
        with suppress(queue.Empty, queue.Full):
            self._facts.get_nowait()
            self._facts.put_nowait(event)

    def take(self, until_s: float | None) -> Event:
        """The next fact, dated now, or `Woken` at `until_s`; `HeldUp` before it where the loop was late."""
        if self._next is None:
            now_s, due_s = self._now_s(), self._due_s
            if due_s is None or not self._is_held_up(due_s, now_s):
                self._next, due_s = self._wait(until_s)
                now_s = self._now_s()
            if self._is_held_up(due_s, now_s):
                return self._tell_held_up(due_s, now_s)
        fact, self._next = self._next, None
        self._due_s = self._now_s()
        if fact is not None:
            return replace(fact, at_s=self._due_s, onset_s=min(fact.onset_s, self._due_s))
        return Woken(at_s=self._due_s, onset_s=self._due_s if until_s is None else min(until_s, self._due_s))

    def _wait(self, until_s: float | None) -> tuple[Event | None, float]:
        """The next fact (None: none in time), and when the loop was to be back at the latest."""
        while True:
            now_s = self._now_s()
            wait_s = LOOK_S if until_s is None else min(LOOK_S, max(0.0, until_s - now_s))
            with suppress(queue.Empty):
                return self._facts.get(timeout=wait_s), now_s + wait_s
            is_over = until_s is not None and until_s <= self._now_s()
            if is_over or self._is_held_up(now_s + wait_s, self._now_s()):
                return None, now_s + wait_s

    def _is_held_up(self, due_s: float, now_s: float) -> bool:
        return now_s - due_s > LATE_S or self.lost > self._lost_told

    def _tell_held_up(self, due_s: float, now_s: float) -> Event:
        lost, self._lost_told, self._due_s = self.lost - self._lost_told, self.lost, None
        return HeldUp(at_s=now_s, onset_s=min(due_s, now_s), lost=lost)


class Edge(Protocol):
    """Something that carries out some kinds of action and ignores the rest."""

    def do(self, action: Action) -> None:
        """Carry it out or ignore it; never waits."""


class LiveWorld:
    """The real cockpit: real time, and edges on their own threads and processes."""

    def __init__(
        self,
        clock: SessionClock,
        inbox: Inbox,
        edges: Iterable[Edge],
        followers: Iterable[Callable[[Event], None]] = (),
    ) -> None:
        """`followers` are shown every fact that the loop takes: a screen, an ear that a key closes."""
        self._clock = clock
        self._inbox = inbox
        self._edges = tuple(edges)
        self._followers = tuple(followers)

    def now_s(self) -> float:
        """The session clock."""
        return self._clock.now_s()

    def wait(self, until_s: float | None) -> Event:
        """The next fact of any edge."""
        event = self._inbox.take(until_s)
        for follow in self._followers:
            follow(event)
        return event

    def do(self, action: Action) -> None:
        """Hand an action to every edge."""
        for edge in self._edges:
            edge.do(action)
