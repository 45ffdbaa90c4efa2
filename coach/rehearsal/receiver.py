"""How the simulated aircraft's bytes come to the coach: through a UDP socket on loopback, or handed over.

By socket everything is real but the clock: the coach's own source listens on a port of this machine, and a
datagram on loopback is there as soon as it is sent. Never listens beyond loopback.
"""

from __future__ import annotations

import socket
from contextlib import suppress
from typing import Protocol

from coach.errors import CoachError
from coach.feed.address import LOOPBACK, FeedAddress
from coach.feed.reader import PAUSE_S, FeedReader
from coach.fixes.continuity import Back, FeedWatch, Lost
from coach.fixes.decoder import Form, make_decoder
from coach.fixes.fix import Fix
from coach.fixes.tally import Rejected

LONGEST_WAIT_S = 2.0
"""A datagram on loopback that is not there by then is lost: the machine is stuck."""

News = Fix | Lost | Back | Rejected


class Receiver(Protocol):
    """The coach's end of the feed, on the simulated clock."""

    def take(self, datagram: bytes, at_s: float) -> tuple[News, ...]:
        """Carry a datagram from the aircraft to the coach and return what it makes of it."""

    def wait(self, at_s: float) -> tuple[News, ...]:
        """Nothing has come; return what follows from that."""

    def close(self) -> None:
        """Let go of what it is made of."""


class HandedOver:
    """In the process: for tests."""

    def __init__(self, form: Form) -> None:
        self._decoder = make_decoder(form)
        self._watch = FeedWatch(0.0)
        self._arrived_s = 0.0

    def take(self, datagram: bytes, at_s: float) -> tuple[News, ...]:
        """Decode and judge it."""
        self._arrived_s = at_s
        self._watch.arrive(at_s)
        return self._judge(self._decoder.feed(datagram, at_s))

    def wait(self, at_s: float) -> tuple[News, ...]:
        """What the decoder held back, and a feed that has fallen silent."""
        has_paused = at_s - self._arrived_s >= PAUSE_S
        held_back = self._judge(self._decoder.flush()) if has_paused else ()
        return (*held_back, *self._watch.wait(at_s))

    def close(self) -> None:
        """Nothing to let go of."""

    def _judge(self, found: tuple[Fix | Rejected, ...]) -> tuple[News, ...]:
        news: list[News] = []
        for thing in found:
            if isinstance(thing, Rejected):
                self._watch.refuse(thing)
            else:
                news.extend(self._watch.take(thing))
        return tuple(news)


class BySocket:
    """A sending socket, and the source that `coach fly` listens with."""

    def __init__(self, form: Form) -> None:
        self._now_s = 0.0
        address = FeedAddress(form=form, transport="udp", host=LOOPBACK, port=_free_port())
        self._reader = FeedReader(address, lambda _line: None, lambda: self._now_s)
        self._reader.open()
        self._aircraft = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._aircraft.connect((LOOPBACK, address.port))

    def take(self, datagram: bytes, at_s: float) -> tuple[News, ...]:
        """Send it, and wait until it is read; CoachError where it does not arrive."""
        self._now_s = at_s
        before = self._reader.decoder.tally.n_bytes
        self._aircraft.send(datagram)
        news = self._reader.read(LONGEST_WAIT_S) or ()
        if self._reader.decoder.tally.n_bytes == before:
            raise CoachError("a datagram on loopback did not arrive")
        return news

    def wait(self, at_s: float) -> tuple[News, ...]:
        """Read where nothing is."""
        self._now_s = at_s
        return self._reader.read(0.0) or ()

    def close(self) -> None:
        """Close both ends."""
        self._reader.close()
        with suppress(OSError):
            self._aircraft.close()


def _free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind((LOOPBACK, 0))
        return int(probe.getsockname()[1])
