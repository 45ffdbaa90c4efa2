"""The options of `coach debrief`, `history` and `logbook`."""

from __future__ import annotations

from typing import Any

from coach.cli.drill_arguments import AddCommand


def add_debrief(commands: Any, add_command: AddCommand, station_help: str) -> None:
    """Add `coach debrief`."""
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
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
