"""What a simulated pilot does worse than he should: late, too much, the wrong way round.

Never a fault of the eye: he always sees his needle and flag as they are.
"""

from __future__ import annotations

import random
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


WRONG_TURN_DEG = 10.0
"""More than he turns in one step: the turn goes on at its full rate."""

WRONG_FOR_S = (3.0, 6.0)
"""So long he turns the wrong way before he notices; our own choice."""

HUMAN = Habits(late_s=1.0, overcorrection=1.5, wrong_turns=0.1)
"""A pilot who practises; our own choice."""


class WrongTurn:
    """Now and then a turn begins the wrong way, until he notices."""

    def __init__(self, share: float, chance: random.Random) -> None:
        """`share` of turns, 0-1."""
        self._share = share
        self._chance = chance
        self._until_s = float("-inf")
        self._way = 0.0

    def begin(self, at_s: float) -> None:
        """Another turn begins."""
        self._way = 0.0
        if self._share > 0.0 and self._chance.random() < self._share:
            self._until_s = at_s + self._chance.uniform(*WRONG_FOR_S)

    def find_turn(self, at_s: float, turn_deg: float) -> float | None:
        """The turn he makes instead of the one he should, right positive; None: he turns as he should."""
        if at_s >= self._until_s:
            return None
        if not self._way:
            self._way = -1.0 if turn_deg > 0.0 else 1.0
        return self._way * WRONG_TURN_DEG
