"""A whole flight in real time that a fault bench drives by keys, its journal on a disk that can go bad.

In place of the terminal stands a watcher: what it is shown is what a pilot without sound would see.
"""

from __future__ import annotations

import errno
import os
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import coach.flight
from coach.broken_off import BrokenOff
from coach.drill.plan import plan_drill
from coach.flight import Choice, fly_live
from coach.session.actions import Action, Say, Show
from coach.session.events import (
    EdgeFailed,
    EdgeRecovered,
    Event,
    HeldUp,
    PhraseHeard,
    PromptDropped,
    PromptStarted,
    Woken,
)
from coach.session.journal import Header
from coach.settings import Settings
from coach.store.drills import read_drill
from coach.store.journal_writer import JournalWriter
from coach.store.phrases import read_phrases
from coach.store.recording_file import RecordingFile

LEG_S = 10.0
"""The shortest outbound leg a drill takes: one time call in ten seconds."""

PROBE = -1
"""A prompt that no session has: the loop takes note of it and does nothing."""

PROBE_EVERY_S = 0.02


class BadDisk:
    """A disk that is full, read-only or slow while `kind` is set."""

    def __init__(self) -> None:
        self.kind: str | None = None
        self.file = RecordingFile(self._before)

    def _before(self, operation: str) -> None:
        if self.kind is None or operation == "close":
            return
        if self.kind == "slow":
            time.sleep(0.1)
            return
        code = errno.ENOSPC if self.kind == "full" else errno.EROFS
        raise OSError(code, os.strerror(code))


class OverError(Exception):
    """The bench has seen enough of this flight."""


class Watcher:
    """Sees every action and fact with the time it came."""

    def __init__(self) -> None:
        self.seen: list[tuple[float, Event | Action]] = []
        self.lines: list[str] = []
        self.probes_late_s: list[tuple[float, float]] = []
        """When a probe was posted, and how long the loop took to take it."""
        self.opened = threading.Event()
        self.is_over = False

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        self.post, self.clock = post, clock
        self.opened.set()

    def do(self, action: Action) -> None:
        self.seen.append((self.clock(), action))

    def heard(self, event: Event) -> None:
        if self.is_over:
            raise OverError
        if isinstance(event, PromptStarted) and event.prompt == PROBE:
            self.probes_late_s.append((event.onset_s, self.clock() - event.onset_s))
        else:
            self.seen.append((self.clock(), event))

    def tell(self, text: str) -> None:
        self.lines.append(text)

    def close(self) -> None:
        return


