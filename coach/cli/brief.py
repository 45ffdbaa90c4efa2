"""`coach brief`: the plan as a table of legs, as JSON, and as a card on one sheet."""

from __future__ import annotations

import argparse
from pathlib import Path

from coach.cli.output import bullets, line, print_json, table
from coach.cli.planning import find_station, read_plan
from coach.cli.station_choice import find_navaid
from coach.cli.station_shown import add_station, show_station
from coach.drill.briefing import COLUMNS, brief_plan, encode_briefing
from coach.drill.card import lay_out_card
from coach.drill.plan import Plan
from coach.drill.station_briefing import StationBriefing
from coach.errors import Problem, SettingsError
from coach.paper.drawing import check_path, draw_sheets, measure_text


def run(options: argparse.Namespace) -> int:
    """Work a drill out, show it, and draw its card where one is asked for."""
    card = _card_path(options)
    plan, settings = read_plan(options)
    station = show_station(options, plan, settings)
    if card is not None:
        _draw_card(plan, card, options, station.warnings)
    if options.json:
        print_json(add_station(encode_briefing(plan), plan.warnings, station))
        return 0
    _show(plan, station)
    if card is not None:
        line(f"Card: {card}")
    return 0


def _show(plan: Plan, station: StationBriefing) -> None:
    briefing = brief_plan(plan)
    line(briefing.title)
    for fact in briefing.facts:
        line(fact)
    table(COLUMNS, briefing.rows)
    bullets("Station", station.facts)
    bullets("Warnings", (*briefing.warnings, *station.warnings))
    bullets("Cautions", briefing.cautions)


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
