"""The watchers of a page: each is sent what it has missed, as fast as it takes it, and none is waited for.

One ledger serves all: a watcher is only the number of the last change it has. Whoever reads too slowly falls
behind the kept changes and is sent everything anew; whoever reads nothing is let go.
"""

from __future__ import annotations

import asyncio
import time
from collections import deque
from collections.abc import Awaitable, Callable

from coach.page.ledger import BEGUN, Ledger

GATHER_S = 0.02
"""Changes that come within it go out together."""

ALIVE_EVERY_S = 15.0
"""A connection that has nothing to say says so: what is dead shows itself."""

MOST_WATCHERS = 100
MOST_CHANGES = 256
"""In one piece."""

TAKE_WITHIN_S = 10.0
"""A watcher that takes nothing for so long is let go; it may come again."""

ALIVE = b": alive\n\n"

Send = Callable[[bytes], Awaitable[None]]


class Hub:
    """One flight's ledger and its watchers, on one event loop."""

    def __init__(self, flight: str, pace: float = 1.0) -> None:
        """`flight`: names the numbering, so that a page left open does not go on with another flight's."""
        self.ledger = Ledger()
        self.watchers = 0
        self._flight = flight
        self._clock = SessionClock(pace)
        self._news = asyncio.Event()
        self._is_gathering = False
        self._is_over = False
        self._pieces: dict[int, tuple[bytes, int]] = {}

    def take(self, change: bytes) -> None:
        """A change has come from the flight."""
        at_s = self.ledger.take(change)
        if self.ledger.find_value(BEGUN):
            self._clock.note(at_s)
        if not self._is_gathering:
            self._is_gathering = True
            asyncio.get_running_loop().call_later(GATHER_S, self._tell)

    def _tell(self) -> None:
        self._is_gathering = False
        self._pieces.clear()
        news, self._news = self._news, asyncio.Event()
        news.set()

    def end(self) -> None:
        """The flight is over: each watcher gets what is left, then its connection ends."""
        self._is_over = True
        self._tell()

    async def serve(self, last_id: str, send: Send) -> bool:
        """Send all that comes after an id; True where the flight ended, False where nothing is taken."""
        self.watchers += 1
        try:
            n = self._number_of(last_id)
            while True:
                news = self._news
                piece, n = self.after(n)
                if piece:
                    await asyncio.wait_for(send(piece), TAKE_WITHIN_S)
                elif self._is_over:
                    return True
                elif not await _comes(news):
                    await asyncio.wait_for(send(ALIVE), TAKE_WITHIN_S)
        except (TimeoutError, OSError):
            return False
        finally:
            self.watchers -= 1

    def after(self, n: int | None) -> tuple[bytes, int]:
        """What comes after a number as server-sent events, and the number it ends with; None: everything."""
        missed = None if n is None else self.ledger.since(n)
        if n is None or missed is None:
            return self._event(self.ledger.n, self.ledger.everything(self._clock.now_s())), self.ledger.n
        sent = missed[:MOST_CHANGES]
        end = n + len(sent)
        # Most watchers are at the same place: what is made for one serves the others.
        if self._pieces.get(n, (b"", -1))[1] != end:
            piece = b"".join(self._event(n + i, change) for i, change in enumerate(sent, start=1))
            self._pieces[n] = piece, end
        return self._pieces[n]

    def _event(self, n: int, change: bytes) -> bytes:
        return b"id: %s-%d\ndata: %s\n\n" % (self._flight.encode(), n, change)

    def _number_of(self, last_id: str) -> int | None:
        """The number of an id of this flight; None for any other."""
        flight, _, number = last_id.rpartition("-")
        is_ours = flight == self._flight and number.isascii() and number.isdigit() and len(number) <= 12
        return int(number) if is_ours else None


class SessionClock:
    """The session clock of the flight's process, from the times that its changes tell."""

    KEPT = 40

    def __init__(self, pace: float, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._pace = pace
        self._monotonic = monotonic
        self._began_s: deque[float] = deque(maxlen=self.KEPT)

    def note(self, at_s: float) -> None:
        """A change says what the clock was when it was made; the least late of the last ones tells best."""
        self._began_s.append(self._monotonic() - at_s / self._pace)

    def now_s(self) -> float:
        """0 before the flight has begun."""
        return (self._monotonic() - min(self._began_s)) * self._pace if self._began_s else 0.0


async def _comes(news: asyncio.Event) -> bool:
    try:
        await asyncio.wait_for(news.wait(), ALIVE_EVERY_S)
    except TimeoutError:
        return False
    return True
