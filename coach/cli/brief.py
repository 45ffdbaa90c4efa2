"""`coach brief`: the plan as a table of legs, or as JSON."""

from __future__ import annotations

import argparse

from coach.cli.output import bullets, line, print_json, table
from coach.cli.planning import read_plan
from coach.cli.station_shown import add_station, show_station
from coach.drill.briefing import COLUMNS, brief_plan, encode_briefing


def run(options: argparse.Namespace) -> int:
    """Work a drill out and show it."""
    plan, settings = read_plan(options)
    station = show_station(options, plan, settings)
    if options.json:
        print_json(add_station(encode_briefing(plan), plan.warnings, station))
        return 0
    briefing = brief_plan(plan)
    line(briefing.title)
    for fact in briefing.facts:
        line(fact)
    table(COLUMNS, briefing.rows)
    bullets("Station", station.facts)
    bullets("Warnings", (*briefing.warnings, *station.warnings))
    bullets("Cautions", briefing.cautions)
    return 0
