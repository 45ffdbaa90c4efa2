"""The wind as flying shows it: from heading and airspeed, else from the drift of the turns.

Never believes what the aircraft cannot have flown: a poor fit is no estimate. One steady wind is assumed over
the minutes that are remembered; all directions are of one rose.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from itertools import pairwise

from coach.nav.wind import Wind, blowing_toward

REMEMBERED_S = 600.0
"""A wind changes over minutes; ten hold three spokes' turns; our own choice."""

SAMPLE_EVERY_S = 2.0
ENOUGH = 10
"""So many samples (20 s) at least."""

WIDEST_GAP_DEG = 210.0
"""The tracks must go round so far that no gap between them is wider: 150 degrees of a turn."""

LARGEST_SCATTER_KT = 4.0
"""Ground speeds off the fitted circle by more than this (root mean square) are no steady wind."""

TAS_SHARE = 0.3
"""A fit whose airspeed is farther than this share from the one named is not believed."""


@dataclass(frozen=True, slots=True)
class _Sample:
    at_s: float
    ground_east_kt: float
    ground_north_kt: float
    air_east_kt: float | None
    air_north_kt: float | None


class WindEstimate:
    """Gathers motion over the ground, and through the air where that is measured.

    `tas_kt`: the airspeed the pilot named, used where none is measured.
    """

    def __init__(self, tas_kt: float) -> None:
        self._tas_kt = tas_kt
        self._samples: deque[_Sample] = deque()

    def take(
        self,
        at_s: float,
        *,
        track_deg: float,
        ground_speed_kt: float,
        heading_deg: float | None = None,
        airspeed_kt: float | None = None,
    ) -> None:
        """Take the motion at one time; more than one in two seconds is left out."""
        samples = self._samples
        if samples and at_s - samples[-1].at_s < SAMPLE_EVERY_S:
            return
        air = _vector(airspeed_kt or self._tas_kt, heading_deg) if heading_deg is not None else (None, None)
        samples.append(_Sample(at_s, *_vector(ground_speed_kt, track_deg), *air))
        while at_s - samples[0].at_s > REMEMBERED_S:
            samples.popleft()

    def find_wind(self) -> Wind | None:
        """Return the wind; None while too little has been flown to tell."""
        drifts = [
            (sample.ground_east_kt - sample.air_east_kt, sample.ground_north_kt - sample.air_north_kt)
            for sample in self._samples
            if sample.air_east_kt is not None and sample.air_north_kt is not None
        ]
        if len(drifts) >= ENOUGH:
            return blowing_toward(*(sum(part) / len(drifts) for part in zip(*drifts, strict=True)))
        return self._from_turns()

    def _from_turns(self) -> Wind | None:
        """Ground velocities of a turning aircraft lie on a circle about the wind, its airspeed the radius."""
        points = [(sample.ground_east_kt, sample.ground_north_kt) for sample in self._samples]
        if len(points) < ENOUGH or _widest_gap_deg(points) > WIDEST_GAP_DEG:
            return None
        circle = _fit_circle(points)
        if circle is None:
            return None
        east_kt, north_kt, tas_kt = circle
        is_believable = abs(tas_kt - self._tas_kt) <= TAS_SHARE * self._tas_kt
        is_steady = _scatter_kt(points, circle) <= LARGEST_SCATTER_KT
        return blowing_toward(east_kt, north_kt) if is_believable and is_steady else None


def _vector(speed_kt: float, direction_deg: float) -> tuple[float, float]:
    angle = math.radians(direction_deg)
    return speed_kt * math.sin(angle), speed_kt * math.cos(angle)


def _widest_gap_deg(points: list[tuple[float, float]]) -> float:
    tracks = sorted(math.degrees(math.atan2(east, north)) % 360.0 for east, north in points)
    gaps = [after - before for before, after in pairwise(tracks)]
    return max([*gaps, tracks[0] + 360.0 - tracks[-1]])


def _fit_circle(points: list[tuple[float, float]]) -> tuple[float, float, float] | None:
    """Return centre and radius of the circle of least squares (Kasa 1976, from memory); None: a line."""
    n = len(points)
    mean_x, mean_y = (sum(part) / n for part in zip(*points, strict=True))
    shifted = [(x - mean_x, y - mean_y) for x, y in points]
    xx = sum(x * x for x, _ in shifted)
    yy = sum(y * y for _, y in shifted)
    xy = sum(x * y for x, y in shifted)
    xz = sum(x * (x * x + y * y) for x, y in shifted) / 2.0
    yz = sum(y * (x * x + y * y) for x, y in shifted) / 2.0
    determinant = xx * yy - xy * xy
    if determinant <= 1e-6 * (xx + yy) ** 2:
        return None
    x, y = (xz * yy - yz * xy) / determinant, (yz * xx - xz * xy) / determinant
    return x + mean_x, y + mean_y, math.sqrt(x * x + y * y + (xx + yy) / n)


def _scatter_kt(points: list[tuple[float, float]], circle: tuple[float, float, float]) -> float:
    x, y, radius = circle
    return math.sqrt(sum((math.hypot(px - x, py - y) - radius) ** 2 for px, py in points) / len(points))


def difference_kt(first: Wind, second: Wind) -> float:
    """Return how far two winds of one rose are apart, as vectors."""
    return math.hypot(first.east_kt - second.east_kt, first.north_kt - second.north_kt)
