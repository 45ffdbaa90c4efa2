"""`coach brief`: the plan as a table of legs, or as JSON."""

from __future__ import annotations

import argparse

from coach.cli.output import bullets, line, print_json, table
from coach.cli.planning import read_plan
from coach.drill.briefing import COLUMNS, brief_plan, encode_briefing


def run(options: argparse.Namespace) -> int:
    """Work a drill out and show it."""
    plan, _ = read_plan(options)
    if options.json:
        print_json(encode_briefing(plan))
        return 0
    briefing = brief_plan(plan)
    line(briefing.title)
    for fact in briefing.facts:
        line(fact)
    table(COLUMNS, briefing.rows)
    bullets("Warnings", briefing.warnings)
    bullets("Cautions", briefing.cautions)
    return 0
