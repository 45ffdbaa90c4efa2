"""The microphone's blocks arrive with their times, and a device that goes away is told and reopened."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from types import SimpleNamespace

import numpy as np
import pytest

from coach.session.events import EdgeFailed, EdgeRecovered
from coach.voice import microphone as mic
from coach.voice.microphone import Microphone
from coach.voice.microphone_device import JUMP_S, Dater, Resampler, _find_age, find_block_size
from coach.voice.sound_server import OwnStream

BLOCK = np.ones(800, np.int16)
DEADLINE_S = 30.0


class FakeInput:
    """A device that a test plugs in, feeds and pulls out."""

    def __init__(self) -> None:
        self.opened: queue.Queue = queue.Queue()
        self.closed: queue.Queue = queue.Queue()
        self.is_there = True

    def open(self, arrived: mic.Arrived, finished: object) -> SimpleNamespace:
        if not self.is_there:
            raise OSError("microphone: no such device")
        self.opened.put((arrived, finished))
        return SimpleNamespace(close=lambda: self.closed.put(True))

    def wait_open(self) -> tuple:
        return self.opened.get(timeout=DEADLINE_S)


@pytest.fixture(autouse=True)
def no_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mic, "FIRST_WAIT_S", 0.0)
    monkeypatch.setattr(mic, "LEAST_WAIT_S", 0.0)
    monkeypatch.setattr(mic, "SILENT_S", DEADLINE_S)


class FakeServer:
    """A sound server that a test moves the stream on."""

    def __init__(self) -> None:
        self.stream: OwnStream | None = None
        self.present: tuple[str, ...] = ()
        self.on_change: Callable[[], None] = lambda: None
        self.is_closed = False

    def list_devices(self) -> tuple[str, ...]:
        return self.present

    def find_own_stream(self) -> OwnStream | None:
        return self.stream

    def move_stream(self, stream: OwnStream, device: str) -> bool:
        self.show(stream.index, device, *self.present)
        return True

    def watch(self, on_change: Callable[[], None]) -> None:
        self.on_change = on_change

    def close(self) -> None:
        self.is_closed = True

    def show(self, index: int, device: str, *present: str) -> None:
        self.stream, self.present = OwnStream(index=index, device=device), present
        self.on_change()


def start(device: FakeInput, server: FakeServer | None = None) -> tuple[Microphone, queue.Queue, queue.Queue]:
    blocks: queue.Queue = queue.Queue()
    posted: queue.Queue = queue.Queue()
    microphone = Microphone(
        open_stream=device.open,
        take=lambda block, at_s: blocks.put((len(block), at_s)),
        post=posted.put,
        clock=lambda: 7.0,
        server=server or FakeServer(),
    )
    microphone.start()
    return microphone, blocks, posted


def test_blocks_pass_with_their_times() -> None:
    device = FakeInput()
    microphone, blocks, posted = start(device)
    arrived, _ = device.wait_open()
    arrived(BLOCK, 1.25, False)
    arrived(BLOCK, 1.3, False)
    assert [blocks.get(timeout=DEADLINE_S) for _ in range(2)] == [(800, 1.25), (800, 1.3)]
    microphone.close()
    assert posted.empty()


def test_stream_that_ends_is_told_closed_and_reopened() -> None:
    device = FakeInput()
    microphone, blocks, posted = start(device)
    arrived, finished = device.wait_open()
    arrived(BLOCK, 1.0, False)
    blocks.get(timeout=DEADLINE_S)
    finished()
    arrived(BLOCK, 1.05, False)
    assert isinstance(posted.get(timeout=DEADLINE_S), EdgeFailed)
    assert device.closed.get(timeout=DEADLINE_S)
    arrived, _ = device.wait_open()
    arrived(BLOCK, 3.0, False)
    assert isinstance(posted.get(timeout=DEADLINE_S), EdgeRecovered)
    microphone.close()


def test_stream_that_falls_silent_is_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mic, "SILENT_S", 0.01)
    device = FakeInput()
    microphone, _, posted = start(device)
    device.wait_open()
    failed = posted.get(timeout=DEADLINE_S)
    assert failed == EdgeFailed(
        at_s=7.0, onset_s=7.0, edge="microphone", reason="microphone gone: no sound comes from it"
    )
    microphone.close()


def test_device_that_was_moved_elsewhere_is_opened_again_when_told() -> None:
    device = FakeInput()
    microphone, blocks, posted = start(device)
    arrived, _ = device.wait_open()
    arrived(BLOCK, 1.0, False)
    blocks.get(timeout=DEADLINE_S)
    microphone.lose()
    arrived(BLOCK, 1.05, False)
    assert isinstance(posted.get(timeout=DEADLINE_S), EdgeFailed)
    device.wait_open()
    microphone.close()


def test_stream_moved_because_its_device_is_gone_is_told_and_moved_back() -> None:
    device, server = FakeInput(), FakeServer()
    microphone, blocks, posted = start(device, server)
    arrived, _ = device.wait_open()
    server.show(4, "headset", "headset", "built-in")
    arrived(BLOCK, 1.0, False)
    blocks.get(timeout=DEADLINE_S)
    server.show(4, "built-in", "built-in")
    arrived(BLOCK, 2.0, False)
    told = posted.get(timeout=DEADLINE_S)
    assert told.reason == "headset is gone, another one listens"
    blocks.get(timeout=DEADLINE_S)
    server.show(4, "built-in", "built-in", "headset")
    assert server.stream == OwnStream(index=4, device="headset")
    arrived(BLOCK, 3.0, False)
    assert isinstance(posted.get(timeout=DEADLINE_S), EdgeRecovered)
    microphone.close()
    assert server.is_closed
    assert posted.empty()


def test_stream_that_the_user_moves_is_no_trouble() -> None:
    device, server = FakeInput(), FakeServer()
    microphone, blocks, posted = start(device, server)
    arrived, _ = device.wait_open()
    server.show(4, "headset", "headset", "built-in")
    server.show(4, "built-in", "headset", "built-in")
    arrived(BLOCK, 1.0, False)
    blocks.get(timeout=DEADLINE_S)
    microphone.close()
    assert posted.empty()


def test_change_at_the_server_is_a_reason_to_try_again_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mic, "FIRST_WAIT_S", 2 * DEADLINE_S)
    device, server = FakeInput(), FakeServer()
    device.is_there = False
    microphone, _, posted = start(device, server)
    assert isinstance(posted.get(timeout=DEADLINE_S), EdgeFailed)
    device.is_there = True
    server.on_change()
    device.wait_open()
    microphone.close()


def test_missing_device_is_told_once_however_often_it_is_tried() -> None:
    device = FakeInput()
    device.is_there = False
    microphone, _, posted = start(device)
    assert posted.get(timeout=DEADLINE_S).reason == "microphone: no such device"
    device.is_there = True
    arrived, _ = device.wait_open()
    arrived(BLOCK, 1.0, False)
    assert isinstance(posted.get(timeout=DEADLINE_S), EdgeRecovered)
    microphone.close()


def test_close_does_not_wait_for_a_server_that_is_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mic, "CLOSE_DEADLINE_S", 0.01)
    never = threading.Event()
    device = FakeInput()
    device.open = lambda arrived, finished: (  # type: ignore[method-assign]
        device.opened.put(finished),
        SimpleNamespace(close=never.wait),
    )[1]
    microphone, _, posted = start(device)
    device.opened.get(timeout=DEADLINE_S)()
    assert isinstance(posted.get(timeout=DEADLINE_S), EdgeFailed)
    device.opened.get(timeout=DEADLINE_S)
    microphone.close()
    never.set()


def test_lost_sound_is_counted() -> None:
    held = threading.Event()
    device = FakeInput()
    taken = threading.Event()

    def take(*_: object) -> None:
        taken.set()
        held.wait(DEADLINE_S)

    microphone = Microphone(
        open_stream=device.open, take=take, post=lambda _: None, clock=lambda: 0.0, server=FakeServer()
    )
    microphone.start()
    arrived, _ = device.wait_open()
    arrived(BLOCK, 0.0, True)
    assert taken.wait(DEADLINE_S)
    for n in range(mic.QUEUED_BLOCKS + 10):
        arrived(BLOCK, float(n), False)
    assert microphone.overflows == 1 + 10
    held.set()
    microphone.close()


@pytest.mark.parametrize(
    ("now_s", "adc_s", "age_s"),
    [(10.0, 9.92, 0.08), (10.0, 0.0, 0.05), (10.0, 10.5, 0.05)],
    ids=["a driver that knows", "zero", "the future"],
)
def test_age_of_a_block_is_the_drivers_or_its_length(now_s: float, adc_s: float, age_s: float) -> None:
    times = SimpleNamespace(currentTime=now_s, inputBufferAdcTime=adc_s)
    assert _find_age(times, 0.05) == pytest.approx(age_s)


def test_jitter_of_block_times_is_smoothed() -> None:
    dater = Dater()
    rng = np.random.default_rng(2)
    measured_s = 0.05 * np.arange(400) + rng.uniform(-0.04, 0.04, 400)
    dated_s = np.array([dater.date(at_s, 0.05) for at_s in measured_s])
    assert np.abs(dated_s[100:] - 0.05 * np.arange(100, 400)).max() < 0.02
    assert np.abs(np.diff(dated_s) - 0.05).max() < 0.005


def test_clock_of_the_device_that_drifts_is_followed() -> None:
    dater = Dater()
    dated_s = [dater.date(0.05 * n * 1.002, 0.05) for n in range(2000)]
    assert dated_s[-1] == pytest.approx(0.05 * 1999 * 1.002, abs=0.005)


def test_hole_in_the_sound_is_a_jump() -> None:
    dater = Dater()
    dater.date(0.0, 0.05)
    assert dater.date(0.05 + 2 * JUMP_S, 0.05) == pytest.approx(0.05 + 2 * JUMP_S)


def test_device_at_the_ears_own_rate_is_not_resampled() -> None:
    resampler = Resampler(16_000)
    block = np.arange(5, dtype=np.int16)
    copy = resampler.resample(block)
    assert copy.tolist() == block.tolist()
    assert copy is not block
    assert resampler.delay_s == 0.0


@pytest.mark.parametrize("rate_hz", [8_000, 22_050, 44_100, 48_000, 96_000])
def test_device_at_another_rate_gives_the_same_tone_in_time_and_without_seams(rate_hz: int) -> None:
    resampler = Resampler(rate_hz)
    size = find_block_size(rate_hz)
    t = np.arange(20 * size) / rate_hz
    tone = np.rint(8000 * np.sin(2 * np.pi * 1000 * t)).astype(np.int16)
    out = np.concatenate([resampler.resample(tone[k : k + size]) for k in range(0, len(tone), size)])
    assert len(out) == len(tone) * 16_000 // rate_hz
    at_s = np.arange(len(out)) / 16_000 - resampler.delay_s
    expected = 8000 * np.sin(2 * np.pi * 1000 * at_s)
    assert np.abs(out[2000:-2000] - expected[2000:-2000]).max() < 80
