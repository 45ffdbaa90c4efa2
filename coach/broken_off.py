"""A flight that was broken off: which one it was, and what its session clock reads now.

Never flies and never decides whether to go on with it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from coach.cockpit import SessionClock, World, steady_s
from coach.errors import JournalError, Problem
from coach.session.events import Event, PromptDropped, TransmitEnded
from coach.session.journal import Header, Journal
from coach.session.machine import Session
from coach.session.replay import Standing, replay
from coach.store.journals import FoundJournal, StoredJournal, list_journals, read_journal

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
"""Changes with each start of the machine (Linux); elsewhere the wall clock is all there is."""

NAME = re.compile(r"[0-9A-Za-z-]{1,100}")
"""The name of a journal, without its ending: nothing that leads out of the folder."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BrokenOff:
    """A flight to be gone on with."""

    path: Path
    journal: Journal
    repair: str | None
    """What of the journal was mended, in one line; None: nothing."""

    @property
    def last_s(self) -> float:
        """The session clock at the last event."""
        return self.journal.steps[-1][0].at_s if self.journal.steps else 0.0

    @property
    def asked(self) -> Mapping[str, object]:
        """The options that the flight was begun with; empty where none were kept."""
        return _decode(dict(self.journal.header.session_settings).get("asked", "{}"))


def encode_asked(options: Mapping[str, object]) -> str:
    """The options of a command as one setting of the journal's header; what is not plain is left out."""
    plain = {name: value for name, value in options.items() if _is_plain(value)}
    return json.dumps(plain, sort_keys=True, separators=(",", ":"))


def find_broken_off(folder: Path, name: str | None = None) -> BrokenOff:
    """The flight of that name, None the newest that was broken off.

    JournalError where there is none, it was flown to its end, or its journal cannot be read.
    """
    path = _find_newest(folder) if name is None else _named(folder, name)
    stored = read_journal(path)
    if stored.journal.is_closed:
        raise _refused(str(path), "a flight that was broken off", "one flown to its end")
    return _broken_off(stored)


def find_recent(folder: Path, within_s: float, now_utc: datetime) -> FoundJournal | None:
    """The last flight, where it was broken off not longer ago than that."""
    last = next(iter(list_journals(folder)), None)
    if last is None or last.is_closed or last.is_in_use or last.header is None:
        return None
    return last if 0.0 <= age_s(last.path, now_utc) <= within_s else None


def age_s(path: Path, now_utc: datetime) -> float:
    """How long ago a journal was last written to, by the wall clock."""
    return now_utc.timestamp() - path.stat().st_mtime


def clock_settings(clock: SessionClock, boot: str | None = None) -> tuple[tuple[str, str], ...]:
    """What the header keeps of the machine's own clock, so that the session clock can be found again."""
    began_s = steady_s() - clock.now_s()
    boot = find_boot() if boot is None else boot
    return (("boot", boot), ("began_steady_s", f"{began_s:.6f}")) if boot else ()


def find_boot() -> str:
    """Which start of the machine this is; empty where it cannot be told."""
    try:
        return BOOT_ID.read_text().strip()
    except OSError:
        return ""


def reading_s(
    broken_off: BrokenOff,
    *,
    steady: Callable[[], float] = steady_s,
    now_utc: Callable[[], datetime] = lambda: datetime.now(UTC),
    boot: str | None = None,
) -> float | None:
    """What the session clock reads now; None where it cannot be told.

    By the clock that nobody sets where the machine has not been started anew since, else by the wall clock.
    """
    header = broken_off.journal.header
    reads_s = _steady_reading_s(header, steady(), find_boot() if boot is None else boot)
    if reads_s is None:
        reads_s = (now_utc() - header.began_utc).total_seconds()
    return reads_s if reads_s >= broken_off.last_s else None


def stand_again(broken_off: BrokenOff, session: Session) -> tuple[Standing, str]:
    """Bring a session to where it stood; `at_s` is what its clock reads now, the text what to tell of it.

    JournalError where the journal is not of this drill and this coach.
    """
    standing = replay(session, broken_off.journal.steps, where=str(broken_off.path))
    now_s = reading_s(broken_off)
    if now_s is None:
        return standing, "Resumed; the clock was set back, so the time that passed is not known"
    return replace(standing, at_s=now_s), f"Resumed after {render_length(now_s - standing.at_s)}"


def take_up(standing: Standing, world: World, post: Callable[[Event], None]) -> None:
    """Give the edges what they had, and what was to be said and can still be said."""
    now_s = world.now_s()
    for action in (standing.listen, standing.expect, standing.show):
        if action is not None:
            world.do(action)
    for say in standing.unfinished:
        if say.stale_s >= now_s:
            world.do(say)
        else:
            post(PromptDropped(at_s=now_s, onset_s=now_s, prompt=say.prompt, reason="broken off"))
    if standing.is_transmitting:
        post(TransmitEnded(at_s=now_s, onset_s=now_s))


def render_length(seconds: float) -> str:
    """A length of time as `1:05:09`."""
    minutes, left = divmod(round(seconds), 60)
    return f"{minutes // 60}:{minutes % 60:02d}:{left:02d}" if minutes >= 60 else f"{minutes}:{left:02d}"


def _steady_reading_s(header: Header, now_s: float, boot: str) -> float | None:
    settings = dict(header.session_settings)
    if not boot or settings.get("boot") != boot:
        return None
    try:
        return now_s - float(settings["began_steady_s"])
    except (KeyError, ValueError):
        return None


def _find_newest(folder: Path) -> Path:
    for found in list_journals(folder):
        if found.header is not None and not found.is_closed and not found.is_in_use:
            return found.path
    raise _refused(str(folder), "a flight that was broken off", "none")


def _named(folder: Path, name: str) -> Path:
    stem = name.removesuffix(".jsonl")
    path = folder / f"{stem}.jsonl"
    if NAME.fullmatch(stem) is None or not path.is_file():
        known = [found.path.stem for found in list_journals(folder)[:3]]
        expected = f"the name of a journal in {folder}" + (f" ({', '.join(known)})" if known else "")
        raise _refused("--resume", expected, repr(name[:80]))
    return path


def _broken_off(stored: StoredJournal) -> BrokenOff:
    return BrokenOff(path=stored.path, journal=stored.journal, repair=stored.repair)


def _refused(where: str, expected: str, got: str) -> JournalError:
    return JournalError(Problem(where=where, expected=expected, got=got))


def _decode(text: str) -> dict[str, object]:
    try:
        values = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return (
        {name: value for name, value in values.items() if _is_plain(value)}
        if isinstance(values, dict)
        else {}
    )


def _is_plain(value: object) -> bool:
    """Text, numbers, yes and no, nothing, and lists of text: what options are made of."""
    if isinstance(value, list):
        return all(isinstance(part, str) for part in value)
    return value is None or isinstance(value, str | bool | int | float)
