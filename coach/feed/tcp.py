"""A stream from a host: connects, and connects again when it is lost. Never sends."""

from __future__ import annotations

import socket
import time
from collections.abc import Callable
from contextlib import suppress

from coach.feed.address import FeedAddress
from coach.feed.source import READ_BYTES, RETRY_S, Retry, Tell, Telling

CONNECT_WITHIN_S = 3.0
"""A host that does not answer for so long is tried again; our own choice."""


class TcpSource:
    """A TCP client; a host that is not there yet is tried until it is."""

    def __init__(
        self,
        address: FeedAddress,
        tell: Tell,
        *,
        retry_s: float = RETRY_S,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._place = f"{address.host}:{address.port}"
        self._target = (address.host, address.port)
        self._telling = Telling(tell)
        self._retry = Retry(retry_s, monotonic)
        self._socket: socket.socket | None = None
        self._is_closed = False

    def open(self) -> None:
        """Nothing: the first read connects."""

    def read(self, wait_s: float) -> bytes | None:
        """Return what the host sent; connects first where there is no connection."""
        if self._is_closed:
            return None
        if self._socket is None and not self._connect(wait_s):
            return b""
        return self._receive(wait_s)

    def close(self) -> None:
        """End the connection for good."""
        self._is_closed = True
        self._drop()

    def _connect(self, wait_s: float) -> bool:
        if not self._retry.is_due(wait_s):
            return False
        try:
            self._socket = socket.create_connection(self._target, timeout=CONNECT_WITHIN_S)
        except (OSError, UnicodeError) as error:
            self._lost(f"no connection to {self._place} ({error}), trying again")
            return False
        self._telling.say(f"connected to {self._place}")
        return True

    def _receive(self, wait_s: float) -> bytes:
        connection = self._socket
        if connection is None:
            return b""
        try:
            connection.settimeout(wait_s)
            data = connection.recv(READ_BYTES)
        except TimeoutError:
            return b""
        except OSError as error:
            self._lost(f"connection to {self._place} lost ({error}), trying again")
            return b""
        if not data:
            self._lost(f"{self._place} has closed the connection, trying again")
        return data

    def _lost(self, text: str) -> None:
        self._drop()
        self._retry.put_off()
        if not self._is_closed:
            self._telling.say(text)

    def _drop(self) -> None:
        connection, self._socket = self._socket, None
        if connection is not None:
            with suppress(OSError):
                connection.close()
