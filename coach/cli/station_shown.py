"""What `coach brief` tells of the station given with `--station`; nothing where none is given."""

from __future__ import annotations

import argparse
from datetime import UTC, date, datetime

from coach.cli.planning import find_station
from coach.cli.station_choice import find_navaid
from coach.drill.plan import Plan
from coach.drill.station_briefing import StationBriefing, brief_station
from coach.settings import Settings


def today() -> date:
    """The day by UTC: what the variation is shown for."""
    return datetime.now(UTC).date()


def show_station(options: argparse.Namespace, plan: Plan, settings: Settings) -> StationBriefing:
    """The station given, for a plan; no facts and no warnings where none is given. Raises `CoachError`."""
    station = find_station(options)
    if station is None:
        return StationBriefing(facts=(), warnings=(), encoded={})
    navaid = find_navaid(options.station)
    return brief_station(plan, station, navaid, height_ft=settings.height_ft, day=today())


def add_station(
    briefing: dict[str, object], warnings: tuple[str, ...], shown: StationBriefing
) -> dict[str, object]:
    """A briefing's JSON with the station's warnings behind its own, and the station where there is one."""
    if not shown.encoded:
        return briefing
    return briefing | {"warnings": [*warnings, *shown.warnings], "station": shown.encoded}
