"""The command line: the only place, beside the screen, that prints."""

from coach.cli.main import main

__all__ = ["main"]
