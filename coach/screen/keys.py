"""Reads single keys from the terminal, and leaves the terminal as it was however the flight ends.

Each key is one fact as soon as it is pressed; nothing is echoed. Never decides what a key does: that
is `coach.screen.keypad` and the session.
"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable
from types import FrameType
from typing import Protocol

from coach.screen.keypad import KeyPad
from coach.session.events import EdgeFailed, Event

CLOSE_WITHIN_S = 1.0

ENDING_SIGNALS = ("SIGTERM", "SIGHUP")
"""Those that end a program without a word: here they unwind it, so that the terminal is restored."""


class KeySource(Protocol):
    """A keyboard: `posix_keys.PosixKeys` or `windows_keys.WindowsKeys`."""

    def open(self) -> None:
        """Begin; `SetupError` where there is no terminal to read from."""

    def read(self, timeout_s: float | None) -> tuple[str, ...] | None:
        """The keys pressed, none at the end of the timeout; None: closed. `OSError`: the terminal is gone."""

    def stop(self) -> None:
        """Have `read` return None at once; any thread may call it."""

    def close(self) -> None:
        """The terminal as it was."""


class KeyReader:
    """Posts what the keys mean, from a thread of its own, between `open` and `close`."""

    def __init__(self, pad: KeyPad, source: KeySource | None = None) -> None:
        self._pad = pad
        self._source = source or find_source()
        self._thread: threading.Thread | None = None
        self._handlers: dict[int, object] = {}

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        """Read keys from now on. `post` must not wait. Raises SetupError where there is no terminal."""
        self._source.open()
        self._handlers = _unwind_on_signals()
        self._thread = threading.Thread(target=self._work, args=(post, clock), name="keys", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Leave the terminal as it was; harmless if it was never opened."""
        if self._thread is None:
            return
        self._source.stop()
        self._thread.join(CLOSE_WITHIN_S)
        self._thread = None
        self._source.close()
        for number, handler in self._handlers.items():
            signal.signal(number, handler)  # type: ignore[arg-type]

    def _work(self, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        try:
            while (names := self._source.read(self._timeout_s(clock))) is not None:
                for event in self._events(names, clock()):
                    post(event)
        except OSError as exc:
            at_s = clock()
            reason = f"keys: {exc.strerror or exc}"
            post(EdgeFailed(at_s=at_s, onset_s=at_s, edge="screen", reason=reason))

    def _timeout_s(self, clock: Callable[[], float]) -> float | None:
        released_at_s = self._pad.released_at_s
        return None if released_at_s is None else max(0.0, released_at_s - clock())

    def _events(self, names: tuple[str, ...], at_s: float) -> list[Event]:
        events = [self._pad.press(name, at_s) for name in names]
        return [event for event in (*events, self._pad.wait(at_s)) if event is not None]


def find_source() -> KeySource:
    """The keyboard of this system."""
    if sys.platform == "win32":
        from coach.screen.windows_keys import WindowsKeys

        return WindowsKeys()
    else:  # noqa: RET505 (the type checker reads one branch for each system)
        from coach.screen.posix_keys import PosixKeys

        return PosixKeys()


def _unwind_on_signals() -> dict[int, object]:
    """Have the ending signals raise SystemExit in the main thread; the handlers there were before."""
    if threading.current_thread() is not threading.main_thread():
        return {}
    numbers = [getattr(signal, name) for name in ENDING_SIGNALS if hasattr(signal, name)]
    unclaimed = [number for number in numbers if signal.getsignal(number) == signal.SIG_DFL]
    return {number: signal.signal(number, _unwind) for number in unclaimed}


def _unwind(number: int, _frame: FrameType | None) -> None:
    raise SystemExit(128 + number)