class LiveFlight:
    """A flight on a thread of its own."""

    def __init__(
        self,
        *,
        has_ear: bool = False,
        has_voice: bool = True,
        probes: bool = True,
        is_kept: bool = False,
        broken_off: BrokenOff | None = None,
    ) -> None:
        """`probes`: the loop is asked every 20 ms how late it is. `is_kept`: a journal on the real disk."""
        plan = plan_drill(read_drill("eight-spoke", {"spokes": "1", "leg_s": f"{LEG_S:g}"}))
        self.choice = Choice(
            plan=plan, settings=Settings(), table=read_phrases(), has_ear=has_ear, has_voice=has_voice
        )
        self.choice = replace(self.choice, broken_off=broken_off)
        self._is_kept = is_kept
        self.watcher = Watcher()
        self.disk = BadDisk()
        self.error: BaseException | None = None
        self._probes = probes
        self._thread = threading.Thread(target=self._fly, daemon=True)
        self._prober = threading.Thread(target=self._probe, daemon=True)

    def __enter__(self) -> LiveFlight:
        if not self._is_kept:
            _journals.setup()
        self._thread.start()
        assert self.watcher.opened.wait(10.0), "the flight did not begin"
        if self._probes:
            self._prober.start()
        self.wait_for(lambda: bool(self.actions(Show)), 10.0, "the session's start")
        return self

    def __exit__(self, *_: object) -> None:
        self.watcher.is_over = True
        self.press("where now")
        self._thread.join(20.0)

    def _fly(self) -> None:
        _journals.disks[threading.get_ident()] = self.disk
        try:
            fly_live(self.choice, self.watcher)  # type: ignore[arg-type]
        except OverError:
            pass
        except BaseException as exc:
            self.error = exc

    def _probe(self) -> None:
        while not self.watcher.is_over:
            now_s = self.watcher.clock()
            self.watcher.post(PromptStarted(at_s=now_s, onset_s=now_s, prompt=PROBE))
            time.sleep(PROBE_EVERY_S)

    # ---- what a pilot does

    def press(self, phrase: str) -> float:
        at_s = self.watcher.clock()
        self.watcher.post(PhraseHeard(at_s=at_s, onset_s=at_s, phrase=phrase, by="key"))
        return at_s

    def begin_leg(self) -> float:
        """Back to the station and by it: a time call is due `LEG_S` from now."""
        self.press("rejoin")
        time.sleep(0.3)
        return self.press("station passage")

    # ---- what there was to see

    def clock(self) -> float:
        return self.watcher.clock()

    def actions(self, kind: type, since_s: float = 0.0) -> list[Any]:
        return [
            thing for at_s, thing in list(self.watcher.seen) if at_s >= since_s and isinstance(thing, kind)
        ]

    def find(self, kind: type, since_s: float, edge: str | None = None) -> float | None:
        """When the first such fact was taken."""
        return next(
            (
                at_s
                for at_s, thing in list(self.watcher.seen)
                if at_s >= since_s
                and isinstance(thing, kind)
                and (edge is None or getattr(thing, "edge", None) == edge)
            ),
            None,
        )

    def count(self, kind: type, since_s: float, edge: str) -> int:
        return sum(thing.edge == edge for thing in self.actions(kind, since_s))

    def wait_for(self, is_so: Callable[[], object], within_s: float, what: str) -> None:
        give_up_s = time.monotonic() + within_s
        while not is_so():
            if self.error is not None:
                raise AssertionError(f"the flight ended: {self.error!r}")
            if time.monotonic() > give_up_s:
                raise AssertionError(f"not within {within_s:g} s: {what}; told {self.watcher.lines[-3:]}")
            time.sleep(0.01)

    def wait_fact(self, kind: type, since_s: float, edge: str, within_s: float) -> float | None:
        """When it was told of that edge; None: not within that time."""
        give_up_s = time.monotonic() + within_s
        while time.monotonic() < give_up_s:
            if (at_s := self.find(kind, since_s, edge)) is not None:
                return at_s
            time.sleep(0.01)
        return None

    def late_s(self, since_s: float) -> float:
        """The longest that the loop took to take a probe, or to wake."""
        woken = [
            event.at_s - event.onset_s for event in self.actions(Woken, since_s) if event.onset_s >= since_s
        ]
        held = [event.at_s - event.onset_s for event in self.actions(HeldUp, since_s)]
        probes = [late_s for at_s, late_s in list(self.watcher.probes_late_s) if at_s >= since_s]
        return max([0.0, *woken, *held, *probes])

    def find_call(self, passage_s: float) -> Say | None:
        """The time call of the leg begun then, as it came to the screen."""
        due_s = passage_s + LEG_S
        calls = [say for say in self.actions(Say, passage_s) if say.due_s is not None]
        return next((say for say in calls if abs(say.due_s - due_s) < 0.005), None)

    def find_call_off_s(self, call: Say) -> float | None:
        """How far from its time the call's first word sounded, as the speaker reports; None: it did not."""
        started = next((event for event in self.actions(PromptStarted) if event.prompt == call.prompt), None)
        return None if started is None or call.due_s is None else started.onset_s - call.due_s

    def is_dropped(self, call: Say) -> bool:
        return any(event.prompt == call.prompt for event in self.actions(PromptDropped))


class _Journals:
    """Gives each flight its own disk, in place of the folder of journals."""

    def __init__(self) -> None:
        self.disks: dict[int, BadDisk] = {}

    def setup(self) -> None:
        coach.flight.begin_journal = self.begin  # type: ignore[assignment]

    def begin(
        self, _folder: object, header: Header, *, post: Callable[[Event], None], now_s: Callable[[], float]
    ) -> JournalWriter:
        disk = self.disks[threading.get_ident()]
        return JournalWriter(lambda: disk.file, post=post, now_s=now_s, header=header)


_journals = _Journals()

__all__ = ["LEG_S", "EdgeFailed", "EdgeRecovered", "LiveFlight"]
