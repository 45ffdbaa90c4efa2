"""The loop: one queue of facts, one session, the edges that carry its actions out.

The same loop flies on a real clock with real devices (`LiveWorld`) and in a rehearsal on a simulated
one. Never decides anything: the session does.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Protocol

from coach.session.actions import Action, Finish
from coach.session.events import Event, SessionStarted, Woken
from coach.session.machine import Session

QUEUE_SIZE = 1024
"""Facts that may wait; more than that means that the loop is stuck, and the oldest are not worth keeping."""

LONGEST_WAIT_S = 3600.0


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


def fly(session: Session, world: World, journal: Journal) -> None:
    """Run a session to its end."""
    now_s = world.now_s()
    event: Event = SessionStarted(at_s=now_s, onset_s=now_s)
    while not _handle(session, world, journal, event):
        event = world.wait(session.next_wakeup_s)


def _handle(session: Session, world: World, journal: Journal, event: Event) -> bool:
    """Take one event; True where the session is over."""
    actions = session.handle(event)
    journal.write(event, actions)
    for action in actions:
        world.do(action)
    return any(isinstance(action, Finish) for action in actions)


class SessionClock:
    """Seconds since the session began, from the monotonic clock: a wall clock that steps changes nothing."""

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._monotonic = monotonic
        self._began_s = monotonic()

    def now_s(self) -> float:
        """Seconds since the session began."""
        return self._monotonic() - self._began_s


class Inbox:
    """The one bounded queue: workers put facts in, the loop takes them out and dates them.

    `lost` counts facts refused because the queue was full.
    """

    def __init__(self, now_s: Callable[[], float], size: int = QUEUE_SIZE) -> None:
        self._now_s = now_s
        self._facts: queue.Queue[Event] = queue.Queue(maxsize=size)
        self.lost = 0

    def post(self, event: Event) -> None:
        """Put a fact in; never waits. Called by any thread."""
        try:
            self._facts.put_nowait(event)
        except queue.Full:
            self.lost += 1

    def take(self, until_s: float | None) -> Event:
        """The next fact, dated now, or `Woken` at `until_s`."""
        try:
            return self._dated(self._facts.get(timeout=self._timeout_s(until_s)))
        except queue.Empty:
            now_s = self._now_s()
            return Woken(at_s=now_s, onset_s=now_s if until_s is None else min(until_s, now_s))

    def _timeout_s(self, until_s: float | None) -> float:
        if until_s is None:
            return LONGEST_WAIT_S
        return min(LONGEST_WAIT_S, max(0.0, until_s - self._now_s()))

    def _dated(self, event: Event) -> Event:
        now_s = self._now_s()
        return replace(event, at_s=now_s, onset_s=min(event.onset_s, now_s))


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
