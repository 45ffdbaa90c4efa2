"""How the simulated aircraft's bytes come to the coach: through a UDP socket on loopback, or handed over.

The socket is a real one; the session's clock stays the simulated one, since a datagram on loopback is there
as soon as it is sent. Never listens beyond loopback.
"""

from __future__ import annotations

import socket
from contextlib import suppress
from types import TracebackType
from typing import Protocol

from coach.errors import CoachError

LOOPBACK = "127.0.0.1"
LONGEST_WAIT_S = 2.0
"""A datagram on loopback that is not there by then is lost: the machine is stuck."""

LARGEST_DATAGRAM = 65_536


class Link(Protocol):
    """Carries datagrams."""

    def carry(self, datagram: bytes) -> bytes:
        """Send it from the aircraft and return it as the coach receives it."""

    def close(self) -> None:
        """Let go of what it is made of."""


class HandedOver:
    """In the process: for tests."""

    def carry(self, datagram: bytes) -> bytes:
        """The same bytes."""
        return datagram

    def close(self) -> None:
        """Nothing to let go of."""


class Loopback:
    """Two UDP sockets."""

    def __init__(self) -> None:
        self._coach = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._coach.bind((LOOPBACK, 0))
        self._coach.settimeout(LONGEST_WAIT_S)
        self._aircraft = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._aircraft.connect(self._coach.getsockname())

    def __enter__(self) -> Loopback:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def port(self) -> int:
        """The coach's port."""
        return int(self._coach.getsockname()[1])

    def carry(self, datagram: bytes) -> bytes:
        """Through the sockets; CoachError where it does not arrive."""
        self._aircraft.send(datagram)
        while True:
            try:
                received, sender = self._coach.recvfrom(LARGEST_DATAGRAM)
            except TimeoutError as exc:
                raise CoachError("a datagram on loopback did not arrive") from exc
            # Anybody on this machine may send to the port: only the simulated aircraft is listened to.
            if sender == self._aircraft.getsockname():
                return received

    def close(self) -> None:
        """Close both."""
        for end in (self._coach, self._aircraft):
            with suppress(OSError):
                end.close()
