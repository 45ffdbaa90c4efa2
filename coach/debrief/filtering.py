"""Velocity from positions that jitter: the slope of the line that fits a few seconds of them best.

Never differences two neighbours and never looks across a gap.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from coach.fixes.track import Numbers
from coach.fixes.track_cleaning import GAP_S

HALF_S = 4.0
"""The line is fitted to so long before and after; three fixes where they come more seldom. With 3 m of noise
in each of a 1 Hz receiver's fixes the course is then off by half a degree at 90 kt. Our own choice."""

FINEST_S = 0.1

Stretches = tuple[slice, ...]


def find_stretches(time_s: Numbers) -> Stretches:
    """Return the runs of fixes without a gap between them, in order; one fix alone is a run too."""
    cuts = (np.flatnonzero(np.diff(time_s) > GAP_S) + 1).tolist()
    bounds = [0, *cuts, len(time_s)]
    return tuple(slice(begin, end) for begin, end in pairwise(bounds))


def interval_s(time_s: Numbers) -> float:
    """Return the usual interval of a run of fixes, made longer where a few odd ones would make it endless."""
    if len(time_s) < 2:
        return 1.0
    longest_grid_s = float(time_s[-1] - time_s[0]) / (4.0 * len(time_s))
    return max(FINEST_S, longest_grid_s, float(np.median(np.diff(time_s))))


def half_width_s(every_s: float, half_s: float = HALF_S) -> float:
    """Return how far the fit reaches to each side at an interval between fixes."""
    return every_s * max(1, round(half_s / every_s))


def slope(time_s: Numbers, values: Numbers, half_s: float = HALF_S) -> Numbers:
    """Return the change per second at each fix of one run, by straight lines of least squares."""
    if len(time_s) < 3:
        return np.full(len(time_s), np.nan) if len(time_s) < 2 else _chord(time_s, values)
    every_s = interval_s(time_s)
    many = max(3, 1 + round(float(time_s[-1] - time_s[0]) / every_s))
    grid_s = np.linspace(time_s[0], time_s[-1], many)
    every_s = float(grid_s[1] - grid_s[0])
    reach = max(1, round(half_s / every_s))
    k = np.arange(-reach, reach + 1)
    kernel = k / (every_s * float(np.sum(k * k)))
    padded = _mirrored(np.interp(grid_s, time_s, values), reach)
    return np.interp(time_s, grid_s, np.convolve(padded, kernel[::-1], mode="valid"))


def _chord(time_s: Numbers, values: Numbers) -> Numbers:
    return np.full(2, (values[1] - values[0]) / (time_s[1] - time_s[0]))


def _mirrored(values: Numbers, reach: int) -> Numbers:
    """Values gone on beyond both ends, turned about the end point: a straight line stays straight."""
    reach_there = min(reach, len(values) - 1)
    before = 2.0 * values[0] - values[reach_there:0:-1]
    after = 2.0 * values[-1] - values[-2 : -2 - reach_there : -1]
    missing = reach - reach_there
    return np.concatenate((np.full(missing, before[0]), before, values, after, np.full(missing, after[-1])))
