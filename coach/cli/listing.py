"""`coach list`."""

from __future__ import annotations

import argparse
from dataclasses import asdict

from coach.cli.output import print_json, table
from coach.store.drills import list_drills


def run(options: argparse.Namespace) -> int:
    """Name the drills."""
    drills = list_drills()
    if options.json:
        print_json({"drills": [asdict(drill) for drill in drills]})
    else:
        table(("drill", "title"), [(drill.name, drill.title) for drill in drills])
    return 0
