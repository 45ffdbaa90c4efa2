"""Reads sounds aloud one after another on the sound card, or into a WAV file: for the ground.

Never for a flight: it knows no due time and cannot be silenced by a word. Stops when interrupted.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from coach.errors import Problem, SettingsError, SetupError
from coach.voice.output_device import Fill, OutputDevice, Stream, check_output_device, open_output
from coach.voice.pcm import RATE_HZ, Samples, sample_at, scale, write_wav

PAUSE_S = 0.45
"""Between two utterances."""

SILENT_S = 5.0
"""A sound card that takes nothing for so long has gone."""

LOOK_S = 0.1
CLOSE_WITHIN_S = 1.0

Open = Callable[[OutputDevice, Fill, Callable[[], None]], Stream]


class _Playlist:
    """What the sound card is given next; filled by one thread, emptied by the card's own."""

    def __init__(self) -> None:
        self._sounds: deque[Samples] = deque()
        self._lock = threading.Lock()
        self.taken = 0
        """Blocks given so far: a sign of life."""
        self.has_ended = threading.Event()
        self.is_empty = threading.Event()

    def add(self, sound: Samples) -> None:
        """Let it sound after what is waiting, and a pause after it."""
        with self._lock:
            self._sounds.append(np.concatenate([sound, np.zeros(sample_at(PAUSE_S), np.int16)]))
            self.is_empty.clear()

    def fill(self, buffer: Any, n_frames: int, _delay_s: float, _ran_dry: bool) -> None:
        """Give the sound card its next block."""
        block = np.zeros(n_frames, np.int16)
        with self._lock:
            filled = 0
            while filled < n_frames and self._sounds:
                part = self._sounds[0][: n_frames - filled]
                block[filled : filled + part.size] = part
                filled += part.size
                rest = self._sounds[0][part.size :]
                if rest.size:
                    self._sounds[0] = rest
                else:
                    self._sounds.popleft()
            if not filled:
                self.is_empty.set()
            self.taken += 1
        buffer[:] = block.tobytes()


def read_aloud(
    sounds: Iterable[Samples],
    *,
    device: str | None = None,
    volume: float = 1.0,
    find_device: Callable[[str | None], OutputDevice] = check_output_device,
    open_stream: Open = open_output,
) -> None:
    """Sound each as soon as it is there and the one before has ended; returns when all have sounded.

    `device`: a name or part of one, None the default. SetupError where there is no output, or it goes.
    """
    playlist = _Playlist()
    stream = open_stream(find_device(device), playlist.fill, playlist.has_ended.set)
    try:
        for sound in sounds:
            playlist.add(scale(sound, volume))
            _check(playlist)
        _wait(playlist)
    finally:
        _close(stream)


def write_aloud(sounds: Iterable[Samples], path: Path, *, volume: float = 1.0) -> float:
    """Write the same to a WAV file, mono, 48 kHz; its seconds. SettingsError where it cannot be written."""
    whole = np.concatenate([part for sound in sounds for part in _with_pause(scale(sound, volume))])
    try:
        write_wav(path, whole)
    except OSError as exc:
        got = (exc.strerror or "an error of the disk").lower()
        raise SettingsError(Problem(where=str(path), expected="a file that can be written", got=got)) from exc
    return whole.size / RATE_HZ


def _with_pause(sound: Samples) -> Iterator[Samples]:
    yield sound
    yield np.zeros(sample_at(PAUSE_S), np.int16)


def _wait(playlist: _Playlist) -> None:
    """Wait until nothing is left, as long as the sound card goes on taking."""
    taken, silent_s = playlist.taken, 0.0
    while not playlist.is_empty.wait(LOOK_S):
        _check(playlist)
        silent_s = silent_s + LOOK_S if playlist.taken == taken else 0.0
        taken = playlist.taken
        if silent_s > SILENT_S:
            raise SetupError(f"speaker: the sound card has taken nothing for {SILENT_S:g} s")


def _check(playlist: _Playlist) -> None:
    if playlist.has_ended.is_set():
        raise SetupError("speaker: the sound card has gone")


def _close(stream: Stream) -> None:
    """Close beside the caller: it blocks while a sound server is stopped."""
    closing = threading.Thread(target=stream.close, name="reading-close", daemon=True)
    closing.start()
    closing.join(CLOSE_WITHIN_S)
