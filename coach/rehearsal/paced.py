"""A rehearsal at the pace of a clock, so that somebody can watch it, or at so many times that pace.

Wraps the simulated world: facts come no sooner than the wall clock allows, and what comes from outside, such
as an instructor's page, comes in between. Never changes what is flown.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import replace

from coach.cockpit import Edge, World
from coach.session.actions import Action
from coach.session.events import Event, Woken

STEP_S = 0.05
"""How late what comes from outside is taken, at the most, in seconds of the wall clock."""

MOST_WAITING = 256
"""Facts from outside that may wait; a person presses no faster."""


class PacedWorld:
    """The world of a rehearsal held to a clock; `pace`: session seconds to a second of the clock."""

    def __init__(
        self,
        world: World,
        pace: float,
        *,
        edges: Iterable[Edge] = (),
        followers: Iterable[Callable[[Event], None]] = (),
        monotonic: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        """`edges` carry the actions out beside the world; `followers` are shown every fact."""
        self._world = world
        self._pace = pace
        self._edges = tuple(edges)
        self._followers = tuple(followers)
        self._monotonic = monotonic
        self._sleep = sleep
        self._began_s = monotonic()
        self._outside: queue.Queue[Event] = queue.Queue(maxsize=MOST_WAITING)

    def now_s(self) -> float:
        """The session clock: the simulated one, which is held to the wall clock's pace."""
        return self._world.now_s()

    def paced_s(self) -> float:
        """What the session clock should show by the wall clock; for edges on other threads."""
        return (self._monotonic() - self._began_s) * self._pace

    def wait(self, until_s: float | None) -> Event:
        """The next fact of the simulated world or from outside, when the clock is there."""
        while True:
            step_s = self._world.now_s() + STEP_S * self._pace
            is_step = until_s is None or step_s < until_s
            event = self._world.wait(step_s if is_step else until_s)
            self._keep_pace()
            if not (is_step and isinstance(event, Woken)):
                return self._shown(event)
            with suppress(queue.Empty):
                return self._shown(self._dated(self._outside.get_nowait()))

    def post(self, event: Event) -> None:
        """Put a fact from outside in; never waits. Called by any thread."""
        with suppress(queue.Full):
            self._outside.put_nowait(event)

    def do(self, action: Action) -> None:
        """Hand an action to the world and to every edge."""
        self._world.do(action)
        for edge in self._edges:
            edge.do(action)

    def _keep_pace(self) -> None:
        ahead_s = (self._world.now_s() - self.paced_s()) / self._pace
        if ahead_s > 0.0:
            self._sleep(ahead_s)

    def _dated(self, event: Event) -> Event:
        now_s = self._world.now_s()
        return replace(event, at_s=now_s, onset_s=min(event.onset_s, now_s))

    def _shown(self, event: Event) -> Event:
        for follow in self._followers:
            follow(event)
        return event
