"""The sound card's outputs through sounddevice: listed, chosen, opened.

Never decides what sounds: each block comes from the function it is given.
"""

from __future__ import annotations

import difflib
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from coach.errors import Problem, SetupError
from coach.voice.pcm import RATE_HZ
from coach.voice.sound_server import SoundServer

LATENCY_S = 0.03
"""Asked of the device; with a block it makes about 50 ms from callback to sound (PulseAudio)."""

BLOCK_FRAMES = 960
"""Samples a callback renders: 20 ms. With 10 ms an idle coach costs 6.5 % of a core instead of 4.3; a silence
comes some 15 ms later (55-64 ms, measured on PulseAudio)."""

REMEDY = "sudo apt install libportaudio2 libasound2-plugins"

Fill = Callable[[Any, int, float, bool], None]
"""Fills a block: the buffer, its frames, the delay to its first sample in seconds (0: not reported), and
whether the card ran dry before it."""


class Stream(Protocol):
    """An open output."""

    def close(self) -> None:
        """Close it; blocks while the sound server is stopped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputDevice:
    """Something that sound can be played on."""

    name: str
    is_default: bool
    is_sink: bool = False
    """True for a sink of the sound server, False for a device of PortAudio."""


def list_output_devices() -> tuple[OutputDevice, ...]:
    """Return the outputs of this machine, sinks of the sound server last; SetupError without PortAudio."""
    sounddevice = _import_sounddevice()
    try:
        default, found = sounddevice.default.device[1], list(sounddevice.query_devices())
    except sounddevice.PortAudioError as exc:
        raise SetupError(f"speaker: the sound devices cannot be listed ({exc})") from exc
    cards = [
        OutputDevice(name=card["name"], is_default=index == default)
        for index, card in enumerate(found)
        if card["max_output_channels"]
    ]
    sinks = SoundServer("sink").list_devices() if sys.platform.startswith("linux") else ()
    return (*cards, *(OutputDevice(name=name, is_default=False, is_sink=True) for name in sinks))


def check_output_device(name: str | None) -> OutputDevice:
    """Return the device of that name (or part of it, if only one has it), None being the default one.

    SetupError names the nearest ones, or the remedy where there is no output at all.
    """
    devices = list_output_devices()
    if not devices:
        raise SetupError(f"speaker: this machine has no sound output; {REMEDY}")
    if name is None:
        return next((device for device in devices if device.is_default), devices[0])
    exact = [device for device in devices if device.name == name]
    matching = exact or [device for device in devices if name.lower() in device.name.lower()]
    if len(matching) == 1 or exact:
        return matching[0]
    names = [device.name for device in matching or devices]
    near = difflib.get_close_matches(name, names, n=4, cutoff=0.4) or names
    raise SetupError(Problem(where="speaker", expected=f"one of {', '.join(near)}", got=repr(name)))


def open_output(device: OutputDevice, fill: Fill, on_finished: Callable[[], None]) -> Stream:
    """Open a device and start it: mono, 16-bit, 48 kHz; SetupError if it refuses.

    `fill` is called from the sound card's own thread; `on_finished` when the stream ends, whoever ended it.
    """
    sounddevice = _import_sounddevice()
    if device.is_sink:
        os.environ["PULSE_SINK"] = device.name
    try:
        return _CardStream(sounddevice, "pulse" if device.is_sink else device.name, fill, on_finished)
    except (sounddevice.PortAudioError, ValueError) as exc:
        raise SetupError(f"speaker: {device.name} did not open ({str(exc).splitlines()[0]})") from exc


class _CardStream:
    def __init__(self, sounddevice: Any, name: str, fill: Fill, on_finished: Callable[[], None]) -> None:
        def callback(buffer: Any, n_frames: int, times: Any, status: Any) -> None:
            # PortAudio's clock may be the wall clock, so that only the difference of its times is used.
            delay_s = times.outputBufferDacTime - times.currentTime
            fill(buffer, n_frames, delay_s, bool(status.output_underflow))

        self._stream = sounddevice.RawOutputStream(
            samplerate=RATE_HZ,
            blocksize=BLOCK_FRAMES,
            channels=1,
            dtype="int16",
            latency=LATENCY_S,
            device=name,
            callback=callback,
            finished_callback=on_finished,
        )
        self._stream.start()

    def close(self) -> None:
        self._stream.close(ignore_errors=True)


def _import_sounddevice() -> Any:
    try:
        import sounddevice
    except OSError as exc:
        raise SetupError(f"speaker: PortAudio is missing; {REMEDY}") from exc
    return sounddevice
