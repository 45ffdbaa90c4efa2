"""A feed beside the flight's loop: one thread reads it and posts facts, and never waits for the loop."""

from __future__ import annotations

import threading
from collections.abc import Callable

from coach.feed.address import FeedAddress
from coach.feed.reader import FeedReader, News
from coach.feed.source import Tell
from coach.fixes.continuity import Back, Lost, Reason
from coach.fixes.fix import Fix
from coach.session.events import Event, FeedBack, FeedLost, FixReceived

CLOSE_WITHIN_S = 1.0
"""A host that is being connected to does not keep the coach from ending."""


class FeedWorker:
    """Posts `FixReceived`, `FeedLost` and `FeedBack` until it is closed or the feed ends."""

    def __init__(
        self,
        address: FeedAddress,
        *,
        post: Callable[[Event], None],
        now_s: Callable[[], float],
        tell: Tell = lambda _text: None,
    ) -> None:
        """`post` must not wait; `tell` takes a line about the connection. Both are called from the thread."""
        self._reader = FeedReader(address, tell, now_s)
        self._post = post
        self._now_s = now_s
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="feed", daemon=True)

    def start(self) -> None:
        """Open the feed and begin to read; raises `SetupError` or `SettingsError`."""
        self._reader.open()
        self._thread.start()

    def close(self) -> None:
        """Stop reading and let the source go."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(CLOSE_WITHIN_S)
        self._reader.close()

    def _run(self) -> None:
        try:
            while not self._stop.is_set():
                news = self._reader.read()
                if news is None:
                    break
                self._tell_session(news)
        finally:
            # A recording that has ended, or a bug of ours: the session must not believe in what is gone.
            if not self._stop.is_set() and self._reader.watch.lost is None:
                self._lost("silent", self._now_s())

    def _tell_session(self, news: tuple[News, ...]) -> None:
        for thing in news:
            if isinstance(thing, Fix):
                self._post(FixReceived(at_s=thing.at_s, onset_s=thing.at_s, fix=thing))
            elif isinstance(thing, Lost):
                self._lost(thing.reason, thing.since_s)
            elif isinstance(thing, Back):
                self._post(FeedBack(at_s=thing.at_s, onset_s=thing.at_s))

    def _lost(self, reason: Reason, since_s: float) -> None:
        self._post(FeedLost(at_s=self._now_s(), onset_s=since_s, reason=reason))
