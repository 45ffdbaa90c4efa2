"""Fewer points for a drawn line that looks the same. Never for a figure: those are made of every fix."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coach.fixes.track import Numbers

Index = NDArray[np.int64]
"""Which points are kept, increasing."""


def thin_by_time(time_s: Numbers, values: Numbers, most: int) -> Index:
    """Return which points keep the lowest and the highest of each slice of time, and every hole.

    At most about `most` points for a line without holes; a line of fewer is kept whole.
    """
    if len(time_s) <= most:
        return np.arange(len(time_s))
    edges = np.linspace(time_s[0], time_s[-1], max(2, most // 2 + 1))
    of_slice = np.minimum(np.searchsorted(edges, time_s, side="right") - 1, len(edges) - 2)
    finite = np.isfinite(values)
    kept = [np.flatnonzero(finite[1:] != finite[:-1]), np.flatnonzero(finite[1:] != finite[:-1]) + 1]
    good = np.flatnonzero(finite)
    # Sorted by slice, then by value: the ends of each slice are its lowest and highest.
    ordered = good[np.lexsort((values[good], of_slice[good]))]
    changes = np.flatnonzero(np.diff(of_slice[ordered])) if len(ordered) else np.array([], dtype=np.int64)
    if len(ordered):
        kept += [ordered[np.concatenate(([0], changes + 1))], ordered[np.concatenate((changes, [-1]))]]
    return np.unique(np.concatenate((*kept, [0, len(time_s) - 1])))


def thin_by_shape(x: Numbers, y: Numbers, apart: float) -> Index:
    """Return which points keep a path within `apart` of itself (Douglas and Peucker, 1973).

    `apart` is in the unit of `x` and `y`, which have no holes.
    """
    kept = np.zeros(len(x), dtype=bool)
    kept[[0, -1]] = True
    waiting = [(0, len(x) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        distance = _from_chord(x, y, first, last)
        farthest = int(np.argmax(distance))
        if distance[farthest] > apart:
            middle = first + 1 + farthest
            kept[middle] = True
            waiting += [(first, middle), (middle, last)]
    return np.flatnonzero(kept)


def _from_chord(x: Numbers, y: Numbers, first: int, last: int) -> Numbers:
    """How far the points between two are from the stretch that joins them."""
    along_x, along_y = x[last] - x[first], y[last] - y[first]
    off_x, off_y = x[first + 1 : last] - x[first], y[first + 1 : last] - y[first]
    square = along_x**2 + along_y**2
    share = np.clip((off_x * along_x + off_y * along_y) / square, 0.0, 1.0) if square else 0.0
    distance: Numbers = np.hypot(off_x - share * along_x, off_y - share * along_y)
    return distance
