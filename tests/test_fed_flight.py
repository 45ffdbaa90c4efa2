"""A flight's feed: what session and journal are told of it, and a flight without the feed that was wanted."""

from __future__ import annotations

import socket
from collections.abc import Callable
from contextlib import ExitStack

import pytest

from coach.cli.planning import parse_station
from coach.cockpit import Inbox, SessionClock
from coach.drill.plan import plan_drill
from coach.feed.address import FeedAddress, parse_feed_address
from coach.flight import Choice, _Cockpit, header_of, options_of
from coach.nav.station import Station, render_station
from coach.session.actions import Action
from coach.session.events import Event
from coach.session.outlook import Role
from coach.settings import Settings
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases

STATION = Station(latitude_deg=-40.0, longitude_deg=-110.123456, declination_deg=12.5)


class Screen:
    """Keeps the lines it is told."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        pass

    def do(self, action: Action) -> None:
        pass

    def heard(self, event: Event) -> None:
        pass

    def tell(self, text: str) -> None:
        self.lines.append(text)

    def close(self) -> None:
        pass


def choice(feed: FeedAddress | None, **settings: object) -> Choice:
    return Choice(
        plan=plan_drill(read_drill("eight-spoke", {})),
        settings=Settings(**settings),  # type: ignore[arg-type]
        table=read_phrases(),
        has_ear=False,
        has_voice=False,
        feed=feed,
        station=STATION,
    )


def opened(feed: FeedAddress) -> list[str]:
    """What the screen is told when the cockpit opens."""
    screen, clock = Screen(), SessionClock()
    with ExitStack() as stack:
        _Cockpit(choice(feed), clock, Inbox(clock.now_s), screen, stack).open()
    return screen.lines


def test_the_session_is_told_how_to_use_the_feed():
    address = parse_feed_address("nmea+udp://")
    use = options_of(choice(address, feed_role=Role.REMIND, dots=4, height_ft=3000.0)).feed
    assert use is not None
    assert (use.station, use.role, use.dots, use.height_ft) == (STATION, Role.REMIND, 4, 3000.0)


def test_without_a_feed_the_session_has_none():
    assert options_of(choice(None)).feed is None


def test_the_journal_keeps_what_a_replay_needs():
    header = header_of(choice(parse_feed_address("gdl90+udp://")))
    kept = dict(header.session_settings)
    assert kept["station"] == "-40,-110.123456,12.5"
    assert (kept["feed"], kept["feed_role"], kept["dots"]) == ("gdl90+udp://127.0.0.1:4000", "decide", "5")
    assert parse_station(kept["station"]) == STATION


def test_a_station_without_a_feed_is_kept_too():
    kept = dict(header_of(choice(None)).session_settings)
    assert kept["station"] == render_station(STATION)
    assert "feed" not in kept


def test_a_feed_that_opens_says_where_it_listens():
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    assert opened(FeedAddress(form="nmea", transport="udp", host="127.0.0.1", port=port)) == [
        f"Feed: listening on port {port}, this machine only"
    ]


def test_a_port_that_is_taken_leaves_a_flight_by_voice_and_clock():
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(("127.0.0.1", 0))
        (line,) = opened(
            FeedAddress(form="nmea", transport="udp", host="127.0.0.1", port=taken.getsockname()[1])
        )
    assert line.startswith("No feed, by voice and clock. ")
    assert "cannot listen" in line


@pytest.mark.parametrize("text", ["-40,-110,12", "89.999999999,179.5,-20.25", "0,0,0"])
def test_a_station_is_written_as_it_is_read(text: str):
    assert parse_station(render_station(parse_station(text))) == parse_station(text)
