"""The wind of a whole flight, from what its ground speeds do in turns or from heading and airspeed.

Never believes a poor fit: a flight that hardly turns tells no wind. It may change over the minutes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from coach.fixes.track import Numbers
from coach.nav.wind import Wind, blowing_toward
from coach.nav.wind_estimate import LARGEST_SCATTER_KT, WIDEST_GAP_DEG

WINDOW_S, HOP_S = 600.0, 300.0
"""One wind is fitted to so long; ten minutes hold three spokes' turns. Our own choice."""

SAMPLE_EVERY_S = 2.0
FEWEST = 15
"""Half a minute of samples at least."""

SLOWEST_KT, FASTEST_KT = 40.0, 500.0
"""Airspeeds that are believed."""

REACHES_S = 900.0
"""A wind found this long before or after is still taken for the present one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindFlown:
    """The wind by time; between two estimates it changes steadily."""

    at_s: Numbers
    east_kt: Numbers
    """How fast the air moves toward magnetic east."""

    north_kt: Numbers

    def along(self, time_s: Numbers) -> tuple[Numbers, Numbers]:
        """Return its parts at many times; NaN where no estimate is near enough."""
        east = np.interp(time_s, self.at_s, self.east_kt)
        north = np.interp(time_s, self.at_s, self.north_kt)
        i = np.clip(np.searchsorted(self.at_s, time_s), 1, max(1, len(self.at_s) - 1))
        near_s = np.minimum(
            np.abs(time_s - self.at_s[i - 1]), np.abs(time_s - self.at_s[np.minimum(i, len(self.at_s) - 1)])
        )
        return np.where(near_s <= REACHES_S, east, np.nan), np.where(near_s <= REACHES_S, north, np.nan)

    @property
    def mean(self) -> Wind:
        """The mean of the estimates, counted from the station's magnetic north."""
        return blowing_toward(float(self.east_kt.mean()), float(self.north_kt.mean()))


def find_wind(time_s: Numbers, east_kt: Numbers, north_kt: Numbers) -> WindFlown | None:
    """Return the wind that ground velocities show by turning; None where they tell none."""
    found = []
    for first, last in _windows(time_s, WINDOW_S):
        picked = _thinned(time_s[first:last]) + first
        fitted = _fit(east_kt[picked], north_kt[picked])
        if fitted is not None:
            found.append((float(time_s[picked].mean()), *fitted))
    return _flown(found)


def find_wind_by_air(time_s: Numbers, drift_east_kt: Numbers, drift_north_kt: Numbers) -> WindFlown | None:
    """Return the wind where heading and airspeed are measured: ground velocity less air velocity."""
    found = []
    good = np.isfinite(drift_east_kt) & np.isfinite(drift_north_kt)
    for first, last in _windows(time_s, HOP_S):
        inside = np.flatnonzero(good[first:last]) + first
        if len(inside) >= FEWEST:
            parts = (drift_east_kt[inside], drift_north_kt[inside])
            east, north = (float(np.median(part)) for part in parts)
            found.append((float(time_s[inside].mean()), east, north))
    return _flown(found)


def _windows(time_s: Numbers, lasts_s: float) -> Iterator[tuple[int, int]]:
    """The first fix of each window and the one after its last, where there are fixes."""
    begins = np.unique(np.floor(time_s / HOP_S)) * HOP_S
    firsts, lasts = np.searchsorted(time_s, begins), np.searchsorted(time_s, begins + lasts_s)
    enough = (lasts - firsts) >= FEWEST
    yield from zip(firsts[enough].tolist(), lasts[enough].tolist(), strict=True)


def _flown(found: list[tuple[float, float, float]]) -> WindFlown | None:
    if not found:
        return None
    at_s, east, north = np.array(found, dtype=np.float64).T
    return WindFlown(at_s=at_s, east_kt=east, north_kt=north)


def _thinned(time_s: Numbers) -> Numbers:
    """Indices of samples two seconds apart or more."""
    if not len(time_s):
        return np.empty(0, dtype=np.int64)
    wanted = np.arange(time_s[0], time_s[-1] + SAMPLE_EVERY_S, SAMPLE_EVERY_S)
    return np.unique(np.minimum(np.searchsorted(time_s, wanted), len(time_s) - 1))


def _fit(east_kt: Numbers, north_kt: Numbers) -> tuple[float, float] | None:
    """Return the centre of the circle on which the ground velocities lie, or None.

    Samples far off (a change of speed) are left out once; all but a fifth must fit.
    """
    good = np.isfinite(east_kt) & np.isfinite(north_kt) & (np.hypot(east_kt, north_kt) > SLOWEST_KT / 2)
    x, y = east_kt[good], north_kt[good]
    circle = _circle(x, y)
    if circle is None:
        return None
    off = np.abs(np.hypot(x - circle[0], y - circle[1]) - circle[2])
    kept = off <= max(3.0, 2.5 * float(np.median(off)))
    if int(kept.sum()) < 0.8 * len(x):
        return None
    circle = _circle(x[kept], y[kept])
    if circle is None:
        return None
    wind_x, wind_y, tas_kt = circle
    off = np.hypot(x[kept] - wind_x, y[kept] - wind_y) - tas_kt
    is_steady = float(np.sqrt(np.mean(off * off))) <= LARGEST_SCATTER_KT
    is_flying = SLOWEST_KT <= tas_kt <= FASTEST_KT and float(np.hypot(wind_x, wind_y)) < tas_kt
    return (wind_x, wind_y) if is_steady and is_flying else None


def _circle(x: Numbers, y: Numbers) -> tuple[float, float, float] | None:
    """Return centre and radius by least squares (Kasa 1976, from memory); None where too little is turned."""
    if len(x) < FEWEST or _widest_gap_deg(x, y) > WIDEST_GAP_DEG:
        return None
    mean_x, mean_y = float(x.mean()), float(y.mean())
    u, v = x - mean_x, y - mean_y
    squares = u * u + v * v
    normal = np.array(((np.sum(u * u), np.sum(u * v)), (np.sum(u * v), np.sum(v * v))))
    if np.linalg.det(normal) <= 1e-6 * float(np.trace(normal)) ** 2:
        return None
    a, b = np.linalg.solve(normal, np.array((np.sum(u * squares), np.sum(v * squares))) / 2.0)
    return float(a) + mean_x, float(b) + mean_y, float(np.sqrt(a * a + b * b + squares.mean()))


def _widest_gap_deg(x: Numbers, y: Numbers) -> float:
    tracks = np.sort(np.degrees(np.arctan2(x, y)) % 360.0)
    return float(max(np.diff(tracks).max(initial=0.0), tracks[0] + 360.0 - tracks[-1]))
