"""A worker's thread that begins again where a bug of ours ends it, and says so.

In the air a worker that is gone is worse than one that has lost its place. Never hides a failure.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Literal

from coach.session.events import EdgeFailed, EdgeRecovered, Event

FIRST_WAIT_S, LONGEST_WAIT_S = 0.2, 30.0
"""Before a worker begins again: doubled each time, up to the longest."""

Edge = Literal["microphone", "speaker", "ear", "voice", "journal"]


class LastingThread(threading.Thread):
    """Runs `work` until it returns; posts `EdgeFailed` where it raises, `EdgeRecovered` where it goes on."""

    def __init__(
        self,
        work: Callable[[], None],
        *,
        name: str,
        edge: Edge,
        post: Callable[[EdgeFailed | EdgeRecovered], None] | Callable[[Event], None],
        closing: threading.Event,
        now_s: Callable[[], float] = lambda: 0.0,
    ) -> None:
        """`closing` set: it does not begin again. `now_s` dates what is posted; the loop dates it anyway."""
        super().__init__(name=name, daemon=True)
        self._work = work
        self._edge: Edge = edge
        self._send = post
        self._closing = closing
        self._now_s = now_s

    def run(self) -> None:
        """Work, again and again until it ends in order."""
        wait_s = FIRST_WAIT_S
        while not self._has_worked():
            if self._closing.wait(wait_s):
                return
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)
            now_s = self._now_s()
            self._send(EdgeRecovered(at_s=now_s, onset_s=now_s, edge=self._edge))

    def _has_worked(self) -> bool:
        try:
            self._work()
        except Exception as exc:
            now_s, reason = self._now_s(), f"{self.name} ended by {exc!r:.100}, begins again"
            self._send(EdgeFailed(at_s=now_s, onset_s=now_s, edge=self._edge, reason=reason))
            return False
        return True
