"""How one quantity was held over time: share of time within its limit, worst moment, root mean square.

Never counts fixes: each stands for its own seconds, and a gap stands for none.
"""

from __future__ import annotations

import numpy as np

from coach.debrief.model import Held, Standard
from coach.debrief.standards import ROUNDING
from coach.fixes.track import Numbers
from coach.fixes.track_cleaning import GAP_S

SHORTEST_S = 5.0
"""Shorter says nothing of how something is held; our own choice."""


def weigh(time_s: Numbers) -> Numbers:
    """Return the seconds that each fix stands for: half of the way to its neighbours, gaps left out."""
    steps = np.diff(time_s)
    halves = np.where(steps <= GAP_S, steps, 0.0) / 2.0
    return np.concatenate((halves, [0.0])) + np.concatenate(([0.0], halves))


def score_held(
    what: str,
    time_s: Numbers,
    deviation: Numbers,
    standard: Standard,
    *,
    reason: str,
    aim: float | None = None,
) -> Held | None:
    """Return how a deviation was held; None where it was measured for less than `SHORTEST_S`.

    `deviation` may have NaN where it was not measured.
    """
    good = np.isfinite(deviation)
    if int(good.sum()) < 2:
        return None
    seconds = weigh(time_s)[good]
    time_s, deviation = time_s[good], deviation[good]
    whole_s = float(seconds.sum())
    if whole_s < SHORTEST_S:
        return None
    is_within = np.abs(deviation) <= standard.limit + ROUNDING
    worst = int(np.argmax(np.abs(deviation)))
    return Held(
        what=what,
        aim=aim,
        standard=standard,
        seconds=whole_s,
        within_share=float(seconds[is_within].sum()) / whole_s,
        worst=float(deviation[worst]),
        worst_at_s=float(time_s[worst]),
        rms=float(np.sqrt((seconds * deviation**2).sum() / whole_s)),
        reason=reason,
        start_s=float(time_s[0]),
        end_s=float(time_s[-1]),
    )
