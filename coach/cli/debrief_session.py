"""A session to be debriefed: its journal found, its drill planned again as it was before the flight.

Never handles the flight again: an older coach's journal is read as it was written.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass
from pathlib import Path

from coach.cli.planning import find_station, read_plan
from coach.debrief.make import SessionFlown
from coach.errors import JournalError, Problem
from coach.nav.station import Station
from coach.session.journal import Header
from coach.store.journals import journals_folder, list_journals, read_journal

ENDING = ".jsonl"

KEPT = ("asked", "rehearsed")
"""The settings of a header that hold the options of the command that flew."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundSession:
    """A session and what is known beside it."""

    path: Path
    flown: SessionFlown
    station: Station | None
    """The one it was flown over; None: none was named."""

    @property
    def is_rehearsed(self) -> bool:
        """Whether the simulated pilot flew it."""
        return "rehearsed" in dict(self.flown.journal.header.session_settings)


def find_session(options: argparse.Namespace) -> FoundSession:
    """The session that the options name, else the newest. Raises `CoachError`."""
    path = _newest() if options.session is None else _named(options.session)
    journal = read_journal(path).journal
    again = _options(journal.header, options.drill)
    plan, settings = read_plan(again)
    return FoundSession(
        path=path,
        flown=SessionFlown(
            journal=journal,
            plan=plan,
            full_scale_deg=settings.full_scale_deg,
            height_ft=settings.height_ft,
        ),
        station=find_station(again) or plan.drill.station,
    )


def _newest() -> Path:
    folder = journals_folder()
    found = next((found.path for found in list_journals(folder) if found.header is not None), None)
    if found is None:
        raise JournalError(Problem(where=str(folder), expected="a journal of a flight", got="none"))
    return found


def _named(text: str) -> Path:
    """A path, or the name of a journal in the folder of journals, with its ending or without."""
    path = Path(text)
    kept = journals_folder() / f"{text.removesuffix(ENDING)}{ENDING}"
    is_name = "/" not in text and "\\" not in text
    return kept if is_name and not path.exists() and (kept.is_file() or not path.suffix) else path


def _options(header: Header, drill: str | None) -> argparse.Namespace:
    """The options that the flight was begun with; what the header tells itself comes first."""
    told = dict(header.session_settings)
    asked: dict[str, object] = {}
    for name in KEPT:
        asked |= _decode(told.get(name, "{}"))
    own = {name: told.get(name) for name in ("tas_kt", "wind", "height_ft", "full_scale_deg")}
    values = {"wind": None, "station": None} | asked | {k: v for k, v in own.items() if v is not None}
    values["drill"] = drill or asked.get("drill") or header.drill
    values["set"] = [f"{key}={value}" for key, value in header.drill_settings]
    values["station"] = told.get("station") or values["station"]
    return argparse.Namespace(**values)


def _decode(text: str) -> dict[str, object]:
    try:
        values = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return values if isinstance(values, dict) else {}
