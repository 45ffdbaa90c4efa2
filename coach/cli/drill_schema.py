"""`coach drill schema`: the JSON Schema of a drill file, for editors."""

from __future__ import annotations

import argparse

from coach.cli.output import print_json
from coach.drill.schema import make_schema


def run(_options: argparse.Namespace) -> int:
    """Print it."""
    print_json(make_schema())
    return 0
