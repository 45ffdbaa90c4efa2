"""The steady turn that fits a stretch of directions best: when it begins, when it ends, how fast it is.

Never needs the directions unsmoothed: what the filter does to a corner is done to the fitted one too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coach.fixes.track import Numbers

ROUNDS = 30
ENOUGH = 1e-5
"""Seconds and degrees: a step smaller than this ends the search."""

FEWEST = 5

MOST_STEPS = 8
"""With more fixes than this to a side the filter's weights are as good as a parabola."""

Smoothing = tuple[float, int]
"""How far the filter reaches to either side in seconds, and over how many intervals between fixes; 0:
unsmoothed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ramp:
    """Level, then steadily turning, then level again."""

    before_deg: float
    """Unwrapped, as the directions fitted."""

    rate_deg_s: float
    """Right positive."""

    start_s: float
    end_s: float
    rms_deg: float
    """How far the directions are off it, root mean square."""

    @property
    def turn_deg(self) -> float:
        """Right positive."""
        return self.rate_deg_s * (self.end_s - self.start_s)


def fit_ramp(
    time_s: Numbers, angle_deg: Numbers, *, start_s: float, end_s: float, smoothing: Smoothing
) -> Ramp | None:
    """Return the best ramp near a first guess of its ends; None where it is not to be told.

    `angle_deg`: unwrapped, smoothed as `filtering.slope` smooths. Levenberg-Marquardt on four numbers.
    """
    good = np.isfinite(angle_deg)
    time_s, angle_deg = time_s[good], angle_deg[good]
    if len(time_s) < FEWEST or end_s <= start_s:
        return None
    at = np.array(_guess(time_s, angle_deg, start_s, end_s))
    damping, error = 1e-3, _error(time_s, angle_deg, at, smoothing)
    for _ in range(ROUNDS):
        jacobian = _jacobian(time_s, at, smoothing)
        square = jacobian.T @ jacobian
        square += np.diag(damping * np.diag(square) + 1e-12)
        step = np.linalg.solve(square, jacobian.T @ error)
        tried = at + step
        its_error = _error(time_s, angle_deg, tried, smoothing)
        if tried[3] > tried[2] and float(its_error @ its_error) <= float(error @ error):
            at, error, damping = tried, its_error, damping / 5.0
            if float(np.abs(step).max()) < ENOUGH:
                break
        else:
            damping *= 8.0
            if damping > 1e8:
                break
    before, rate, start, end = (float(value) for value in at)
    rms = float(np.sqrt(np.mean(error * error)))
    return Ramp(before_deg=before, rate_deg_s=rate, start_s=start, end_s=end, rms_deg=rms)


def _guess(time_s: Numbers, angle_deg: Numbers, start_s: float, end_s: float) -> tuple[float, ...]:
    levels = np.interp((start_s, end_s), time_s, angle_deg)
    return float(levels[0]), float(levels[1] - levels[0]) / (end_s - start_s), start_s, end_s


def _error(time_s: Numbers, angle_deg: Numbers, at: Numbers, smoothing: Smoothing) -> Numbers:
    before, rate, start, end = at
    turned = _hinge(time_s - start, smoothing) - _hinge(time_s - end, smoothing)
    return np.asarray(angle_deg - before - rate * turned)


def _jacobian(time_s: Numbers, at: Numbers, smoothing: Smoothing) -> Numbers:
    _, rate, start, end = at
    turned = _hinge(time_s - start, smoothing) - _hinge(time_s - end, smoothing)
    return np.column_stack(
        (
            np.ones_like(time_s),
            turned,
            -rate * _share(time_s - start, smoothing),
            rate * _share(time_s - end, smoothing),
        )
    )


def _hinge(x: Numbers, smoothing: Smoothing) -> Numbers:
    """`max(0, x)`, smoothed as the filter smooths."""
    reach_s, steps = smoothing
    if reach_s <= 0.0:
        return np.maximum(0.0, x)
    if steps > MOST_STEPS:
        u = np.clip(x / reach_s, -1.0, 1.0)
        inside = reach_s * (3.0 / 16.0 + u / 2.0 + 3.0 * u**2 / 8.0 - u**4 / 16.0)
        return np.where(x >= reach_s, x, inside)
    edges, weights = _steps(reach_s, steps)
    beyond = np.maximum(0.0, x[:, np.newaxis] - edges) ** 2 / 2.0
    return np.asarray((beyond[:, :-1] - beyond[:, 1:]) @ weights)


def _share(x: Numbers, smoothing: Smoothing) -> Numbers:
    """The derivative of `_hinge`: 0 before the corner, 1 after it."""
    reach_s, steps = smoothing
    if reach_s <= 0.0:
        return (x > 0.0).astype(np.float64)
    if steps > MOST_STEPS:
        u = np.clip(x / reach_s, -1.0, 1.0)
        return 0.5 + 3.0 * u / 4.0 - u**3 / 4.0
    edges, weights = _steps(reach_s, steps)
    beyond = np.maximum(0.0, x[:, np.newaxis] - edges)
    return np.asarray((beyond[:, :-1] - beyond[:, 1:]) @ weights)


def _steps(reach_s: float, steps: int) -> tuple[Numbers, Numbers]:
    """The edges of the intervals between fixes under the filter, and the weight of velocity in each."""
    k = np.arange(-steps, steps + 1, dtype=np.float64)
    weights = np.cumsum(-k)[:-1] / float(np.sum(k * k))
    every_s = reach_s / steps
    return np.asarray(k * every_s, dtype=np.float64), np.asarray(weights / every_s, dtype=np.float64)
