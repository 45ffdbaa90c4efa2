"""A sound card, a voice and a sound server of a few lines each: no thread, no device, time only when told."""

import threading

import numpy as np

from coach.errors import SetupError
from coach.voice.output_device import BLOCK_FRAMES, OutputDevice
from coach.voice.pcm import RATE_HZ
from coach.voice.sound_server import OwnStream

CARD = OutputDevice(name="card", is_default=True)
DELAY_S = 0.04


class FakeClock:
    def __init__(self):
        self.now_s = 0.0

    def __call__(self):
        return self.now_s


class FakeStream:
    """One open stream; `play` takes blocks as a card would and lets the time go by."""

    def __init__(self, clock, fill, on_finished):
        self._clock = clock
        self._fill = fill
        self.end = on_finished
        self.is_closed = threading.Event()

    def play(self, length_s, *, has_gap=False):
        sound = []
        for _ in range(round(length_s * RATE_HZ / BLOCK_FRAMES)):
            block = bytearray(2 * BLOCK_FRAMES)
            self._fill(memoryview(block), BLOCK_FRAMES, DELAY_S, has_gap)
            sound.append(np.frombuffer(bytes(block), dtype=np.int16))
            self._clock.now_s += BLOCK_FRAMES / RATE_HZ
        return np.concatenate(sound)

    def close(self):
        self.is_closed.set()


class FakeCard:
    """Opens streams; refuses while it is unplugged."""

    def __init__(self, clock):
        self._clock = clock
        self._is_plugged = True
        self._streams = []
        self._opened = threading.Condition()
        self.n_refused = 0

    def find(self, name):
        if name not in (None, "card"):
            raise SetupError(f"speaker: expected one of card, got {name!r}")
        return CARD

    def open(self, device, fill, on_finished):
        with self._opened:
            if not self._is_plugged:
                self.n_refused += 1
                raise SetupError(f"speaker: {device.name} did not open (no such device)")
            self._streams.append(FakeStream(self._clock, fill, on_finished))
            self._opened.notify_all()
            return self._streams[-1]

    def unplug(self):
        self._is_plugged = False

    def plug(self):
        self._is_plugged = True

    def stream(self, n=1):
        """Wait for the n-th stream that was opened."""
        with self._opened:
            assert self._opened.wait_for(lambda: len(self._streams) >= n, timeout=10)
            return self._streams[n - 1]


class FakeServer:
    """Knows where the stream is; moves it where it is told."""

    def __init__(self, *, present=(), on=None):
        self.present = present
        self.on = on
        self.change = lambda: None

    def put(self, on, present):
        """Change where the stream is and what is there, and let the speaker see it."""
        self.on, self.present = on, present
        self.change()

    def list_devices(self):
        return self.present

    def find_own_stream(self):
        return None if self.on is None else OwnStream(index=1, device=self.on)

    def move_stream(self, stream, device):
        self.on = device
        return True

    def watch(self, on_change):
        self.change = on_change

    def close(self):
        self.change = lambda: None


class FakeVoice:
    """Every word is a second of one level; `slow` texts are not ready, `dumb` ones cannot be rendered."""

    LEVEL = 1_000

    def __init__(self):
        self.may_render = threading.Event()
        self.may_render.set()

    def find_ready(self, text):
        return None if text in ("slow", "dumb") else self._sound()

    def render(self, text):
        self.may_render.wait(timeout=10)
        if text == "dumb":
            raise SetupError("voice: the speech process hung")
        return self._sound()

    def _sound(self):
        return np.full(RATE_HZ, self.LEVEL, dtype=np.int16)
