"""The page as an edge of the flight: it follows the session, and posts what is pressed in a browser.

The web server is a child process. The loop only folds what happens into a board; a thread of its own sends
the changes on, so that a child that is slow, hung or flooded never holds the flight up. A child that is gone
is told once and started again at the same address.
"""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from coach.drill.plan import Plan
from coach.errors import Problem, SetupError
from coach.nav.station import Station
from coach.page.addresses import EVERYWHERE, LOOPBACK, LOOPBACK_NAMES, PORT, Addresses, find_own
from coach.page.board import Board
from coach.page.child_process import Child, ChildFailed
from coach.page.commands import Command, event_of
from coach.page.door import new_token
from coach.page.ledger import BEGUN
from coach.session.actions import Action
from coach.session.events import EdgeFailed, EdgeRecovered, Event

AGAIN_AFTER_S = 1.0
STOP_WITHIN_S = 2.0
BEAT_EVERY_S = 5.0
"""How often an idle flight shows the page that it is alive."""

COMMAND = (sys.executable, "-m", "coach.page.child")


@dataclass(frozen=True, slots=True, kw_only=True)
class PageChoice:
    """How the page is served."""

    port: int = PORT
    """0: any free one."""

    is_shared: bool = False
    """True: others on the network reach it."""

    pace: float = 1.0
    """How fast the session clock runs; not 1 in a rehearsal."""


class Page:
    """One flight's page, from `start` to `close`."""

    def __init__(
        self,
        plan: Plan,
        choice: PageChoice,
        *,
        station: Station | None = None,
        full_scale_deg: float = 10.0,
        command: tuple[str, ...] = COMMAND,
    ) -> None:
        """`station`: where positions are seen from, where there is a feed; None: no feed."""
        self._board = Board(plan, station=station, full_scale_deg=full_scale_deg, pace=choice.pace)
        self._choice = choice
        self._command = command
        self._port = choice.port
        self._watch_token, self._command_token, self._flight = new_token(), new_token(), new_token()[:8]
        self._own = find_own() if choice.is_shared else ()
        self._changed = threading.Condition()
        self._is_closing = False
        self._is_bug_told = False
        self._clock: Callable[[], float] = lambda: 0.0
        self._post: Callable[[Event], None] = lambda _event: None
        self._child: Child | None = None
        self._keeper: threading.Thread | None = None

    # ---- before the flight

    def start(self) -> Addresses:
        """Start to serve; SetupError where it cannot, such as on a port that is in use."""
        if self._choice.is_shared and not self._own:
            raise SetupError(Problem(where="--share", expected="a network to share on", got="none"))
        try:
            self._child = self._start_child()
        except ChildFailed as failure:
            expected = "another port with --page PORT" if self._port else "a free port"
            raise SetupError(
                Problem(where=f"page: port {self._port}", expected=expected, got=str(failure))
            ) from failure
        self._keeper = threading.Thread(target=self._keep, name="page", daemon=True)
        self._keeper.start()
        host = self._own[0] if self._own else LOOPBACK
        at = f"http://{host}:{self._port}"
        return Addresses(
            watch=f"{at}/{self._watch_token}/",
            command=f"{at}/{self._command_token}/",
            is_shared=bool(self._own),
        )

    # ---- as an edge of the flight

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        """The flight begins. `post` must not wait."""
        with self._changed:
            self._post, self._clock = post, clock
            self._board.ledger.put(BEGUN, True, clock())
            self._changed.notify()

    def do(self, action: Action) -> None:
        """Show what the session wants done; never waits."""
        self._fold(lambda now_s: self._board.note_action(action, now_s))

    def heard(self, event: Event) -> None:
        """Show what has happened; never waits."""
        self._fold(lambda now_s: self._board.note_event(event, now_s))

    def tell(self, text: str) -> None:
        """Show a line that is no part of the session."""
        self._fold(lambda now_s: self._board.tell(text, now_s))

    def _fold(self, fold: Callable[[float], None]) -> None:
        """Change the board. A bug in it is told once; it never ends the flight that is only watched."""
        with self._changed:
            at_s = self._clock()
            try:
                fold(at_s)
            except Exception as bug:
                if not self._is_bug_told:
                    self._is_bug_told = True
                    reason = f"does not show all: {bug!r}"
                    self._post(EdgeFailed(at_s=at_s, onset_s=at_s, edge="page", reason=reason))
            self._changed.notify()

    def close(self) -> None:
        """End the child; harmless if it was never started."""
        with self._changed:
            self._is_closing = True
            self._changed.notify()
        if self._keeper is not None:
            self._keeper.join(STOP_WITHIN_S)
            self._keeper = None
        if self._child is not None:
            self._child.close()
            self._child = None

    # ---- the thread that keeps the child

    def _keep(self) -> None:
        n: int | None = None
        while not self._is_closing:
            child = self._child
            if child is None:
                self._restart()
                n = None
                continue
            changes, n = self._wait_changes(n)
            reason = child.find_failure() or child.send(changes)
            if reason is not None and not self._is_closing:
                self._lose(child, reason)
        if self._child is not None:
            self._child.send(self._wait_changes(n)[0])

    def _wait_changes(self, n: int | None) -> tuple[bytes, int]:
        """What the child has not been sent, after a second at the latest; everything where `n` is None."""
        with self._changed:
            ledger = self._board.ledger
            self._changed.wait_for(lambda: n is None or ledger.n > n or self._is_closing, 1.0)
            now_s = self._clock()
            self._board.note_time(now_s)
            ledger.put("beat", int(time.monotonic() / BEAT_EVERY_S), now_s)
            missed = None if n is None else ledger.since(n)
            changes = (ledger.everything(now_s),) if missed is None else missed
            return b"".join(change + b"\n" for change in changes), ledger.n

    def _lose(self, child: Child, reason: str) -> None:
        child.kill()
        self._child = None
        at_s = self._clock()
        self._post(EdgeFailed(at_s=at_s, onset_s=at_s, edge="page", reason=reason))

    def _restart(self) -> None:
        with self._changed:
            self._changed.wait_for(lambda: self._is_closing, AGAIN_AFTER_S)
        if self._is_closing:
            return
        with suppress(ChildFailed):
            self._child = self._start_child()
            at_s = self._clock()
            self._post(EdgeRecovered(at_s=at_s, onset_s=at_s, edge="page"))

    def _start_child(self) -> Child:
        choice = {
            "bind": EVERYWHERE if self._choice.is_shared else LOOPBACK,
            "port": self._port,
            "hosts": [*LOOPBACK_NAMES, *self._own],
            "watch_token": self._watch_token,
            "command_token": self._command_token,
            "flight": self._flight,
            "pace": self._choice.pace,
        }
        child = Child(self._command, choice, self._take)
        self._port = child.port
        return child

    def _take(self, values: dict[str, Any]) -> None:
        """A command has come from a browser."""
        self._post(event_of(Command(**values), self._clock()))
