"""From fixes as a file has them to a track: what cannot be is left out and told, the rest kept in order.

Never moves a fix and never fills a gap. Of fixes whose times contradict each other the largest number is kept
whose times increase: one bad clock reading costs one fix, a doubled fix costs itself.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import cast

import numpy as np
from numpy.typing import NDArray

from coach.errors import Problem, TrackError
from coach.fixes.track import EPOCH, QUANTITIES, Form, Numbers, Track

MAX_FIXES = 2_000_000
"""Two days at 10 Hz; our own choice."""

FEWEST_FIXES = 2
GAP_S = 30.0
"""A longer interval between two fixes is a gap: nothing is known of what was flown in it. The same limit as
for station passage (`coach.nav.passage.LONGEST_GAP_S`)."""

FASTEST_KT = 600.0
JUMP_NM = 0.1
"""A fix farther off than this speed allows from both its neighbours, which agree, is a jump; our own choice
(`coach.fixes.continuity` has the same limits)."""

EARLIEST_S, LATEST_S = -2.2e9, 7.2e9
"""1900 to 2198: a time outside is no time of a flight."""

NM_PER_DEGREE = 60.0

LIMITS: dict[str, tuple[float, float]] = {
    "altitude_ft": (-10_000.0, 200_000.0),
    "pressure_altitude_ft": (-10_000.0, 200_000.0),
    "geo_altitude_ft": (-10_000.0, 200_000.0),
    "ground_speed_kt": (0.0, 3_000.0),
    "track_true_deg": (-360.0, 720.0),
    "heading_true_deg": (-360.0, 720.0),
    "heading_mag_deg": (-360.0, 720.0),
    "airspeed_kt": (0.0, 3_000.0),
}
"""A value outside is no measurement: it becomes a hole."""


def clean_track(
    form: Form,
    *,
    name: str,
    posix_s: Numbers,
    lat_deg: Numbers,
    lon_deg: Numbers,
    lines: NDArray[np.int64] | None = None,
    has_date: bool = True,
    notes: tuple[str, ...] = (),
    given: Mapping[str, Numbers],
) -> Track:
    """Return the track of fixes in file order; `given` holds the columns of `QUANTITIES` that the file has.

    `posix_s`: seconds since 1970, UTC (without a date since any midnight). `lines`: where each stands in the
    file, for notes; None: its number is told. Raises `TrackError` where fewer than two fixes are left.
    """
    told = list(notes)
    good = _possible(posix_s, lat_deg, lon_deg)
    _tell(told, lines, np.flatnonzero(~good), "without a time or a place that can be")
    index = np.flatnonzero(good)
    for check, what in _CHECKS:
        kept = check(posix_s[index], lat_deg[index], lon_deg[index])
        _tell(told, lines, index[~kept], what)
        index = index[kept]
    if len(index) < FEWEST_FIXES:
        got = f"{len(index)} of {len(posix_s)}" + (f": {told[-1]}" if told else "")
        raise TrackError(Problem(where=name, expected="at least two fixes with time and place", got=got))
    return _track(form, index, posix_s, lat_deg, lon_deg, has_date, told, given)


def _track(
    form: Form,
    index: NDArray[np.int64],
    posix_s: Numbers,
    lat_deg: Numbers,
    lon_deg: Numbers,
    has_date: bool,
    told: list[str],
    given: Mapping[str, Numbers],
) -> Track:
    first_s = float(posix_s[index[0]])
    time_s = posix_s[index] - first_s
    told += _tell_gaps(time_s)
    quantities = {name: _column(name, given.get(name), index) for name in QUANTITIES}
    return Track(
        form=form,
        began_utc=EPOCH + timedelta(seconds=first_s),
        has_date=has_date,
        time_s=time_s,
        lat_deg=lat_deg[index],
        lon_deg=lon_deg[index],
        notes=tuple(told),
        **cast("dict[str, Numbers]", quantities),
    )


def _possible(posix_s: Numbers, lat_deg: Numbers, lon_deg: Numbers) -> NDArray[np.bool_]:
    with np.errstate(invalid="ignore"):
        is_place = (np.abs(lat_deg) <= 90.0) & (np.abs(lon_deg) <= 180.0)
        is_nowhere = (lat_deg == 0.0) & (lon_deg == 0.0)
        is_time = (posix_s > EARLIEST_S) & (posix_s < LATEST_S)
        return cast("NDArray[np.bool_]", is_place & ~is_nowhere & is_time)


def _column(name: str, values: Numbers | None, index: NDArray[np.int64]) -> Numbers | None:
    if values is None:
        return None
    lowest, highest = LIMITS[name]
    kept = values[index].astype(np.float64)
    with np.errstate(invalid="ignore"):
        kept[~((kept >= lowest) & (kept <= highest))] = np.nan
    return None if bool(np.isnan(kept).all()) else kept


def _not_doubled(posix_s: Numbers, _lat: Numbers, _lon: Numbers) -> NDArray[np.bool_]:
    kept = np.ones(len(posix_s), dtype=bool)
    kept[1:] = posix_s[1:] != posix_s[:-1]
    return kept


def _increasing(posix_s: Numbers, _lat: Numbers, _lon: Numbers) -> NDArray[np.bool_]:
    """Which fixes to keep so that as many as possible stay and their times increase."""
    if bool((np.diff(posix_s) > 0.0).all()):
        return np.ones(len(posix_s), dtype=bool)
    ends: list[float] = []
    lengths = np.empty(len(posix_s), dtype=np.int64)
    for i, at_s in enumerate(posix_s.tolist()):
        lengths[i] = k = bisect_left(ends, at_s)
        ends[k : k + 1] = [at_s]
    kept = np.zeros(len(posix_s), dtype=bool)
    wanted, before_s = len(ends) - 1, np.inf
    for i in range(len(posix_s) - 1, -1, -1):
        if lengths[i] == wanted and posix_s[i] < before_s:
            kept[i], before_s, wanted = True, posix_s[i], wanted - 1
    return kept


def _not_jumping(posix_s: Numbers, lat_deg: Numbers, lon_deg: Numbers) -> NDArray[np.bool_]:
    """A fix alone in another place is dropped; an aircraft that was moved there is not."""
    kept = np.ones(len(posix_s), dtype=bool)
    if len(posix_s) < 3:
        return kept
    is_far = _is_far(posix_s, lat_deg, lon_deg, 1)
    agree = ~_is_far(posix_s, lat_deg, lon_deg, 2)
    kept[1:-1] = ~(is_far[:-1] & is_far[1:] & agree)
    return kept


def _is_far(posix_s: Numbers, lat_deg: Numbers, lon_deg: Numbers, apart: int) -> NDArray[np.bool_]:
    """Whether a fix and the one so many later are farther apart than an aircraft can fly meanwhile."""
    north = (lat_deg[apart:] - lat_deg[:-apart]) * NM_PER_DEGREE
    lon = (lon_deg[apart:] - lon_deg[:-apart] + 180.0) % 360.0 - 180.0
    east = (
        lon
        * NM_PER_DEGREE
        * np.cos(np.radians(np.maximum(np.abs(lat_deg[apart:]), np.abs(lat_deg[:-apart]))))
    )
    reach_nm = JUMP_NM + FASTEST_KT * (posix_s[apart:] - posix_s[:-apart]) / 3600.0
    return np.hypot(east, north) > reach_nm


_CHECKS: tuple[tuple[Callable[[Numbers, Numbers, Numbers], NDArray[np.bool_]], str], ...] = (
    (_not_doubled, "with the time of the fix before"),
    (_increasing, "whose time goes back, or ahead of all that follow,"),
    (_not_jumping, f"farther from both neighbours than {FASTEST_KT:.0f} kt allow"),
)


def _tell(told: list[str], lines: NDArray[np.int64] | None, dropped: NDArray[np.int64], what: str) -> None:
    if not len(dropped):
        return
    first = int(dropped[0])
    where = f"fix {first + 1}" if lines is None else f"line {lines[first]}"
    many = "1 fix" if len(dropped) == 1 else f"{len(dropped)} fixes"
    told.append(f"{many} {what} left out, the first at {where}.")


def _tell_gaps(time_s: Numbers) -> list[str]:
    gaps_s = np.diff(time_s)
    n = int((gaps_s > GAP_S).sum())
    if not n:
        return []
    return [
        f"{n} {'gap' if n == 1 else 'gaps'} of more than {GAP_S:.0f} s, the longest {gaps_s.max():.0f} s."
    ]
