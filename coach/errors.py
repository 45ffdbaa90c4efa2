"""The errors a person can act on before the flight; never raised in flight.

In flight the world's failures are events (`coach.session.events`), and a bug is a built-in exception.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong, and where."""

    where: str
    """`file:line:column: key.path`, or the name of an option."""

    expected: str
    got: str

    def __str__(self) -> str:
        return f"{self.where}: expected {self.expected}, got {self.got}"


class CoachError(Exception):
    """What stops a command before the flight: one line for each problem.

    `exit_status` is what the command line exits with.
    """

    exit_status = 1

    def __init__(self, *problems: Problem | str) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


class DrillError(CoachError):
    """A drill file, a drill setting or a plan that cannot be flown."""

    exit_status = 2


class SettingsError(CoachError):
    """A settings file or a command-line value that is not understood."""

    exit_status = 2


class JournalError(CoachError):
    """A journal that cannot be read."""

    exit_status = 2


class TrackError(CoachError):
    """A file of positions that cannot be read."""

    exit_status = 2


class SetupError(CoachError):
    """Something this machine lacks: a voice, a recogniser, a device. Names the remedy."""

    exit_status = 3
