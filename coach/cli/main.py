"""Reads the command line, runs one command, turns every foreseen failure into lines and an exit status.

0 done, 1 failed, 2 bad input, 3 something missing on this machine, 130 interrupted.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from coach.cli.arguments import build_parser, join_negative_values
from coach.errors import CoachError

INTERRUPTED = 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; returns the exit status."""
    arguments = join_negative_values(sys.argv[1:] if argv is None else argv)
    options = build_parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except CoachError as error:
        for problem in error.problems:
            print(f"coach: {problem}", file=sys.stderr)
        return error.exit_status
    except KeyboardInterrupt:
        print("coach: interrupted", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone: nothing is left to tell it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
