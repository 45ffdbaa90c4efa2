"""The options of `coach debrief`, `history` and `logbook`."""

from __future__ import annotations

import argparse
from typing import Any

from coach.cli.drill_arguments import AddCommand


def add_debrief(commands: Any, add_command: AddCommand, station_help: str) -> None:
    """Add the commands that look back at flights."""
    _add_debrief(commands, add_command, station_help)
    _add_history(commands, add_command)
    _add_logbook(commands, add_command)


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


def _add_logbook(commands: Any, add_command: AddCommand) -> None:
    parser = add_command(
        commands,
        "logbook",
        "logbook",
        "List lines for your logbook and which count within six calendar months, or add one",
    )
    parser.add_argument("--on", metavar="YYYY-MM-DD", help="count on this day (today)")
    parser.add_argument("--delete", type=int, metavar="N", help="delete a line by its number")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
    group = parser.add_argument_group(
        "a new line",
        "What only you know is never filled in: conditions, instrument time, safety pilot.",
    )
    group.add_argument(
        "--add",
        nargs="?",
        const="",
        metavar="SESSION",
        help="add a line; its date and its tasks from a session, by its name or path",
    )
    for name, dest, metavar, text in (
        ("date", "day", "YYYY-MM-DD", "the day (the session's)"),
        ("place", "place", "TEXT", "departure and arrival; for a device where it stands"),
        ("aircraft", "aircraft", "TEXT", "type and identification; for a device its type"),
        (
            "conditions",
            "conditions",
            "WHICH",
            "visual, actual, view-limited, ffs, ftd, atd (approved ones), home (a simulator that is not)",
        ),
        ("safety-pilot", "safety_pilot", "NAME", "asked for with view-limited"),
        ("total", "total_h", "HOURS", "of the whole flight or lesson"),
        ("actual", "actual_h", "HOURS", "actual instrument time"),
        ("simulated", "simulated_h", "HOURS", "simulated instrument time"),
        ("remarks", "remarks", "TEXT", "whatever else"),
    ):
        group.add_argument(f"--{name}", dest=dest, metavar=metavar, help=text)
    group.add_argument(
        "--task", action="append", default=[], metavar="WHICH", help="tracking or holding; repeat for more"
    )
    group.add_argument(
        "--approach", action="append", default=[], metavar="TEXT", help="location and type; repeat for more"
    )
    group.add_argument("--night", action="store_true", help="it was night")
