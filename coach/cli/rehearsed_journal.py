"""The journal of a rehearsal: kept in a folder where that is asked for, and gone on with.

A rehearsal is the same each time, so one that was broken off is flown again as far as its journal goes, and
from there on. Never keeps anything unasked.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from coach import __version__
from coach.broken_off import BrokenOff, encode_asked, find_broken_off
from coach.cockpit import Journal
from coach.drill.plan import Plan
from coach.errors import JournalError, Problem, SettingsError
from coach.session.actions import Action
from coach.session.events import EdgeFailed, Event
from coach.session.journal import Header
from coach.store.journal_writer import JournalWriter
from coach.store.journals import begin_journal, resume_journal

Tell = Callable[[str], None]


class Kept:
    """Writes what is new; what the journal holds already must happen again as it did.

    `tell` leaves out the lines of the part that is flown again.
    """

    def __init__(self, tell: Tell, broken_off: BrokenOff | None = None) -> None:
        self._tell = tell
        self._broken_off = broken_off
        self._steps = () if broken_off is None else broken_off.journal.steps
        self._n = 0
        self.journal: Journal | None = None
        """Where new events go; None: nowhere."""

        self.write_missing: Callable[[tuple[Action, ...]], None] = lambda _actions: None

    @property
    def is_new(self) -> bool:
        """Whether what happens now has not been flown before."""
        return self._n >= len(self._steps)

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        """Keep an event, or compare it with the journal; JournalError where it differs."""
        if not self.is_new:
            self._compare(event, actions)
        elif self.journal is not None:
            self.journal.write(event, actions)

    def tell(self, text: str) -> None:
        """Pass a new line on."""
        if self.is_new:
            self._tell(text)

    def _compare(self, event: Event, actions: tuple[Action, ...]) -> None:
        kept_event, kept = self._steps[self._n]
        self._n += 1
        missing = actions[len(kept) :]
        if event != kept_event or actions[: len(kept)] != kept or (missing and not self.is_new):
            where = f"{self._broken_off.path if self._broken_off else ''}: event {self._n}"
            expected = "the rehearsal of this drill with these options"
            raise JournalError(Problem(where=where, expected=expected, got="another"))
        self.write_missing(missing)


@contextmanager
def rehearsed_journal(options: argparse.Namespace, plan: Plan, tell: Tell) -> Iterator[Kept]:
    """The journal that the options ask for; JournalError where it cannot be gone on with."""
    if options.journal is None:
        if options.resume:
            raise SettingsError(Problem(where="--resume", expected="--journal FOLDER with it", got="none"))
        yield Kept(tell)
        return
    folder = Path(options.journal)
    broken_off = find_broken_off(folder) if options.resume else None
    kept = Kept(tell, broken_off)
    with _open(folder, broken_off, header_of(options, plan), tell) as writer:
        kept.journal, kept.write_missing = writer, writer.write_missing
        yield kept


def header_of(options: argparse.Namespace, plan: Plan) -> Header:
    """The first line of a rehearsal's journal."""
    return Header(
        version=1,
        drill=plan.drill.name,
        drill_settings=plan.drill.settings,
        began_utc=datetime.now(UTC),
        coach_version=__version__,
        session_settings=(("rehearsed", encode_asked(vars(options))),),
    )


def _open(folder: Path, broken_off: BrokenOff | None, header: Header, tell: Tell) -> JournalWriter:
    def post(event: Event) -> None:
        tell(event.reason if isinstance(event, EdgeFailed) else "journal: back")

    if broken_off is not None:
        return resume_journal(broken_off.path, post=post, now_s=_no_clock)[1]
    return begin_journal(folder, header, post=post, now_s=_no_clock)


def _no_clock() -> float:
    return 0.0
