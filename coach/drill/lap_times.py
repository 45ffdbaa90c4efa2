"""Outbound times corrected lap by lap, so that the leg inbound lasts as long as it should.

Never flies anything: it is told what was flown. Source: AIM 5-3-8j4 (the first outbound leg by the clock, the
later ones adjusted).
"""

from __future__ import annotations

from dataclasses import replace

from coach.drill.flown import Flown
from coach.drill.model import Leg
from coach.nav.holding import next_outbound_s
from coach.nav.path import duration_s

SHORTEST_S, LONGEST_S = 10.0, 600.0
"""A corrected time is kept within this; our own choice."""


def settle_s(next_s: float, last_s: float | None) -> float:
    """Return the next lap's time: half the way from the last corrected one, at first the whole.

    Across the wind a corrected lap joins the course later or sooner, and the whole way would swing for ever.
    Kept within the limits, and to the whole second, as a pilot reads a clock.
    """
    damped_s = next_s if last_s is None else (last_s + next_s) / 2
    return float(round(max(SHORTEST_S, min(LONGEST_S, damped_s))))


class LapTimes:
    """Follows the laps of one plan."""

    def __init__(self, legs: tuple[Leg, ...]) -> None:
        self._measured = {leg.corrects_for: leg.leg for leg in legs if leg.corrects_for is not None}
        self._flown: dict[str, tuple[Leg, float]] = {}
        self._next_s: dict[str, float] = {}
        self._wanted = {leg.leg: leg.leg_s or 0.0 for leg in legs if leg.corrects_for is not None}

    def corrected(self, leg: Leg) -> Leg:
        """Return the leg with the time that the laps before give it; the published one on the first."""
        next_s = self._next_s.get(leg.leg) if leg.corrects_for is not None else None
        return leg if next_s is None or leg.leg_s is None else replace(leg, leg_s=next_s)

    def note(self, leg: Leg, flown: Flown) -> None:
        """Take note of a leg that was flown."""
        straight_s = max(0.0, duration_s(flown.path) - flown.turn_s)
        if leg.corrects_for is not None:
            self._flown[leg.leg] = (leg, straight_s)
        outbound = self._flown.get(self._measured.get(leg.leg, ""))
        if outbound is not None and outbound[0].lap == leg.lap:
            self._correct(*outbound, straight_s)

    def _correct(self, outbound: Leg, outbound_s: float, inbound_s: float) -> None:
        wanted_s = self._wanted[outbound.leg]
        change_s = next_outbound_s(outbound_s, inbound_s, wanted_s=wanted_s).exact - outbound_s
        next_s = (outbound.leg_s or 0.0) + change_s
        self._next_s[outbound.leg] = settle_s(next_s, self._next_s.get(outbound.leg))
