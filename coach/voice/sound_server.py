"""What the Linux sound server (PulseAudio, or PipeWire in its place) knows of our streams, through `pactl`.

A stream whose device is pulled out is moved to another one with no sign to the program that plays: only the
server tells. Without `pactl` nothing is known, and nothing here fails. Never plays or records.
"""

from __future__ import annotations

import json
import os
import subprocess
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

Direction = Literal["sink", "source"]
"""What sound is played into, and what it is recorded from."""

STREAMS = {"sink": "sink-input", "source": "source-output"}

ANSWER_WITHIN_S = 1.0
"""`pactl` answers in 0.01 s (measured); a server that is stopped does not answer at all."""

RETRY_S = (0.5, 1.0, 1.0, 1.0, 5.0)
"""Pauses before a server that went is listened to again, the last one repeated; 0.01 s of work each time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnStream:
    """A stream of this process on the server."""

    index: int
    device: str
    """Name of the sink or source it is on."""


class SoundServer:
    """One direction of the server: its devices, this process's stream, and when something changes."""

    def __init__(self, direction: Direction) -> None:
        self._direction = direction
        self._stopping = threading.Event()
        self._listener: subprocess.Popen[str] | None = None
        self._thread: threading.Thread | None = None

    def list_devices(self) -> tuple[str, ...]:
        """Return the names of the server's sinks or sources; empty where there is no server."""
        return tuple(device["name"] for device in _list(f"{self._direction}s"))

    def find_own_stream(self) -> OwnStream | None:
        """Return this process's stream in that direction; None if there is none, or no server."""
        names = {device["index"]: device["name"] for device in _list(f"{self._direction}s")}
        for stream in _list(f"{STREAMS[self._direction]}s"):
            is_own = stream["properties"].get("application.process.id") == str(os.getpid())
            if is_own and stream[self._direction] in names:
                return OwnStream(index=stream["index"], device=names[stream[self._direction]])
        return None

    def move_stream(self, stream: OwnStream, device: str) -> bool:
        """Move a stream to another device; False if the server refused."""
        return _run(f"move-{STREAMS[self._direction]}", str(stream.index), device) is not None

    def watch(self, on_change: Callable[[], None]) -> None:
        """Call back, from a thread, when a device or stream comes, goes or changes, or the server goes."""
        name = f"{self._direction}-watch"
        self._thread = threading.Thread(target=self._watch, args=(on_change,), name=name, daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop watching."""
        self._stopping.set()
        if self._listener is not None:
            self._listener.kill()
        if self._thread is not None:
            self._thread.join(ANSWER_WITHIN_S)

    def _watch(self, on_change: Callable[[], None]) -> None:
        n_failures = 0
        while not self._stopping.is_set():
            since_s = time.monotonic()
            on_change()  # what happened while nobody listened
            if not self._listen(on_change):
                return
            on_change()
            n_failures = 0 if time.monotonic() - since_s > ANSWER_WITHIN_S else n_failures + 1
            self._stopping.wait(RETRY_S[min(n_failures, len(RETRY_S) - 1)])

    def _listen(self, on_change: Callable[[], None]) -> bool:
        """Listen until the server goes; False where there is no `pactl`."""
        quiet = subprocess.DEVNULL
        command = ["pactl", "subscribe"]
        try:
            self._listener = subprocess.Popen(
                command, stdin=quiet, stdout=subprocess.PIPE, stderr=quiet, text=True, env=_environment()
            )
        except OSError:
            return False
        with self._listener as listener:
            assert listener.stdout is not None
            for line in listener.stdout:
                if f" on {self._direction}" in line:
                    on_change()
        return True


def _list(what: str) -> list[dict[str, Any]]:
    printed = _run("--format=json", "list", what)
    try:
        listed = json.loads(printed) if printed else []
    except ValueError:
        return []
    return listed if isinstance(listed, list) else []


def _run(*arguments: str) -> str | None:
    """Return what pactl prints; None if it is missing, refused, or got no answer."""
    try:
        done = subprocess.run(
            ["pactl", *arguments],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=ANSWER_WITHIN_S,
            check=True,
            env=_environment(),
        )
    except (OSError, subprocess.SubprocessError):
        return None
    return done.stdout


def _environment() -> dict[str, str]:
    return os.environ | {"LC_ALL": "C.UTF-8"}
