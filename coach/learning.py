"""What the pilot knows on its way from the disk to the session and back: a flight is never given up for it.

Where the history cannot be read the coach tells so, begins in full and writes nothing over it.
"""

from __future__ import annotations

import json
from collections.abc import Callable

from coach.errors import CoachError, JournalError, SettingsError
from coach.session.fields import decode_fields, encode_fields
from coach.session.journal import Header
from coach.session.mastery import Learnt, Mastery
from coach.session.teacher import Mode
from coach.settings import Settings
from coach.store.mastery import add_session, find_known, mastery_path, read_mastery

KNOWN = "known"
"""The setting of a journal's header that has what the session began with: a replay needs it."""


def find_learnt(settings: Settings, drill: str, tell: Callable[[str], None]) -> tuple[Mastery, ...]:
    """What the last session with a drill left; empty in the told mode, which never looks."""
    if settings.mode is Mode.TOLD:
        return ()
    try:
        return find_known(read_mastery(mastery_path()), drill)
    except SettingsError as error:
        tell(f"Nothing known of earlier sessions, all is said. {error}")
        return ()


def keep_learnt(
    mode: Mode, header: Header, elements: tuple[Mastery, ...], tell: Callable[[str], None]
) -> None:
    """Add a session to the history; one in which nothing was answered is no session."""
    if mode is Mode.TOLD or not any(mastery.answers for mastery in elements):
        return
    try:
        learnt = Learnt(began_utc=header.began_utc, drill=header.drill, elements=elements)
        add_session(mastery_path(), learnt)
    except CoachError as error:
        tell(f"What was learnt is not kept. {error}")


def encode_known(known: tuple[Mastery, ...]) -> str:
    """What a session begins with, as one setting of a journal's header."""
    return json.dumps([encode_fields(mastery) for mastery in known], separators=(",", ":"))


def known_of(header: Header) -> tuple[Mastery, ...]:
    """What that session began with. `JournalError` where the header's setting is none of ours."""
    text = dict(header.session_settings).get(KNOWN, "[]")
    try:
        values = json.loads(text)
        rows = tuple(dict(row) for row in values)
    except (ValueError, TypeError, RecursionError) as exc:
        raise JournalError(f"header: {KNOWN}: expected what is known, got {text[:60]!r}") from exc
    return tuple(decode_fields(Mastery, row, f"header: {KNOWN}") for row in rows)
