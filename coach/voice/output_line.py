"""Keeps one output stream open for a whole session: opened, watched, closed when it is lost, opened again.

Closing and opening block (for seconds, or while the sound server is stopped), so that a thread of its own
does them. Never decides what sounds.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

from coach.errors import CoachError
from coach.session.events import Event
from coach.voice.lasting import LastingThread
from coach.voice.output_device import LATENCY_S, Fill, OutputDevice, Stream, check_output_device, open_output
from coach.voice.pcm import Samples
from coach.voice.sound_server import SoundServer
from coach.voice.stream_clock import StreamClock
from coach.voice.stream_health import StreamHealth

BACK_OFF_S = (0.2, 0.4, 0.8, 1.0)
"""Pauses before a lost device is tried again, the last one repeated: it is back within 3 s of its return."""

CLOSE_WITHIN_S = 2.0
"""How long the end of the session waits for a device that does not close."""

Render = Callable[[int, int], Samples]
"""Renders so many frames from a sample of the session on."""

Open = Callable[[OutputDevice, Fill, Callable[[], None]], Stream]


class OutputLine:
    """The way to the loudspeaker; `look` must be called a few times a second."""

    def __init__(
        self,
        device_name: str | None,
        *,
        clock: Callable[[], float],
        render: Render,
        on_change: Callable[[], None],
        find_device: Callable[[str | None], OutputDevice] = check_output_device,
        open_stream: Open = open_output,
        server: SoundServer | None = None,
        post: Callable[[Event], None] = lambda _event: None,
    ) -> None:
        """Make a line; nothing is opened yet.

        `clock`: the session's. `render` is called from the sound card's thread; `on_change` from any thread
        when it is worth a `look` at once. `post` takes what becomes of the line's own thread.
        """
        self._device_name = device_name
        self._clock = clock
        self._render = render
        self._on_change = on_change
        self._find_device = find_device
        self._open_stream = open_stream
        self._server = server or SoundServer("sink")
        self.n_gaps = 0
        """How often the card ran dry: a machine too busy to keep it fed."""
        self._health: StreamHealth | None = None
        self._trouble: str | None = None
        self._home: str | None = None
        self._lost = threading.Event()
        self._retry = threading.Event()
        self._closing = threading.Event()
        self._keeper = LastingThread(
            self._keep_open,
            name="speaker-device",
            edge="speaker",
            post=post,
            closing=self._closing,
            now_s=clock,
        )

    def start(self) -> None:
        """Begin to open the device, beside the caller; SetupError if there is none of that name."""
        device = self._find_device(self._device_name)
        self._device_name = device.name
        self._keeper.start()
        self._server.watch(self._note_server_change)

    def close(self) -> None:
        """Close the device; a device that does not close is left behind."""
        self._closing.set()
        self._lost.set()
        self._retry.set()
        self._server.close()
        if self._keeper.is_alive():
            self._keeper.join(CLOSE_WITHIN_S)

    def look(self, *, overslept_s: float) -> str | None:
        """Return what is wrong with the line in one line for the pilot, None if it sounds where it should.

        A lost stream is given up here. `overslept_s`: how much later than planned this look is.
        """
        health = self._health
        if health is None:
            return self._trouble
        loss = health.find_loss(self._clock(), overslept_s)
        if loss is not None:
            self._give_up(loss)
            return loss
        return f"{health.home} is gone, the sound comes from elsewhere" if health.is_away else None

    @property
    def is_dead(self) -> bool:
        """True while nothing can sound: no stream is open, and the last try to open one failed."""
        return self._health is None and self._trouble is not None

    @property
    def is_running(self) -> bool:
        """True while blocks are taken evenly."""
        return self._health is not None and self._health.is_running

    def _note_server_change(self) -> None:
        """See where the stream is now; on the server's thread, as a server that hangs takes its time."""
        self._retry.set()
        health = self._health
        if health is not None:
            self._look_at_server(health)
        self._on_change()

    def _look_at_server(self, health: StreamHealth) -> None:
        stream = self._server.find_own_stream()
        if stream is None:
            return
        present = self._server.list_devices()
        health.note_device(stream.device, present)
        self._home = health.home
        if health.is_away and health.home in present:
            self._server.move_stream(stream, str(health.home))

    def _give_up(self, reason: str) -> None:
        self._trouble, self._health = reason, None
        self._lost.set()

    def _keep_open(self) -> None:
        """Open, wait until it is lost, close, and again."""
        n_failures = 0
        while not self._closing.is_set():
            stream = self._open()
            if stream is not None:
                n_failures = 0
                self._lost.wait()
                stream.close()
            self._retry.wait(BACK_OFF_S[min(n_failures, len(BACK_OFF_S) - 1)])
            self._retry.clear()
            n_failures += 1

    def _open(self) -> Stream | None:
        self._lost.clear()
        if self._closing.is_set():
            return None
        health = StreamHealth(opened_at_s=self._clock(), home=self._home)
        self._health = health
        try:
            device = self._find_device(self._device_name)
            stream = self._open_stream(device, self._make_fill(health), self._make_finished(health))
            self._look_at_server(health)
            return stream
        except CoachError as exc:
            if self._health is health:
                self._give_up(str(exc).splitlines()[0])
            self._on_change()
            return None

    def _make_finished(self, health: StreamHealth) -> Callable[[], None]:
        def note_finished() -> None:
            health.note_finished()
            self._on_change()

        return note_finished

    def _make_fill(self, health: StreamHealth) -> Fill:
        """Return what fills the blocks of one stream; silence until it settles and once it is given up."""
        stream_clock = StreamClock(fallback_delay_s=LATENCY_S)

        def fill(buffer: Any, n_frames: int, delay_s: float, has_gap: bool) -> None:
            now_s = self._clock()
            self.n_gaps += has_gap
            at_sample = stream_clock.date(now_s=now_s, delay_s=delay_s, n_frames=n_frames, has_gap=has_gap)
            if at_sample is None or self._health is not health:
                buffer[:] = bytes(len(buffer))
                return
            health.note_call(now_s)
            buffer[:] = self._render(n_frames, at_sample).tobytes()

        return fill
