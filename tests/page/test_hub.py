"""Watchers: each misses nothing, none waits for another, who takes nothing is let go."""

from __future__ import annotations

import asyncio
import re

import pytest

from coach.page import hub as hubs
from coach.page.hub import ALIVE, Hub, SessionClock
from coach.page.ledger import BEGUN, Ledger


def change_of(ledger: Ledger, value: int) -> bytes:
    ledger.put("leg", value, float(value))
    return (ledger.since(ledger.n - 1) or (b"",))[0]


class Watcher:
    """Takes what it is sent, up to a number of pieces."""

    def __init__(self, most: int = 10**6) -> None:
        self.pieces: list[bytes] = []
        self._most = most

    async def send(self, piece: bytes) -> None:
        if len(self.pieces) >= self._most:
            await asyncio.Event().wait()
        self.pieces.append(piece)

    @property
    def ids(self) -> list[int]:
        return [int(n) for n in re.findall(rb"^id: flight-(\d+)$", b"".join(self.pieces), re.MULTILINE)]


async def settle() -> None:
    """Let what is due at once be done; the hub gathers changes for no time in these tests."""
    for _ in range(20):
        await asyncio.sleep(0)


@pytest.fixture(autouse=True)
def _at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hubs, "GATHER_S", 0.0)


async def watch(hub: Hub, watcher: Watcher, last_id: str = "") -> asyncio.Task[bool]:
    task = asyncio.ensure_future(hub.serve(last_id, watcher.send))
    await settle()
    return task


def test_a_new_watcher_gets_everything_then_each_change():
    async def run() -> None:
        hub, flight, watcher = Hub("flight"), Ledger(), Watcher()
        for value in range(3):
            hub.take(change_of(flight, value))
        task = await watch(hub, watcher)
        assert b'"k":"all"' in watcher.pieces[0]
        for value in range(3, 6):
            hub.take(change_of(flight, value))
            await settle()
        assert watcher.ids == [3, 4, 5, 6]
        task.cancel()

    asyncio.run(run())


@pytest.mark.parametrize("last", range(7))
def test_who_comes_back_gets_exactly_what_was_missed(last: int):
    async def run() -> None:
        hub, flight, watcher = Hub("flight"), Ledger(), Watcher()
        for value in range(6):
            hub.take(change_of(flight, value))
        (await watch(hub, watcher, f"flight-{last}")).cancel()
        assert watcher.ids == list(range(last + 1, 7))
        assert b'"k":"all"' not in b"".join(watcher.pieces)

    asyncio.run(run())


@pytest.mark.parametrize(
    "last_id", ["other-3", "flight-99", "flight-x", "flight--1", "3", "flight-" + "9" * 5000, "flight-٣"]
)
def test_an_id_that_is_not_this_flights_gets_everything(last_id: str):
    async def run() -> None:
        hub, watcher = Hub("flight"), Watcher()
        hub.take(change_of(Ledger(), 1))
        (await watch(hub, watcher, last_id)).cancel()
        assert watcher.ids == [1]
        assert b'"k":"all"' in watcher.pieces[0]

    asyncio.run(run())


def test_a_watcher_that_takes_nothing_holds_up_nobody_and_is_let_go(monkeypatch: pytest.MonkeyPatch):
    async def run() -> None:
        hub, flight, dead, live = Hub("flight"), Ledger(), Watcher(most=1), Watcher()
        hub.take(change_of(flight, 0))
        stuck, task = await watch(hub, dead), await watch(hub, live)
        monkeypatch.setattr(hubs, "TAKE_WITHIN_S", 0.01)
        for value in range(1, 5):
            hub.take(change_of(flight, value))
            await settle()
        assert live.ids[-1] == 5
        await stuck
        assert hub.watchers == 1
        task.cancel()

    asyncio.run(run())


def test_who_fell_behind_what_is_kept_gets_everything_anew():
    hub, flight = Hub("flight"), Ledger()
    hub.ledger = Ledger(4)
    for value in range(10):
        hub.ledger.take(change_of(flight, value))
    piece, n = hub.after(3)
    assert n == 10
    assert b'"k":"all"' in piece


def test_a_long_absence_comes_in_pieces_and_nothing_is_left_out(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(hubs, "MOST_CHANGES", 3)
    hub, flight = Hub("flight"), Ledger()
    for value in range(8):
        hub.ledger.take(change_of(flight, value))
    n, counts = 0, []
    while n < 8:
        piece, n = hub.after(n)
        counts.append(piece.count(b"id: "))
    assert counts == [3, 3, 2]


def test_at_the_end_each_watcher_gets_the_rest_and_is_let_go():
    async def run() -> None:
        hub, watcher = Hub("flight"), Watcher()
        flight = Ledger()
        hub.take(change_of(flight, 1))
        task = await watch(hub, watcher)
        hub.take(change_of(flight, 2))
        hub.end()
        assert await task is True
        assert watcher.ids == [1, 2]

    asyncio.run(run())


def test_a_silent_flight_shows_that_the_connection_lives(monkeypatch: pytest.MonkeyPatch):
    async def run() -> None:
        monkeypatch.setattr(hubs, "ALIVE_EVERY_S", 0.0)
        hub, watcher = Hub("flight"), Watcher(most=4)
        hub.take(change_of(Ledger(), 1))
        (await watch(hub, watcher)).cancel()
        assert ALIVE in watcher.pieces

    asyncio.run(run())


class TestSessionClock:
    def test_goes_on_between_changes_at_the_flights_pace(self):
        at = [100.0]
        clock = SessionClock(2.0, lambda: at[0])
        assert clock.now_s() == 0.0
        clock.note(10.0)
        at[0] = 101.0
        assert clock.now_s() == 12.0

    def test_the_least_late_change_tells_best(self):
        at = [100.0]
        clock = SessionClock(1.0, lambda: at[0])
        clock.note(9.0)
        clock.note(10.0)
        clock.note(9.5)
        assert clock.now_s() == 10.0


def test_times_before_the_flight_has_begun_mean_nothing():
    async def run() -> None:
        hub, flight = Hub("flight"), Ledger()
        hub.take(change_of(flight, 5))
        assert hub._clock.now_s() == 0.0
        flight.put(BEGUN, True, 7.0)
        hub.take((flight.since(1) or (b"",))[0])
        assert hub._clock.now_s() >= 7.0

    asyncio.run(run())


def test_who_watches_before_there_is_anything_gets_it_all_and_the_end():
    async def run() -> None:
        hub, watcher, flight = Hub("flight"), Watcher(), Ledger()
        watching = await watch(hub, watcher)
        flight.put("show", 1, 1.0)
        hub.take(flight.everything(1.0))
        await settle()
        assert b'"show"' in watcher.pieces[-1]
        hub.take(change_of(flight, 2))
        hub.end()
        assert await watching is True

    asyncio.run(run())
