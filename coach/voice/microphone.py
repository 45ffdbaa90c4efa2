"""The microphone: blocks of sound with their session times, from a device that may go away.

Opens, watches, closes and reopens the input stream on a thread of its own; nothing here ever blocks the
loop. A device that is gone is a fact, not an exception. Never listens to what is said.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Protocol

from coach.errors import SetupError
from coach.session.events import EdgeFailed, EdgeRecovered
from coach.voice.ear import Block
from coach.voice.lasting import LastingThread
from coach.voice.microphone_server import Server, SourceWatch
from coach.voice.sound_server import SoundServer

BLOCK_S = 0.032
"""Length of a block, one frame of the ear: a longer one lets a frame wait for the rest of its block."""

QUEUED_BLOCKS = 160
"""Five seconds of sound; more is thrown away and counted."""

SILENT_S = 1.0
"""A device that has delivered nothing for this long is gone, though PortAudio calls it active."""

FIRST_WAIT_S, LONGEST_WAIT_S = 0.25, 1.0
"""Between two tries to open a device: doubled each time, up to the longest: back within 3 s of its return."""

LEAST_WAIT_S = 0.1
"""A try may itself look like a change at the sound server: it never leads to the next one at once."""

OVERSLEPT_S = 0.3
"""Whoever wakes this much later than planned was stopped itself, and learns nothing from the silence."""

OLDEST_S = 1.0
"""A driver whose block times lie further back than this does not know the time; arrival counts then."""

CLOSE_DEADLINE_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class InputDevice:
    """A device that sound can be taken from."""

    index: int
    """The number to choose it by."""

    name: str
    is_default: bool


def list_input_devices() -> tuple[InputDevice, ...]:
    """Every input device; `SetupError` where PortAudio itself is missing."""
    sounddevice = load_sounddevice()
    default = sounddevice.default.device[0]
    return tuple(
        InputDevice(index=device["index"], name=device["name"], is_default=device["index"] == default)
        for device in sounddevice.query_devices()
        if device["max_input_channels"] > 0
    )


def load_sounddevice() -> Any:
    """The sounddevice module; `SetupError` where it or PortAudio is missing."""
    try:
        import sounddevice
    except (ImportError, OSError) as exc:
        raise SetupError("sound: PortAudio is missing; apt install libportaudio2 libasound2-plugins") from exc
    return sounddevice


Arrived = Callable[[Block, float, bool], None]
"""Takes a block, the time of its first sample on the opener's clock, and whether sound was lost before it."""


class Stream(Protocol):
    """An open input."""

    def close(self) -> None:
        """Give the device back; may block for as long as its server is away."""


Opener = Callable[[Arrived, Callable[[], None]], Stream]
"""Opens the input: blocks go to the first callable, the end of the stream to the second. Raises `OSError`."""


@dataclass(frozen=True, slots=True)
class _Arrival:
    block: Block
    at_s: float


class Microphone:
    """Delivers blocks of an input device for as long as there is one."""

    def __init__(
        self,
        *,
        open_stream: Opener,
        take: Callable[[Block, float], None],
        post: Callable[[EdgeFailed | EdgeRecovered], None],
        clock: Callable[[], float],
        server: Server | None = None,
    ) -> None:
        """`take` gets each block with the session time of its first sample, `post` losses and returns of the
        device, both on the microphone's thread. `clock` is session time, as in the opener.
        `server` is asked whether the stream was moved; None: the one of this machine, if any."""
        self._open_stream = open_stream
        self._take = take
        self._post = post
        self._clock = clock
        self._arrived: queue.Queue[_Arrival | None] = queue.Queue(QUEUED_BLOCKS)
        self._stopping = threading.Event()
        self._is_lost = threading.Event()
        self._is_told = False
        self._retry = threading.Event()
        self._watch = SourceWatch(server or SoundServer("source"), self._retry.set)
        self._thread = LastingThread(
            self._run, name="microphone", edge="microphone", post=post, closing=self._stopping, now_s=clock
        )
        self.overflows = 0
        """How often sound was lost because the device or this thread was too slow."""

    def start(self) -> None:
        """Begin to open the device; returns at once."""
        self._thread.start()
        self._watch.start()

    def lose(self) -> None:
        """Treat the present stream as lost: what somebody who watches the sound server calls."""
        self._is_lost.set()
        with suppress(queue.Full):
            self._arrived.put_nowait(None)  # wakes the thread

    def close(self) -> None:
        """End the thread and give the device back."""
        self._stopping.set()
        self._retry.set()
        self.lose()
        self._watch.close()
        if self._thread.is_alive():
            self._thread.join(CLOSE_DEADLINE_S)

    def _run(self) -> None:
        wait_s = FIRST_WAIT_S
        while not self._stopping.is_set():
            if self._deliver():
                wait_s = FIRST_WAIT_S
            self._stopping.wait(LEAST_WAIT_S)
            self._retry.wait(wait_s)
            self._retry.clear()
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)

    def _deliver(self) -> bool:
        """Open the device and pass its blocks on until it is lost; whether there were any."""
        self._is_lost.clear()
        self._drop_old()
        try:
            stream = self._open_stream(self._arrive, self.lose)
        except OSError as error:
            self._tell_lost(str(error))
            return False
        blocks = self._pass_on()
        if not self._stopping.is_set():
            self._tell_lost("microphone gone: no sound comes from it")
        _close_aside(stream)
        return blocks > 0

    def _pass_on(self) -> int:
        blocks = 0
        while not self._is_lost.is_set():
            asleep_from_s = time.monotonic()
            try:
                arrival = self._arrived.get(timeout=SILENT_S)
            except queue.Empty:
                if time.monotonic() - asleep_from_s > SILENT_S + OVERSLEPT_S:
                    continue
                return blocks
            if arrival is None:
                continue
            self._tell(self._watch.trouble)
            self._take(arrival.block, arrival.at_s)
            blocks += 1
        return blocks

    def _arrive(self, block: Block, at_s: float, has_lost: bool) -> None:
        """Called by the device's own thread: must not wait."""
        self.overflows += has_lost
        try:
            self._arrived.put_nowait(_Arrival(block, at_s))
        except queue.Full:
            self.overflows += 1

    def _drop_old(self) -> None:
        while not self._arrived.empty():
            self._arrived.get_nowait()

    def _tell(self, trouble: str | None) -> None:
        """Tell once that the microphone is in trouble, and once that it is well again."""
        if trouble is None:
            self._tell_back()
        else:
            self._tell_lost(trouble)

    def _tell_lost(self, reason: str) -> None:
        if not self._is_told:
            self._is_told = True
            now_s = self._clock()
            self._post(EdgeFailed(at_s=now_s, onset_s=now_s, edge="microphone", reason=reason))

    def _tell_back(self) -> None:
        if self._is_told:
            self._is_told = False
            now_s = self._clock()
            self._post(EdgeRecovered(at_s=now_s, onset_s=now_s, edge="microphone"))


def _close_aside(stream: Stream) -> None:
    """Close on a thread nobody waits for: with its sound server stopped, closing blocks until it is back."""
    closer = threading.Thread(target=stream.close, daemon=True)
    closer.start()
    closer.join(CLOSE_DEADLINE_S / 2)
