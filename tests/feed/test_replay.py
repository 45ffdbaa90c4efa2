"""A recording at the pace of its own times, on a clock that is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import SettingsError
from coach.feed.address import parse_feed_address
from coach.feed.replay import ReplaySource
from coach.fixes.nmea_encoder import encode_nmea
from tests.fixes.samples import flight

STREAM = b"".join(encode_nmea(fix) for fix in flight(4))
ONE = len(STREAM) // 4


class Clock:
    """A clock that sleeping moves on."""

    now_s = 100.0

    def read(self) -> float:
        return self.now_s

    def sleep(self, wait_s: float) -> None:
        self.now_s += wait_s


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    path = tmp_path / "flight.log"
    path.write_bytes(STREAM)
    return path


def opened(recording: Path, query: str, clock: Clock, told: list[str]) -> ReplaySource:
    address = parse_feed_address(f"nmea+file://{recording}{query}")
    source = ReplaySource(address, told.append, monotonic=clock.read, sleep=clock.sleep)
    source.open()
    return source


def played(source: ReplaySource, clock: Clock) -> list[tuple[float, int]]:
    """When each piece came and how long it was."""
    pieces = []
    while (data := source.read(0.1)) is not None:
        if data:
            pieces.append((round(clock.now_s - 100.0, 6), len(data)))
    return pieces


@pytest.mark.parametrize(
    ("query", "step_s"), [("", 1.0), ("?speed=10", 0.1), ("?speed=0.5", 2.0), ("?speed=max", 0.0)]
)
def test_each_instant_comes_when_it_is_due(recording, query: str, step_s: float):
    clock = Clock()
    source = opened(recording, query, clock, [])
    assert played(source, clock) == [(round(n * step_s, 6), ONE) for n in range(4)]
    source.close()


def test_it_never_waits_longer_than_it_may(recording):
    clock = Clock()
    source = opened(recording, "", clock, [])
    source.read(0.1)
    before_s = clock.now_s
    assert source.read(0.1) == b""
    assert clock.now_s - before_s == pytest.approx(0.1)
    source.close()


def test_all_bytes_come_and_then_the_end(recording):
    told: list[str] = []
    source = opened(recording, "?speed=max", Clock(), told)
    pieces = []
    while (data := source.read(0.1)) is not None:
        pieces.append(data)
    assert b"".join(pieces) == STREAM
    assert told == [f"replaying {recording} at the greatest speed"]
    source.close()


def test_empty_file_ends_at_once(tmp_path):
    path = tmp_path / "empty.log"
    path.touch()
    assert opened(path, "", Clock(), []).read(0.1) is None


@pytest.mark.parametrize("name", ["", "missing.log"])
def test_file_that_cannot_be_read_is_told_before_the_flight(tmp_path, name: str):
    with pytest.raises(SettingsError) as caught:
        opened(tmp_path / name, "", Clock(), [])
    (problem,) = caught.value.problems
    assert (problem.where, problem.expected) == (str(tmp_path / name), "a file")


def test_closed_file_has_ended(recording):
    source = opened(recording, "", Clock(), [])
    source.close()
    assert source.read(0.1) is None
