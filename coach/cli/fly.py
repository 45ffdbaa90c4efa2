"""`coach fly`: the cautions, then the flight."""

from __future__ import annotations

import argparse

from coach.cli.output import line
from coach.cli.planning import read_plan
from coach.drill.cautions import CAUTIONS
from coach.flight import Choice, fly_live
from coach.screen.terminal import Terminal
from coach.store.phrases import read_phrases


def run(options: argparse.Namespace) -> int:
    """Fly a drill."""
    plan, settings = read_plan(options)
    table = read_phrases()
    for caution in CAUTIONS:
        line(caution.text)
    choice = Choice(
        plan=plan,
        settings=settings,
        table=table,
        has_ear=not options.no_ear,
        has_voice=not options.no_voice,
    )
    fly_live(choice, Terminal(table))
    return 0
