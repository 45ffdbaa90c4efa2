"""What a simulated pilot does worse than he should: late, too much, the wrong way round.

Never a fault of the eye: he always sees his needle and flag as they are.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """One pilot's."""

    late_s: float = 0.0
    """Added to every reaction, 0-10 seconds."""

    overcorrection: float = 1.0
    """How many times the cut that the needle asks for he takes, 1-3."""

    wrong_turns: float = 0.0
    """The share of turns that he begins the wrong way, 0-1."""


WRONG_FOR_S = (3.0, 6.0)
"""So long he turns the wrong way before he notices; our own choice."""

HUMAN = Habits(late_s=1.0, overcorrection=1.5, wrong_turns=0.1)
"""A pilot who practises; our own choice."""
