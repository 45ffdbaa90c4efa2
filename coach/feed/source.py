"""What every source is: something that is opened, read with a limit to the waiting, and closed.

Sources are read by one thread. In flight a source never raises for what the world does: a line that is gone
is nothing to read, and the source tries to get it back. What it notices is told in one line, once a change.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Protocol

READ_BYTES = 65_536
"""At most so much at once: the largest datagram; a stream gives the rest with the next read."""

RETRY_S = 2.0
"""Between two tries to get a lost connection back; our own choice."""

Tell = Callable[[str], None]
"""Takes one line about the connection, for people; must not wait."""


class Source(Protocol):
    """Where bytes come from."""

    def open(self) -> None:
        """Get ready; raises `SetupError` or `SettingsError` for what a person can mend before the flight."""

    def read(self, wait_s: float) -> bytes | None:
        """Return what has arrived, empty where nothing came within `wait_s`; None where nothing ever will."""

    def close(self) -> None:
        """Let go; may be called at any time, also twice."""


class Retry:
    """When a lost connection is tried again: at once the first time, then after `retry_s` at the earliest."""

    def __init__(self, retry_s: float, monotonic: Callable[[], float]) -> None:
        self._retry_s = retry_s
        self._monotonic = monotonic
        self.next_s = float("-inf")

    def is_due(self, wait_s: float) -> bool:
        """Whether to try now; where not, `wait_s` at most have been waited."""
        left_s = self.next_s - self._monotonic()
        if left_s > 0.0:
            time.sleep(min(wait_s, left_s))
        return left_s <= 0.0

    def put_off(self) -> None:
        """It failed, or was lost."""
        self.next_s = self._monotonic() + self._retry_s


class Telling:
    """Tells a line only where it is another than the last one."""

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._last = ""

    def say(self, text: str) -> None:
        """Tell it, if it is news."""
        if text != self._last:
            self._last = text
            self._tell(text)
