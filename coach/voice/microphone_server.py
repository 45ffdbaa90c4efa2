"""Notices that the sound server has moved the microphone's stream to another device.

A source that is pulled out while another exists leaves the stream running: PortAudio gives no sign, and the
pilot's voice no longer arrives. Only the server knows. Never opens or closes a stream.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from coach.voice.sound_server import OwnStream


class Server(Protocol):
    """What of `sound_server.SoundServer` is used here."""

    def find_own_stream(self) -> OwnStream | None:
        """This process's recording stream."""

    def watch(self, on_change: Callable[[], None]) -> None:
        """Call back when something changes."""

    def close(self) -> None:
        """Stop watching."""


class SourceWatch:
    """Calls `moved` when the present stream is on another source than it began on."""

    def __init__(self, server: Server, moved: Callable[[], None]) -> None:
        self._server = server
        self._moved = moved
        self._known: OwnStream | None = None

    def start(self) -> None:
        """Begin to watch; without a server nothing ever happens."""
        self._server.watch(self._look)

    def close(self) -> None:
        """Stop watching."""
        self._server.close()

    def _look(self) -> None:
        known, self._known = self._known, self._server.find_own_stream()
        if known is None or self._known is None:
            return
        if self._known.index == known.index and self._known.device != known.device:
            self._moved()
