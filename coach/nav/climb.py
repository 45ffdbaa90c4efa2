"""Constant-rate climbs and descents: how long they last, and when to begin to level off.

Never gives an altitude to fly. Source: FAA Instrument Flying Handbook (FAA-H-8083-15A p. 5-17).
"""

from __future__ import annotations

LEAD_SHARE = 0.1
"""Of the rate, feet for each foot a minute: 50 ft at 500 ft/min."""

FASTER_LEAD_SHARES = (0.2, 0.3)
"""The same where a descent ends at a higher speed: 100 to 150 ft at 500 ft/min."""


def climb_time_s(change_ft: float, rate_ft_min: float) -> float:
    """Return how long a change of altitude takes at a rate above 0; up and down alike."""
    return abs(change_ft) / rate_ft_min * 60.0


def level_off_lead_ft(rate_ft_min: float) -> float:
    """Return how far before the altitude the level-off begins, the speed staying as it is."""
    return LEAD_SHARE * abs(rate_ft_min)


def faster_level_off_lead_ft(rate_ft_min: float) -> tuple[float, float]:
    """Return the least and the most of the lead where a descent is levelled off to a higher speed."""
    least, most = FASTER_LEAD_SHARES
    return least * abs(rate_ft_min), most * abs(rate_ft_min)


def level_off_after_s(change_ft: float, rate_ft_min: float) -> float:
    """Return when the level-off begins, seconds from the start at the rate; 0 where the lead is all of it."""
    return climb_time_s(max(0.0, abs(change_ft) - level_off_lead_ft(rate_ft_min)), rate_ft_min)
