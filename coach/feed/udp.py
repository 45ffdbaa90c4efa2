"""Datagrams: listens on one port, from this machine only unless told otherwise. Never sends."""

from __future__ import annotations

import socket
import time
from contextlib import suppress

from coach.errors import SetupError
from coach.feed.address import EVERYWHERE, FeedAddress
from coach.feed.source import READ_BYTES, Tell


class UdpSource:
    """A UDP port; bound to 127.0.0.1 no other machine can reach it."""

    def __init__(self, address: FeedAddress, tell: Tell) -> None:
        self._address = address
        self._tell = tell
        self._socket: socket.socket | None = None

    def open(self) -> None:
        """Bind the port. Raises `SetupError` where it is taken or the address is not this machine's."""
        host = "" if self._address.host == EVERYWHERE else self._address.host
        try:
            family = socket.AF_INET6 if ":" in host else socket.AF_INET
            self._socket = socket.socket(family, socket.SOCK_DGRAM)
            self._socket.bind((host, self._address.port))
        except (OSError, UnicodeError) as error:
            self.close()
            raise SetupError(f"{self._address}: cannot listen: {error}") from error
        whose = "the network" if self._address.hears_network else "this machine only"
        self._tell(f"listening on port {self._address.port}, {whose}")

    def read(self, wait_s: float) -> bytes | None:
        """Return one datagram."""
        if self._socket is None:
            return None
        try:
            self._socket.settimeout(wait_s)
            return self._socket.recv(READ_BYTES)
        except TimeoutError:
            return b""
        except OSError:
            # Some systems report here that a port we never sent to is closed.
            time.sleep(wait_s)
            return b""

    def close(self) -> None:
        """Give the port back."""
        if self._socket is not None:
            with suppress(OSError):
                self._socket.close()
