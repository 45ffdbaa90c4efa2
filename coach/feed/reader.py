"""One feed read step by step: source, decoder and watch in a row. Never on its own thread: see `worker`."""

from __future__ import annotations

from collections.abc import Callable

from coach.feed.address import FeedAddress
from coach.feed.replay import ReplaySource
from coach.feed.serial_line import SerialSource
from coach.feed.source import Source, Tell
from coach.feed.tcp import TcpSource
from coach.feed.udp import UdpSource
from coach.fixes.continuity import Back, FeedWatch, Lost
from coach.fixes.decoder import Decoder, make_decoder
from coach.fixes.fix import Fix
from coach.fixes.tally import Rejected

PAUSE_S = 0.1
"""A feed that is silent for so long has paused: the fix that waits for more sentences is given. Our own
choice, a tenth of the usual second between fixes."""

SOURCES: dict[str, Callable[[FeedAddress, Tell], Source]] = {
    "udp": UdpSource,
    "tcp": TcpSource,
    "serial": SerialSource,
    "file": ReplaySource,
}

News = Fix | Lost | Back | Rejected


class FeedReader:
    """Opens a feed and gives what it brings."""

    def __init__(self, address: FeedAddress, tell: Tell, now_s: Callable[[], float]) -> None:
        """`tell`: takes a line about the connection. `now_s`: the session clock."""
        self._source = SOURCES[address.transport](address, tell)
        self._decoder = make_decoder(address.form, longest=address.longest)
        self._now_s = now_s
        self.watch = FeedWatch(now_s(), speed=address.speed)

    @property
    def decoder(self) -> Decoder:
        """Its tally counts what arrived."""
        return self._decoder

    def open(self) -> None:
        """Open the source; raises `SetupError` or `SettingsError`."""
        self._source.open()

    def read(self, wait_s: float = PAUSE_S) -> tuple[News, ...] | None:
        """Return what has happened, after `wait_s` at the latest; None once the feed has ended for good."""
        data = self._source.read(wait_s)
        now_s = self._now_s()
        if data:
            self.watch.arrive(now_s)
        found = self._decoder.feed(data, now_s) if data else self._decoder.flush()
        if data is None and not found:
            return None
        return (*self._judge(found), *self.watch.wait(now_s))

    def close(self) -> None:
        """Close the source."""
        self._source.close()

    def _judge(self, found: tuple[Fix | Rejected, ...]) -> tuple[News, ...]:
        news: list[News] = []
        for thing in found:
            if isinstance(thing, Rejected):
                self.watch.refuse(thing)
                news.append(thing)
            else:
                news.extend(self.watch.take(thing))
        return tuple(news)
