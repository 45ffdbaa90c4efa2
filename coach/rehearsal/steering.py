"""The pilot's hand: a heading held, a course tracked, a turn kept on its way round.

Never decides when: the pilot does. Never looks beyond heading and needle.
"""

from __future__ import annotations

from coach.drill.model import Turn
from coach.nav.angles import difference_deg, left_turn_deg, right_turn_deg, shorter_turn_deg
from coach.rehearsal.needle import Needle
from coach.rehearsal.tracker import Tracker

STEP_S = 0.1
"""How often the pilot looks and steers."""

HALF_DEG = 180.0

LEVEL_DEG = 1.0
"""With less than this to turn the wings are level."""


class Steering:
    """Steers one aircraft by what it was told last."""

    def __init__(self, needle: Needle, tracker: Tracker) -> None:
        self._needle = needle
        self._tracker = tracker
        self._heading_mag_deg: float | None = None
        self._way = Turn.NONE
        self._first_deg = 0.0
        self._last_mag_deg: float | None = None
        self.is_steadied = False
        """A tracked course is held by its heading alone: no more corrections by the needle."""

    @property
    def is_tracking(self) -> bool:
        """Whether a course is tracked; a heading is held otherwise."""
        return self._heading_mag_deg is None

    @property
    def is_on_way_round(self) -> bool:
        """Whether more than 90 degrees of the turn are left."""
        return self._way is not Turn.NONE

    def track(self, course_mag_deg: float, way: Turn = Turn.NONE) -> None:
        """Turn that way round onto a course and track it."""
        self._tracker.begin(course_mag_deg)
        self._heading_mag_deg, self._way, self.is_steadied = None, way, False
        self._first_deg, self._last_mag_deg = 0.0, None

    def hold(self, heading_mag_deg: float, way: Turn = Turn.NONE, turn_deg: float = 0.0) -> None:
        """Turn that way round to a heading and hold it; a turn of more than 270 degrees needs its size."""
        self._heading_mag_deg, self._way, self.is_steadied = heading_mag_deg, way, False
        self._first_deg, self._last_mag_deg = max(0.0, turn_deg - HALF_DEG), None

    def steer(self, heading_mag_deg: float) -> float:
        """Return how far to turn from this heading, right positive, 0 straight."""
        target = self._find_target(heading_mag_deg)
        shorter = shorter_turn_deg(heading_mag_deg, target)
        if self._way is Turn.NONE:
            return shorter
        if self._is_in_first_part(heading_mag_deg):
            return HALF_DEG if self._way is Turn.RIGHT else -HALF_DEG
        way_round = right_turn_deg(heading_mag_deg, target)
        if self._way is Turn.LEFT:
            way_round = -left_turn_deg(heading_mag_deg, target)
        if 90.0 < abs(way_round) <= 270.0:
            return way_round
        self._way = Turn.NONE
        return shorter

    def _is_in_first_part(self, heading_mag_deg: float) -> bool:
        """Whether more than half a circle is left: the heading alone does not tell how much."""
        if self._last_mag_deg is not None:
            self._first_deg -= abs(difference_deg(heading_mag_deg, self._last_mag_deg))
        self._last_mag_deg = heading_mag_deg
        return self._first_deg > 0.0

    def is_level(self, turn_deg: float) -> bool:
        """Whether the turn is over with so much left of it."""
        return not self.is_on_way_round and abs(turn_deg) < LEVEL_DEG

    def _find_target(self, heading_mag_deg: float) -> float:
        if self._heading_mag_deg is not None:
            return self._heading_mag_deg
        if self.is_steadied:
            return self._tracker.holding_mag_deg
        return self._tracker.steer(self._needle, heading_mag_deg, STEP_S)
