"""What the legs of one spoke, of one lap, or of those flown once are relative to.

Never lays out a leg: that is `coach.drill.layout`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coach.drill.findings import Named
from coach.drill.specs import HeadingSpec
from coach.drill.values import Side, Turned, signed_deg
from coach.nav.angles import as_heading
from coach.nav.intercept import intercept_heading_deg


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What the legs of one spoke, of one lap, or of those flown once are relative to."""

    courses: Mapping[str, int]
    """By name, 1-360: the course settings, and in a spoke its `outbound` and `inbound`."""

    side: Side
    """Left or right."""

    straight_back: Side
    """The way of a turn by 180 degrees where the shorter way is asked for."""

    radial: int | None = None
    """Where the drill begins; None: no radial is known."""

    spoke: int | None = None
    lap: int | None = None

    def cut_deg(self, course: int, *, is_inbound: bool) -> int:
        """The heading that cuts a course from the radial where the drill begins, at double the angle."""
        wanted = as_heading(course + 180) if is_inbound else course
        return as_heading(intercept_heading_deg(self.radial or wanted, wanted, is_inbound=is_inbound))

    def find_direction(self, direction: HeadingSpec | Named | None, previous: int) -> int | None:
        """The heading or course, 1-360; None where there is none."""
        if direction is None:
            return None
        if isinstance(direction, Named):
            return self._find_course(direction.name, previous)
        turned_deg = signed_deg(self.fixed(direction.turned)) if direction.turned else 0
        return as_heading(self._find_course(direction.of.name, previous) + turned_deg)

    def find_bearing(self, direction: HeadingSpec | Named) -> int:
        """A direction that hangs on the settings alone, 1-360."""
        found = self.find_direction(direction, previous=360)
        assert found is not None
        return found

    def fixed(self, turned: Turned) -> Turned:
        """The same turn to the left or to the right."""
        return Turned(degrees=turned.degrees, side=self.fixed_side(turned.side))

    def fixed_side(self, side: Side) -> Side:
        """Left or right."""
        if side is Side.SIDE:
            return self.side
        if side is Side.OTHER_SIDE:
            return Side.RIGHT if self.side is Side.LEFT else Side.LEFT
        return side

    def _find_course(self, name: str, previous: int) -> int:
        return previous if name == "previous" else self.courses[name]
