"""The flow before flight on the terminal: its items, and one key for all done.

Never holds the flight up for longer than it is given, and never takes another key for a yes.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from enum import StrEnum

from coach.errors import SetupError
from coach.screen.keys import KeySource, find_source

DONE_KEY = "enter"


class Answer(StrEnum):
    """What came of it."""

    DONE = "done"
    LATE = "not confirmed"
    NO_KEYS = "no keyboard"


def ask_all_done(
    items: tuple[str, ...],
    *,
    longest_s: float,
    tell: Callable[[str], None],
    keys: KeySource | None = None,
    now_s: Callable[[], float] = time.monotonic,
) -> Answer:
    """Show the items and wait for the key, at most so long; without a keyboard nothing is shown or asked.

    `keys` None: this system's keyboard. Ctrl-C interrupts as it does everywhere.
    """
    keys = keys or find_source()
    try:
        keys.open()
    except SetupError:
        tell("Before flight: no keyboard to confirm it with, left out.")
        return Answer.NO_KEYS
    try:
        tell(f"Before flight, on the ground. Enter: all done ({longest_s:g} s at most).")
        for item in items:
            tell(f"  - {item}")
        is_done = _is_pressed(keys, now_s() + longest_s, now_s)
    finally:
        keys.close()
    tell("All done." if is_done else "Not confirmed.")
    return Answer.DONE if is_done else Answer.LATE


def _is_pressed(keys: KeySource, until_s: float, now_s: Callable[[], float]) -> bool:
    while (left_s := until_s - now_s()) > 0.0:
        try:
            names = keys.read(left_s)
        except OSError:
            return False
        if names is None:
            return False
        if DONE_KEY in names:
            return True
    return False
