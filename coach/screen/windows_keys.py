"""Single keys from a Windows console, which has to be asked for them. Changes no setting of it."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable

from coach.errors import SetupError

POLL_S = 0.02

NO_CONSOLE = "standard input: expected a console to read keys from, got none"

_CONTROLS = {"\r": "enter", "\n": "enter", "\t": "tab", "\b": "backspace", "\x1b": "escape", " ": "space"}
_SPECIAL_FOLLOWS = ("\x00", "\xe0")
# The second character of a special key, as `getwch` gives it (Microsoft's C runtime, scan codes).
_SPECIALS = {
    "H": "up", "P": "down", "K": "left", "M": "right", "G": "home", "O": "end", "I": "pageup",
    "Q": "pagedown", "R": "insert", "S": "delete", ";": "f1", "<": "f2", "=": "f3", ">": "f4",
    "?": "f5", "@": "f6", "A": "f7", "B": "f8", "C": "f9", "D": "f10", "\x85": "f11", "\x86": "f12",
}  # fmt: skip


class WindowsKeys:
    """The console's keyboard; `has_key` and `read_character` are `msvcrt`'s unless given."""

    def __init__(
        self, has_key: Callable[[], bool] | None = None, read_character: Callable[[], str] | None = None
    ) -> None:
        self._has_key = has_key
        self._read_character = read_character
        self._stopped = threading.Event()

    def open(self) -> None:
        """Begin. Raises SetupError where standard input is no console."""
        if sys.platform == "win32" and self._has_key is None:
            import msvcrt

            if sys.__stdin__ is None or not sys.__stdin__.isatty():
                raise SetupError(NO_CONSOLE)
            self._has_key, self._read_character = msvcrt.kbhit, msvcrt.getwch

    def read(self, timeout_s: float | None) -> tuple[str, ...] | None:
        """The keys pressed, none after a while; None once stopped."""
        assert self._has_key is not None
        if self._stopped.wait(POLL_S if timeout_s is None else min(POLL_S, timeout_s)):
            return None
        names = []
        while self._has_key():
            names.append(self._take())
        return tuple(name for name in names if name)

    def stop(self) -> None:
        """Have `read` return None."""
        self._stopped.set()

    def close(self) -> None:
        """Nothing was changed."""

    def _take(self) -> str | None:
        assert self._read_character is not None
        character = self._read_character()
        if character == "\x03":
            signal.raise_signal(signal.SIGINT)
        if character in _SPECIAL_FOLLOWS:
            return _SPECIALS.get(self._read_character())
        return _CONTROLS.get(character, character if character.isprintable() else None)
