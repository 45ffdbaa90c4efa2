"""The options of `coach drill check`, `new` and `schema`."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

AddCommand = Callable[[Any, str, str, str], argparse.ArgumentParser]
"""Adds a command: to what, its name, its module, what it does."""


def add_drill_files(commands: Any, add_command: AddCommand) -> None:
    """Add the commands that are about drill files."""
    files: argparse.ArgumentParser = commands.add_parser(
        "drill", help="Check a drill file, or begin one", description="Check a drill file, or begin one."
    )
    parts = files.add_subparsers(title="commands", metavar="COMMAND", required=True)
    checked = add_command(
        parts, "check", "drill_check", "Tell every problem of a drill file, with line and column"
    )
    checked.add_argument("file", metavar="FILE", help="a drill file, or a name from `coach list`")
    checked.add_argument("--json", action="store_true", help="one JSON object on standard output")
    begun = add_command(parts, "new", "drill_new", "Write a commented drill file to start from")
    begun.add_argument("name", metavar="NAME", help="the drill's name: small letters, digits, - and _")
    begun.add_argument("--out", metavar="FILE", help="where it goes (NAME.yaml)")
    add_command(parts, "schema", "drill_schema", "Print the JSON Schema of a drill file, for editors")
