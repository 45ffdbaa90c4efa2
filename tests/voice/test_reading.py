"""Reading aloud: one sound after another, nothing lost, and never waiting for a card that has gone."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from coach.errors import SettingsError, SetupError
from coach.voice import reading
from coach.voice.output_device import Fill, OutputDevice
from coach.voice.pcm import RATE_HZ, Samples, read_sound_file, sample_at
from coach.voice.reading import PAUSE_S, read_aloud, write_aloud

CARD = OutputDevice(name="card", is_default=True)
PAUSE = sample_at(PAUSE_S)


def ramp(start: int, count: int) -> Samples:
    return np.arange(start, start + count, dtype=np.int16)


class Card:
    """A sound card that takes a block whenever it is looked at, from a thread of its own."""

    def __init__(self, blocks_n: int | None = None) -> None:
        self.heard: list[Samples] = []
        self._blocks_n = blocks_n
        self._stopping = threading.Event()
        self.is_closed = False

    def open(self, _device: OutputDevice, fill: Fill, on_finished: Callable[[], None]) -> Card:
        threading.Thread(target=self._run, args=(fill, on_finished), daemon=True).start()
        return self

    def _run(self, fill: Fill, on_finished: Callable[[], None]) -> None:
        while not self._stopping.wait(0.0002):
            if self._blocks_n is not None and len(self.heard) >= self._blocks_n:
                on_finished()
                return
            buffer = bytearray(960 * 2)
            fill(buffer, 960, 0.0, False)
            self.heard.append(np.frombuffer(bytes(buffer), np.int16))

    def close(self) -> None:
        self.is_closed = True
        self._stopping.set()

    @property
    def sound(self) -> Samples:
        return np.concatenate(self.heard)


def read(card: Card, *sounds: Samples, volume: float = 1.0) -> None:
    read_aloud(sounds, volume=volume, find_device=lambda _name: CARD, open_stream=card.open)


def test_sounds_come_one_after_another_with_a_pause_between() -> None:
    card = Card()
    read(card, ramp(1, 5000), ramp(7000, 1234))
    loud = np.flatnonzero(card.sound)
    heard = card.sound[loud[0] : loud[-1] + 1]
    assert np.array_equal(heard, np.concatenate([ramp(1, 5000), np.zeros(PAUSE, np.int16), ramp(7000, 1234)]))
    assert card.is_closed


def test_the_pause_behind_the_last_one_has_been_given_before_the_card_is_closed() -> None:
    card = Card()
    read(card, ramp(1, 100))
    loud = np.flatnonzero(card.sound)
    assert card.sound.size - loud[-1] >= PAUSE


def test_volume_is_the_pilots() -> None:
    card = Card()
    read(card, ramp(1000, 10), volume=0.5)
    assert card.sound.max() == 504  # 1009 halved, to the even side


def test_a_sound_is_asked_for_while_the_one_before_it_sounds() -> None:
    card, asked = Card(), []

    def sounds() -> object:
        for n in range(3):
            asked.append(len(card.heard))
            yield ramp(1, 48_000 if n == 0 else 10)

    read_aloud(sounds(), find_device=lambda _n: CARD, open_stream=card.open)  # type: ignore[arg-type]
    assert asked[-1] < 48_000 / 960


def test_a_card_that_goes_is_told_and_not_waited_for() -> None:
    card = Card(blocks_n=3)
    with pytest.raises(SetupError, match="the sound card has gone"):
        read(card, ramp(1, 30_000))
    assert card.is_closed


def test_a_card_that_takes_nothing_more_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    class Stopped(Card):
        def open(self, _device: OutputDevice, fill: Fill, on_finished: Callable[[], None]) -> Card:
            return self

    monkeypatch.setattr(reading, "LOOK_S", 0.001)
    monkeypatch.setattr(reading, "SILENT_S", 0.01)
    with pytest.raises(SetupError, match="has taken nothing for"):
        read(Stopped(), ramp(1, 100))


def test_an_interrupt_closes_the_card() -> None:
    card = Card()

    def sounds() -> object:
        yield ramp(1, 1000)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        read_aloud(sounds(), find_device=lambda _n: CARD, open_stream=card.open)  # type: ignore[arg-type]
    assert card.is_closed


def test_a_file_holds_the_same(tmp_path: Path) -> None:
    path = tmp_path / "briefing.wav"
    seconds = write_aloud([ramp(1, 5000), ramp(7000, 1234)], path)
    sound = read_sound_file(path)
    assert seconds == pytest.approx(sound.size / RATE_HZ)
    assert np.abs(sound[:5000].astype(int) - ramp(1, 5000)).max() <= 1
    assert not sound[5000 : 5000 + PAUSE].any()


def test_a_place_that_cannot_be_written_to_is_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="expected a file that can be written, got no such file"):
        write_aloud([ramp(1, 10)], tmp_path / "none" / "briefing.wav")
