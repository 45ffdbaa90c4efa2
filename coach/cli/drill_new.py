"""`coach drill new`: a commented drill file to start from."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from coach.cli.output import line
from coach.drill.schema import SCHEMA_FILE
from coach.drill.starting_file import render_starting_file
from coach.errors import DrillError, Problem
from coach.store.drills import drills_folder, write_new_file


def run(options: argparse.Namespace) -> int:
    """Write the file; one that is there is left alone."""
    if not re.fullmatch(r"[a-z0-9][a-z0-9_-]{0,39}", options.name):
        expected = "a name of small letters, digits, '-' and '_', at most 40"
        raise DrillError(Problem(where="NAME", expected=expected, got=repr(options.name[:40])))
    path = Path(options.out or f"{options.name}.yaml")
    if path.suffix not in (".yaml", ".yml"):
        raise DrillError(Problem(where="--out", expected="a name ending in .yaml", got=f"'{path.name}'"))
    schema = (drills_folder() / SCHEMA_FILE).resolve().as_uri()
    write_new_file(path, render_starting_file(path.stem, schema))
    line(f"{path}: written. Check it with: coach drill check {path}")
    return 0
