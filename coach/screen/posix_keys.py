"""Single keys from a POSIX terminal. Never loses the terminal's own settings: they come back at the end.

Ctrl-C still interrupts. Ctrl-Z, Ctrl-S and Ctrl-\\ do nothing here: a coach stopped or a screen frozen by
a slip of the hand is nothing that a pilot would notice in time.
"""

from __future__ import annotations

import atexit
import errno
import os
import select
import sys
from contextlib import suppress
from typing import Any

from coach.errors import SetupError
from coach.screen.keystrokes import ESCAPE_WITHIN_S, Keystrokes

assert sys.platform != "win32"

import termios  # noqa: E402 (for the type checker: below it nothing is read for Windows)

NO_TERMINAL = "standard input: expected a terminal to read keys from, got none"

_IFLAG, _LFLAG, _CC = 0, 3, 6


class PosixKeys:
    """The keyboard behind a descriptor; standard input unless another is given."""

    def __init__(self, descriptor: int | None = None) -> None:
        self._descriptor = sys.__stdin__.fileno() if descriptor is None and sys.__stdin__ else descriptor
        self._keystrokes = Keystrokes()
        self._before: list[Any] | None = None
        self._woken, self._wakes = -1, -1

    def open(self) -> None:
        """Take single keys. Raises SetupError where there is no terminal, or another program has it."""
        if self._descriptor is None or not _is_ours(self._descriptor):
            raise SetupError(NO_TERMINAL)
        before = termios.tcgetattr(self._descriptor)
        disabled = bytes([os.fpathconf(self._descriptor, "PC_VDISABLE")])
        self._woken, self._wakes = os.pipe()
        self._before = before
        atexit.register(self.close)
        termios.tcsetattr(self._descriptor, termios.TCSANOW, _single_keys(before, disabled))

    def read(self, timeout_s: float | None) -> tuple[str, ...] | None:
        """The keys pressed, none at the end of the timeout; None once stopped."""
        assert self._descriptor is not None
        if self._keystrokes.is_waiting:
            timeout_s = min(ESCAPE_WITHIN_S, timeout_s if timeout_s is not None else ESCAPE_WITHIN_S)
        ready, _, _ = select.select((self._descriptor, self._woken), (), (), timeout_s)
        if self._woken in ready:
            return None
        if not ready:
            return self._keystrokes.flush()
        received = os.read(self._descriptor, 1024)
        if not received:
            raise OSError(errno.EIO, "the terminal is gone")
        return self._keystrokes.feed(received)

    def stop(self) -> None:
        """Have `read` return None."""
        os.write(self._wakes, b".")

    def close(self) -> None:
        """Put the terminal's settings back, once."""
        if self._before is None or self._descriptor is None:
            return
        before, self._before = self._before, None
        atexit.unregister(self.close)
        # What was typed and not read is no command for the shell. A terminal that is gone needs nothing.
        with suppress(termios.error):
            termios.tcflush(self._descriptor, termios.TCIFLUSH)
            termios.tcsetattr(self._descriptor, termios.TCSANOW, before)
        os.close(self._woken)
        os.close(self._wakes)


def _is_ours(descriptor: int) -> bool:
    """A terminal, and not one that we are in the background of: setting that would stop us."""
    if not os.isatty(descriptor):
        return False
    try:
        return os.tcgetpgrp(descriptor) == os.getpgrp()
    except OSError:
        return True


def _single_keys(before: list[Any], disabled: bytes) -> list[Any]:
    """No lines, no echo, no flow control; of the signal keys only Ctrl-C."""
    after = [*before[:_CC], list(before[_CC])]
    after[_IFLAG] &= ~(termios.IXON | termios.ICRNL)
    after[_LFLAG] &= ~(termios.ICANON | termios.ECHO | termios.IEXTEN)
    after[_CC][termios.VMIN], after[_CC][termios.VTIME] = 1, 0
    for name in ("VSUSP", "VQUIT", "VDSUSP"):
        if hasattr(termios, name):
            after[_CC][getattr(termios, name)] = disabled
    return after
