"""What is pressed or typed on the page: read from its JSON, checked, made an event.

Every command names its own number, so that one sent twice counts once. Never takes a phrase that is not
the instructor's to say: only the pilot reports passage or the needle.
"""

from __future__ import annotations

import json
from collections import deque
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_type_hints

from coach.session.events import BookmarkMade, Event, NoteMade, PhraseHeard
from coach.session.surprised import ASKED_FOR

PHRASES = ("stand by", "resume drill", "say again", "disregard", "rejoin", "terminate drill", ASKED_FOR)
"""What the page may say for the pilot, and what only an instructor can."""

BOOKMARKS: tuple[str, ...] = get_args(get_type_hints(BookmarkMade)["what"])
LONGEST_NOTE = 500
OLDEST_S = 600.0
"""A note may have waited so long for its connection; a phrase never waits."""

LATEST_PHRASE_S = 5.0
"""An older press of a phrase was meant for another moment of the flight."""

KEPT_NUMBERS = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One press or one note."""

    number: str
    """The page's own, 1-40 characters: the same command sent again has the same."""

    do: Literal["phrase", "bookmark", "note"]
    what: str
    age_s: float
    """How long before it was sent it was pressed or begun."""


def parse_command(body: bytes) -> Command:
    """The command of a request's body. Raises ValueError with one line."""
    try:
        values = json.loads(body)
    except (ValueError, RecursionError) as exc:
        raise ValueError("expected a JSON object") from exc
    if not isinstance(values, dict) or set(values) != {"number", "do", "what", "age_s"}:
        raise ValueError("expected number, do, what and age_s")
    number, do, what, age_s = (values[key] for key in ("number", "do", "what", "age_s"))
    _expect(isinstance(number, str) and 1 <= len(number) <= 40, "number: expected 1-40 characters")
    _expect(do in ("phrase", "bookmark", "note"), "do: expected phrase, bookmark or note")
    _expect(type(age_s) in (int, float) and 0.0 <= age_s <= OLDEST_S, f"age_s: expected 0-{OLDEST_S:g}")
    what = _check_what(do, what)
    _expect(do != "phrase" or age_s <= LATEST_PHRASE_S, "age_s: too late for a phrase")
    return Command(number=number, do=do, what=what, age_s=float(age_s))


def _check_what(do: str, what: Any) -> str:
    _expect(isinstance(what, str), "what: expected a text")
    if do == "note":
        note = " ".join("".join(c if c.isprintable() else " " for c in what).split())
        _expect(1 <= len(note) <= LONGEST_NOTE, f"what: expected a note of 1-{LONGEST_NOTE} characters")
        return note
    known = PHRASES if do == "phrase" else BOOKMARKS
    _expect(what in known, f"what: expected one of {', '.join(known)}")
    return str(what)


def _expect(is_so: bool, otherwise: str) -> None:
    if not is_so:
        raise ValueError(otherwise)


def event_of(command: Command, now_s: float) -> Event:
    """The event of a command that has come in at `now_s` on the session clock."""
    onset_s = max(0.0, now_s - command.age_s)
    match command.do:
        case "phrase":
            return PhraseHeard(at_s=now_s, onset_s=onset_s, phrase=command.what, by="page")
        case "bookmark":
            what: Any = command.what
            return BookmarkMade(at_s=now_s, onset_s=onset_s, what=what)
    return NoteMade(at_s=now_s, onset_s=onset_s, text=command.what)


class Seen:
    """The numbers of the last commands."""

    def __init__(self) -> None:
        self._numbers: deque[str] = deque(maxlen=KEPT_NUMBERS)

    def is_new(self, command: Command) -> bool:
        """True once for each number."""
        if command.number in self._numbers:
            return False
        self._numbers.append(command.number)
        return True
