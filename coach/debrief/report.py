"""What stands in the report of a flight: facts, three sentences, pictures, tables, notes, cautions.

Never draws and never lays out: `coach.paper` does. Every figure in it is the debrief's own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from coach.debrief.model import Debrief
from coach.debrief.report_grid import Grid
from coach.debrief.report_pictures import Above, OverTime, draw_above, draw_over_time
from coach.debrief.report_sentences import tell_flight
from coach.debrief.report_tables import lay_tables
from coach.debrief.skills import gather_skills
from coach.drill.card_view import render_wind_line
from coach.drill.cautions import CAUTIONS
from coach.nav.station import render_station


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Report:
    """Everything that is drawn and written."""

    title: str
    facts: tuple[tuple[str, str], ...]
    """Name and value."""

    sentences: tuple[str, ...]
    above: Above | None
    over_time: OverTime | None
    tables: tuple[Grid, ...]
    standards: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    began_utc: str
    """Zero of the pictures' clock, as `HH:MM:SS`."""


def make_report(debrief: Debrief) -> Report:
    """Return the report of a debrief."""
    return Report(
        title="A track" if debrief.plan is None else debrief.plan.drill.title,
        facts=tuple(_facts(debrief)),
        sentences=tell_flight(debrief),
        above=draw_above(debrief),
        over_time=draw_over_time(debrief),
        tables=lay_tables(debrief),
        standards=tuple(_standards(debrief)),
        notes=debrief.notes,
        cautions=tuple(
            caution.text if caution.source is None else f"{caution.text} ({caution.source})"
            for caution in CAUTIONS
        ),
        began_utc=debrief.render_utc(0.0).rpartition("T")[2][:8],
    )


def _facts(debrief: Debrief) -> Iterator[tuple[str, str]]:
    flight, plan = debrief.flight, debrief.plan
    began = debrief.render_utc(0.0)
    yield "Began", f"{began[:10]} {began[11:19]} UTC" if debrief.has_date else f"{began[:8]} UTC"
    if flight is not None:
        yield "Track", f"{float(flight.time_s[-1]) / 60.0:.0f} minutes, {len(flight.track)} fixes"
        yield "Station", render_station(flight.station)
    if plan is not None:
        yield "Planned for", f"{plan.tas_kt:g} kt TAS, {render_wind_line(plan).lower()}"
    if flight is not None and flight.wind is not None:
        wind = flight.wind.mean
        yield "Wind as flown", f"{wind.from_deg:03.0f}/{wind.speed_kt:.0f}, magnetic"
    if debrief.legs:
        flown = sum(leg.how == "flown" for leg in debrief.legs)
        seen = "flown" if flight is not None else "begun, no track to see them by"
        yield "Legs", f"{flown} of {len(plan.legs) if plan else len(debrief.legs)} {seen}"


def _standards(debrief: Debrief) -> Iterator[str]:
    for skill in gather_skills(debrief):
        yield f"{skill.what}: {skill.standard.text} ({skill.standard.source})"
