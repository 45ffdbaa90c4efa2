"""The options of `coach debrief`, `history` and `logbook`."""

from __future__ import annotations

import argparse
from typing import Any

from coach.cli.drill_arguments import AddCommand


def add_debrief(commands: Any, add_command: AddCommand, station_help: str) -> None:
    """Add the commands that look back at flights."""
    _add_debrief(commands, add_command, station_help)
    _add_history(commands, add_command)


def _add_debrief(commands: Any, add_command: AddCommand, station_help: str) -> None:
    parser = add_command(commands, "debrief", "debrief", "Tell what was flown, against the standard")
    parser.add_argument(
        "session",
        nargs="?",
        metavar="SESSION",
        help="a journal, by its name or its path (the newest, without --track)",
    )
    parser.add_argument(
        "--track",
        metavar="FILE",
        help="a file of positions: GPX, IGC, NMEA, GDL 90 or CSV; without SESSION it stands alone",
    )
    parser.add_argument("--station", metavar="STATION", help=station_help)
    parser.add_argument(
        "--drill", metavar="FILE", help="the drill's file, where it has moved since the flight"
    )
    parser.add_argument(
        "--report",
        metavar="FILE",
        help="write the report: a name ending in .html (one page that needs no network) or .pdf",
    )
    parser.add_argument("--csv", metavar="FILE", help="write every figure as a row for a spreadsheet")
    parser.add_argument(
        "--keep",
        action=argparse.BooleanOptionalAction,
        help="keep the session's figures in the history on this machine (kept unless it was a rehearsal)",
    )
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")


def _add_history(commands: Any, add_command: AddCommand) -> None:
    parser = add_command(commands, "history", "history", "Show how drills and skills go over the sessions")
    parser.add_argument(
        "drill", nargs="?", metavar="DRILL", help="one drill only (all; a rehearsed one: 'NAME (rehearsed)')"
    )
    parser.add_argument("--skill", metavar="NAME", help="one skill only, such as 'turn begins' or needle")
    parser.add_argument("--picture", metavar="FILE", help="draw it: a name ending in .svg or .png")
    parser.add_argument("--export", metavar="FILE", help="write every session's figures as JSON")
    parser.add_argument("--delete", metavar="SESSION", help="delete one session by its name, or all")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
