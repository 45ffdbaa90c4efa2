"""`coach station import FILE`: the VORs of a navaid file become the user's table.

Exit 0 where the table was made; rows that could not be used are told and left out.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from coach.cli.output import bullets, line, print_json
from coach.errors import Problem, SettingsError
from coach.store.navaid_csv import NavaidFile
from coach.store.stations import read_navaid_file, write_stations

MOST_TOLD = 20
"""Rows left out that are told one by one."""


def run(options: argparse.Namespace) -> int:
    """Import a file."""
    file = read_navaid_file(Path(options.file))
    if not file.navaids:
        none = Problem(where=options.file, expected="at least one VOR that can be used", got="none")
        raise SettingsError(*file.left_out[:MOST_TOLD], none)
    path = write_stations(file.navaids)
    if options.json:
        print_json(_encode(file, path))
        return 0
    _tell(file, path)
    return 0


def _encode(file: NavaidFile, path: Path) -> dict[str, object]:
    return {
        "table": str(path),
        "stations": len(file.navaids),
        "without_declination": _count_blank(file),
        "left_out": [str(problem) for problem in file.left_out],
        "others": file.others,
    }


def _tell(file: NavaidFile, path: Path) -> None:
    line(f"{len(file.navaids)} stations in {path}")
    if blank := _count_blank(file):
        line(f"{blank} of them without a declination: give it with the position, from a chart")
    if file.others:
        others = ", ".join(f"{n} {kind}" for kind, n in sorted(file.others.items()))
        line(f"Not taken, since no VOR: {others}")
    line("Declinations in such a file can be many years old: check yours against a current chart")
    bullets("Left out", [str(problem) for problem in file.left_out[:MOST_TOLD]])
    if len(file.left_out) > MOST_TOLD:
        line(f"and {len(file.left_out) - MOST_TOLD} more")


def _count_blank(file: NavaidFile) -> int:
    return sum(navaid.declination_deg is None for navaid in file.navaids)
