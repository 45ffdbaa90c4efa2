"""Connections to the page, at most so many: a flood of them costs little and lets the watchers be.

Each connection is nobody's until its request has been judged. When too many are nobody's, the oldest goes;
one that sends no whole request in time goes too. Never counts by address: all of loopback is one.
"""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_UNKNOWN = 64
"""Connections whose request has not been admitted; a browser opens at most six."""

REQUEST_WITHIN_S = 5.0
"""From the connection to a whole, admitted request."""


class Gate:
    """Counts the connections of one server."""

    def __init__(self, most_unknown: int = MOST_UNKNOWN, within_s: float = REQUEST_WITHIN_S) -> None:
        self._most_unknown = most_unknown
        self._within_s = within_s
        self._unknown: dict[tuple[str, int] | None, Connection] = {}
        self._known: dict[tuple[str, int] | None, Connection] = {}

    def enter(self, connection: Connection) -> None:
        """A connection has been made."""
        self._unknown[connection.client] = connection
        connection.loop.call_later(self._within_s, self._end_if_unknown, connection)
        if len(self._unknown) > self._most_unknown:
            self._end_if_unknown(next(iter(self._unknown.values())))

    def admit(self, client: Any) -> None:
        """The request of this client was admitted: its connection may stay."""
        key = None if client is None else tuple(client)
        connection = self._unknown.pop(key, None)
        if connection is not None:
            self._known[key] = connection

    def end(self, client: Any) -> None:
        """End the connection of this client at once, whatever it has not taken yet."""
        connection = self._known.get(None if client is None else tuple(client))
        if connection is not None:
            connection.transport.abort()

    def leave(self, connection: Connection) -> None:
        """A connection is gone."""
        for connections in (self._unknown, self._known):
            if connections.get(connection.client) is connection:
                del connections[connection.client]

    def protocol(self, **options: Any) -> Connection:
        """A protocol for a new connection; uvicorn names the options."""
        return Connection(gate=self, **options)

    def _end_if_unknown(self, connection: Connection) -> None:
        if self._unknown.get(connection.client) is connection:
            self.leave(connection)
            connection.transport.abort()


class Connection(H11Protocol):
    """uvicorn's, known to a gate from its beginning to its end."""

    def __init__(self, *, gate: Gate, **options: Any) -> None:
        super().__init__(**options)
        self._gate = gate

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin."""
        super().connection_made(transport)
        self._gate.enter(self)

    def connection_lost(self, exc: Exception | None) -> None:
        """End."""
        self._gate.leave(self)
        super().connection_lost(exc)
