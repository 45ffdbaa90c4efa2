"""A serial line, also a GPS receiver on USB: opened again when it has been pulled out. Never writes to it."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from coach.errors import SetupError
from coach.feed.address import FeedAddress
from coach.feed.source import READ_BYTES, RETRY_S, Retry, Tell, Telling

if TYPE_CHECKING:
    from serial import Serial


class SerialSource:
    """A serial port, 8 data bits, no parity, 1 stop bit."""

    def __init__(
        self,
        address: FeedAddress,
        tell: Tell,
        *,
        retry_s: float = RETRY_S,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._address = address
        self._telling = Telling(tell)
        self._retry = Retry(retry_s, monotonic)
        self._port: Serial | None = None
        self._is_closed = False

    def open(self) -> None:
        """Open the port. Raises `SetupError` where pyserial or the port is missing."""
        try:
            import serial
        except ImportError as error:
            raise SetupError(
                f"{self._address}: a serial line needs pyserial: pip install 'drill-coach[serial]'"
            ) from error
        try:
            self._port = _open(self._address)
        except (OSError, ValueError, serial.SerialException) as error:
            raise SetupError(f"{self._address}: cannot open: {error}. There are: {_ports()}") from error
        self._telling.say(f"reading {self._address.path} at {self._address.baud} baud")

    def read(self, wait_s: float) -> bytes | None:
        """Return what has arrived; opens the port again where it is gone."""
        if self._is_closed:
            return None
        if self._port is None and not self._reopen(wait_s):
            return b""
        return self._receive(wait_s)

    def close(self) -> None:
        """Let the port go for good."""
        self._is_closed = True
        self._drop()

    def _reopen(self, wait_s: float) -> bool:
        if not self._retry.is_due(wait_s):
            return False
        try:
            self._port = _open(self._address)
        except (OSError, ValueError):
            # pyserial's own exception is an OSError.
            self._retry.put_off()
            return False
        self._telling.say(f"{self._address.path} is back")
        return True

    def _receive(self, wait_s: float) -> bytes:
        port = self._port
        if port is None:
            return b""
        try:
            port.timeout = wait_s
            first = port.read(1)
            return first + port.read(min(READ_BYTES, port.in_waiting)) if first else b""
        except (OSError, TypeError, ValueError) as error:
            # A port that is closed or pulled out while it is read raises any of these.
            self._drop()
            self._retry.put_off()
            if not self._is_closed:
                self._telling.say(f"{self._address.path} is gone ({error}), trying again")
            return b""

    def _drop(self) -> None:
        port, self._port = self._port, None
        if port is not None:
            with suppress(OSError, TypeError, ValueError):
                port.close()


def _open(address: FeedAddress) -> Serial:
    import serial

    return serial.Serial(address.path, address.baud, timeout=0.0)


def _ports() -> str:
    from serial.tools.list_ports import comports

    return ", ".join(port.device for port in comports()) or "none"
