"""How a pilot reads a needle: where it is, which way it moves, whether it has been at the stop.

Never knows the station's distance or direction: only what the dial shows.
"""

from __future__ import annotations

from collections import deque

RATE_OVER_S = 2.0
"""A pilot judges the needle's movement over about two seconds (common experience, no source)."""


class Needle:
    """Follows one dial with one course set."""

    def __init__(self, full_scale_deg: float) -> None:
        self._at_stop_deg = full_scale_deg - 1e-6
        self._seen: deque[tuple[float, float]] = deque()
        self.deg = 0.0
        """Deflection, right positive."""

        self.rate_deg_s = 0.0
        """Movement over the last two seconds, right positive."""

        self.has_been_at_stop = False
        """Since the course was set or `restart` was called."""

    def restart(self) -> None:
        """Look anew: another course is set, or another leg begins."""
        self._seen.clear()
        self.rate_deg_s, self.has_been_at_stop = 0.0, False

    def watch(self, at_s: float, deg: float) -> None:
        """Look at the dial."""
        seen = self._seen
        seen.append((at_s, deg))
        while at_s - seen[0][0] > RATE_OVER_S:
            seen.popleft()
        then_s, then_deg = seen[0]
        self.rate_deg_s = (deg - then_deg) / (at_s - then_s) if at_s > then_s else 0.0
        self.deg = deg
        self.has_been_at_stop = self.has_been_at_stop or self.is_at_stop

    @property
    def is_at_stop(self) -> bool:
        """Whether the needle lies at full scale."""
        return abs(self.deg) >= self._at_stop_deg

    @property
    def is_closing(self) -> bool:
        """Whether it moves toward the centre."""
        return self.deg * self.rate_deg_s < 0.0

    def find_centre_in_s(self) -> float | None:
        """Return when it will be centred at this rate; None at the stop or where it does not move there."""
        if self.is_at_stop or not self.is_closing:
            return None
        return -self.deg / self.rate_deg_s
