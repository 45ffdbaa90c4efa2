"""Notices that the sound server has moved the microphone's stream, and has it moved back.

A source that is pulled out while another exists leaves the stream running on that one: PortAudio gives no
sign, and the pilot's voice no longer arrives. Only the server knows. Never opens or closes a stream.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from coach.voice.sound_server import OwnStream
from coach.voice.stream_health import Home


class Server(Protocol):
    """What of `sound_server.SoundServer` is used here."""

    def list_devices(self) -> tuple[str, ...]:
        """The sources there are."""

    def find_own_stream(self) -> OwnStream | None:
        """This process's recording stream."""

    def move_stream(self, stream: OwnStream, device: str) -> bool:
        """Move the stream to another source."""

    def watch(self, on_change: Callable[[], None]) -> None:
        """Call back when something changes."""

    def close(self) -> None:
        """Stop watching."""


class SourceWatch:
    """Knows whether the stream is on the source it belongs on, and brings it back there."""

    def __init__(self, server: Server, changed: Callable[[], None]) -> None:
        """`changed` is called, from a thread, whenever opening a lost device may be worth a try."""
        self._server = server
        self._changed = changed
        self._home = Home()

    def start(self) -> None:
        """Begin to watch; without a server nothing ever happens."""
        self._server.watch(self._look)

    def close(self) -> None:
        """Stop watching."""
        self._server.close()

    @property
    def trouble(self) -> str | None:
        """What is wrong in one line for the pilot; None: the stream is where it belongs, or nobody knows."""
        return f"{self._home.name} is gone, another one listens" if self._home.is_away else None

    def _look(self) -> None:
        stream = self._server.find_own_stream()
        if stream is not None:
            present = self._server.list_devices()
            self._home.note(stream.device, present)
            if self._home.is_away and self._home.name in present:
                self._server.move_stream(stream, str(self._home.name))
        self._changed()
