"""A rehearsal with its page, on threads, and a real browser that looks at it."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from coach.cockpit import Journal, World
from coach.drill.plan import plan_drill
from coach.nav.station import Station
from coach.page.addresses import Addresses
from coach.page.page import Page, PageChoice
from coach.rehearsal.paced import PacedWorld
from coach.rehearsal.rehearse import Conditions, NoJournal, rehearse
from coach.rehearsal.transmitter import FeedConditions
from coach.session.actions import Action, Show
from coach.session.events import Event
from coach.session.journal import Header
from coach.store.drills import read_drill
from coach.store.journals import begin_journal
from coach.store.phrases import read_phrases

STATION = Station(latitude_deg=-33.0, longitude_deg=-12.0, declination_deg=-10.0)
"""In mid-ocean."""

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")

WATCH_LEGS = """() => {
  window.legs = [];
  new MutationObserver(() => requestAnimationFrame(() =>
    window.legs.push([document.body.dataset.leg, performance.timeOrigin + performance.now()])
  )).observe(document.body, { attributes: true, attributeFilter: ["data-leg"] });
}"""
"""Notes when a leg is on the screen: in the frame after the page has changed."""


def find_lack() -> str | None:
    """What is missing for a real browser; None: nothing."""
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return "playwright (pip install playwright)"
    return None if find_chromium() else "Chromium (apt-get install chromium)"


def find_chromium() -> str | None:
    """The browser that the system has."""
    return next((path for name in CHROMIUM if (path := shutil.which(name))), None)


@contextmanager
def browsers() -> Iterator[Callable[..., Any]]:
    """Starts Chromium without a window, as often as it is called: `launch`."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        yield partial(launch, playwright)


def launch(playwright: Any, *, localhost: int | None = None) -> Any:
    """Chromium; `localhost`: the port that every port of that name leads to."""
    # The sandbox needs a user other than root, which a build machine often has only.
    args = ["--no-sandbox"]
    if localhost is not None:
        args.append(f"--host-resolver-rules=MAP localhost 127.0.0.1:{localhost}")
    return playwright.chromium.launch(executable_path=find_chromium(), args=args)


class BadLine:
    """A connection to the page that breaks when it is told to."""

    def __init__(self, to_port: int) -> None:
        self._to_port = to_port
        self._listening = socket.create_server(("127.0.0.1", 0))
        self._lines: list[socket.socket] = []
        self.broken = 0
        """Connections broken so far."""

        self.passed = bytearray()
        """All that the page has sent."""

        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def port(self) -> int:
        """Where it listens."""
        return int(self._listening.getsockname()[1])

    def cut(self) -> None:
        """Break all that is connected now."""
        lines, self._lines = self._lines, []
        for line in lines:
            with suppress(OSError):
                line.shutdown(socket.SHUT_RDWR)
        self.broken += len(lines) // 2

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._listening.accept()
                far = socket.create_connection(("127.0.0.1", self._to_port))
                self._lines += [near, far]
                threading.Thread(target=self._pass, args=(near, far, None), daemon=True).start()
                threading.Thread(target=self._pass, args=(far, near, self.passed), daemon=True).start()

    def _pass(self, here: socket.socket, there: socket.socket, kept: bytearray | None) -> None:
        with suppress(OSError):
            while piece := here.recv(65536):
                if kept is not None:
                    kept += piece
                there.sendall(piece)
        for line in (here, there):
            with suppress(OSError):
                line.shutdown(socket.SHUT_RDWR)


class Flight:
    """One rehearsal at a pace, followed by a page, from `start` until it is over."""

    def __init__(
        self, *, pace: float, spokes: int = 8, has_feed: bool = False, journals: Path | None = None
    ) -> None:
        self._plan = plan_drill(read_drill("eight-spoke", {"spokes": str(spokes)}))
        self._pace = pace
        self._has_feed = has_feed
        self._journals = journals
        station = STATION if has_feed else None
        self.page = Page(self._plan, PageChoice(port=0, pace=pace), station=station)
        self.addresses: Addresses = self.page.start()
        self.legs: list[tuple[int, float]] = []
        """Each leg that began, and when, by the wall clock."""

        self.world: PacedWorld | None = None
        self._thread = threading.Thread(target=self._fly, daemon=True)

    def start(self) -> None:
        """Begin to fly."""
        self._thread.start()

    def wait(self, timeout_s: float) -> None:
        """Wait until the drill is over."""
        self._thread.join(timeout_s)

    @property
    def is_over(self) -> bool:
        """Whether the drill is over."""
        return not self._thread.is_alive()

    def do(self, action: Action) -> None:
        """Note when a leg begins, then let the page show it."""
        if isinstance(action, Show) and action.leg_n and (not self.legs or self.legs[-1][0] != action.leg_n):
            self.legs.append((action.leg_n, time.time()))
        self.page.do(action)

    def _fly(self) -> None:
        feed = FeedConditions(is_by_socket=False) if self._has_feed else None
        with self._journal() as journal:
            conditions = Conditions(
                table=read_phrases(),
                typed=not self._has_feed,
                is_mute=self._has_feed,
                feed=feed,
                station=STATION if self._has_feed else None,
                journal=journal,
                around=self._around,
            )
            rehearse(self._plan, conditions)

    def _around(self, world: World) -> World:
        self.world = PacedWorld(world, self._pace, edges=[self], followers=[self.page.heard])
        self.page.open(post=self.world.post, clock=self.world.paced_s)
        return self.world

    @contextmanager
    def _journal(self) -> Iterator[Journal]:
        if self._journals is None:
            yield NoJournal()
            return
        header = Header(
            version=1,
            drill="eight-spoke",
            drill_settings=(),
            began_utc=datetime.now(UTC),
            coach_version="0",
        )
        with begin_journal(self._journals, header, post=_ignore, now_s=lambda: 0.0) as journal:
            yield journal


def _ignore(_event: Event) -> None:
    return


def latencies_ms(begun: list[tuple[int, float]], seen: list[tuple[str, float]]) -> list[float]:
    """From each leg's beginning to its being on the screen; a leg that was never seen is an error."""
    found = {}
    for leg, at_ms in seen:
        if leg:
            found.setdefault(int(leg), at_ms)
    return [found[n] - at_s * 1000.0 for n, at_s in begun]


def percentile(values: list[float], share: float) -> float:
    """The smallest value that this share of them does not exceed."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, max(0, -int(-share * len(ordered) // 1) - 1))]
