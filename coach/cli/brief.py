"""`coach brief`: the plan as a table of legs, as JSON, as a card on one sheet, and read aloud."""

from __future__ import annotations

import argparse
from pathlib import Path

from coach.cli.aloud import audio_path, read_plan_aloud
from coach.cli.contained import contain_plan, render_conditions, wind_limit_of
from coach.cli.output import bullets, line, print_json, table
from coach.cli.planning import find_station, read_plan
from coach.cli.station_choice import find_navaid
from coach.cli.station_shown import add_station, show_station
from coach.drill.briefing import COLUMNS, brief_plan, encode_briefing, render_time
from coach.drill.card import lay_out_card, render_request
from coach.drill.containment import Containment, encode_containment, render_containment
from coach.drill.hold_notes import hold_notes
from coach.drill.plan import Plan
from coach.drill.preflight import look_up, uses_station
from coach.drill.station_briefing import StationBriefing
from coach.drill.thumbs import rules_of_thumb
from coach.errors import Problem, SettingsError
from coach.paper.drawing import check_path, draw_sheets, measure_text
from coach.settings import Settings


def run(options: argparse.Namespace) -> int:
    """Work a drill out, show it, draw its card and read it aloud where that is asked for."""
    card, audio, wind_up_to_kt = _card_path(options), _audio_path(options), wind_limit_of(options)
    plan, settings = read_plan(options)
    station = show_station(options, plan, settings)
    contained = contain_plan(plan, wind_up_to_kt) if options.containment else None
    if card is not None:
        _draw_card(plan, card, options, station.warnings)
    if options.json:
        encoded = add_station(encode_briefing(plan), plan.warnings, station)
        print_json(encoded if contained is None else encoded | {"containment": encode_containment(contained)})
    else:
        _show(plan, station, options, contained)
        if card is not None:
            line(f"Card: {card}")
    if options.aloud:
        _read(plan, settings, options, audio)
    return 0


def _show(
    plan: Plan, station: StationBriefing, options: argparse.Namespace, contained: Containment | None
) -> None:
    briefing = brief_plan(plan)
    line(briefing.title)
    for fact in briefing.facts:
        line(fact)
    table(COLUMNS, briefing.rows)
    bullets("Station", station.facts)
    bullets("Warnings", (*briefing.warnings, *station.warnings))
    if contained is not None:
        drawn = render_conditions(plan, wind_limit_of(options))
        bullets("Containment", (*render_containment(contained), drawn))
    bullets("Hold", hold_notes(plan))
    bullets("Look up", look_up(plan))
    bullets("Rules of thumb", rules_of_thumb(plan))
    if uses_station(plan.drill):
        line(render_request(plan, *_station_names(options)))
    bullets("Cautions", briefing.cautions)


def _station_names(options: argparse.Namespace) -> tuple[str, ...]:
    """The name of the station given by its ident; none where none is."""
    navaid = find_navaid(options.station) if options.station else None
    return () if navaid is None else (navaid.name,)


def _audio_path(options: argparse.Namespace) -> Path | None:
    if options.audio is not None and not options.aloud:
        raise SettingsError(Problem(where="--audio", expected="--aloud beside it", got="none"))
    return audio_path(options.audio)


def _read(plan: Plan, settings: Settings, options: argparse.Namespace, path: Path | None) -> None:
    """Read the briefing aloud, or into a file; only a station given on the command line is named."""
    seconds = read_plan_aloud(plan, settings, station=next(iter(_station_names(options)), None), path=path)
    if seconds is not None and not options.json:
        line(f"Audio: {path}, {render_time(seconds)}")


def _card_path(options: argparse.Namespace) -> Path | None:
    """Where the card goes; None: no card. Raises SettingsError before anything is worked out."""
    if options.card is None:
        if options.wide:
            raise SettingsError(Problem(where="--wide", expected="--card FILE beside it", got="none"))
        return None
    path = Path(options.card)
    check_path(path)
    return path


def _draw_card(plan: Plan, path: Path, options: argparse.Namespace, warnings: tuple[str, ...]) -> None:
    """Draw the card; only a station given on the command line is named on it."""
    sheets = lay_out_card(
        plan,
        measure_text,
        station=find_station(options),
        navaid=find_navaid(options.station) if options.station else None,
        warnings=warnings,
        is_wide=options.wide,
    )
    draw_sheets(sheets, path)
