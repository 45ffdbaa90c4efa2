"""`coach list`: the drills that come with the coach, each with where it is published."""

from __future__ import annotations

import argparse
from dataclasses import asdict

from coach.cli.output import line, print_json, table
from coach.store.drills import Listing, list_drills


def run(options: argparse.Namespace) -> int:
    """Name the drills."""
    drills = list_drills()
    if options.json:
        print_json({"drills": [asdict(drill) for drill in drills]})
        return 0
    table(("drill", "title"), [(drill.name, drill.title) for drill in drills])
    line()
    line("Sources")
    for source, named in _by_source(drills):
        line(f"- {', '.join(named)}: {source}")
    return 0


def _by_source(drills: tuple[Listing, ...]) -> list[tuple[str, list[str]]]:
    """Each source once, with the drills that have it."""
    found: dict[str, list[str]] = {}
    for drill in drills:
        found.setdefault(drill.source, []).append(drill.name)
    return list(found.items())
