"""`coach fly --resume`, and the offer at the next start: a flight broken off is gone on with.

The options come from the journal, as the flight was begun with. Never opens a device.
"""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from pathlib import Path

from coach.broken_off import BrokenOff, age_s, encode_asked, find_broken_off, find_recent, render_length
from coach.cli.output import line
from coach.errors import JournalError, Problem
from coach.store.journals import journals_folder

OFFERED_WITHIN_S = 3600.0
"""A flight broken off longer ago is over: going on with it has to be asked for."""

NOT_KEPT = ("resume", "run")
NOT_BY_JOURNAL = (*NOT_KEPT, "json")


def asked_of(options: argparse.Namespace) -> str:
    """The options as the journal keeps them; a drill file by its full path."""
    asked = {name: value for name, value in vars(options).items() if name not in NOT_KEPT}
    if Path(str(options.drill)).suffix or "/" in str(options.drill):
        asked["drill"] = str(Path(options.drill).absolute())
    return encode_asked(asked)


def find_resumed(options: argparse.Namespace) -> BrokenOff | None:
    """The flight to go on with, None for a new one; `options` become those it was begun with.

    JournalError where the flight asked for cannot be gone on with.
    """
    if options.resume is None:
        return None if _begins_another(options) else _take(options, None)
    return _take(options, options.resume or None)


def _begins_another(options: argparse.Namespace) -> bool:
    """Tell of a flight broken off not long ago; True where another one is to be flown."""
    now_utc = datetime.now(UTC)
    found = find_recent(journals_folder(), OFFERED_WITHIN_S, now_utc)
    if found is None or found.header is None:
        return True
    ago = render_length(age_s(found.path, now_utc))
    told = f"A flight of {found.header.drill} was broken off {ago} ago."
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        line(f"{told} `coach fly --resume` goes on with it.")
        return True
    line(f"{told} Enter goes on with it, n begins {options.drill or 'another'}.")
    return sys.stdin.readline().strip().lower().startswith("n")


def _take(options: argparse.Namespace, name: str | None) -> BrokenOff:
    broken_off = find_broken_off(journals_folder(), name)
    if "drill" not in broken_off.asked:
        expected = "a flight of `coach fly`"
        raise JournalError(Problem(where=str(broken_off.path), expected=expected, got="another journal"))
    for option, value in broken_off.asked.items():
        if hasattr(options, option) and option not in NOT_BY_JOURNAL:
            setattr(options, option, value)
    if broken_off.repair is not None:
        line(broken_off.repair)
    return broken_off
