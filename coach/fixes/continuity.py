"""Whether a feed can be believed: silent, without fixes, stale, jumping, or going back in time.

One bad fix is dropped without a word; a feed that stays bad is told once as lost, and once as back. A feed
that goes on consistently from another place or time (a simulator moved by its pilot, a receiver that has
found itself) is believed again after `AGREE_S`. Never reads a clock: it is told the time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from coach.fixes.fix import Fix
from coach.fixes.nmea import SAME_AGAIN
from coach.fixes.tally import Rejected

Reason = Literal["silent", "no fix", "stale", "jumping", "back in time"]

LEAST_SILENCE_S, FIRST_SILENCE_S, MOST_SILENCE_S = 5.0, 10.0, 20.0
SILENT_INTERVALS = 3.0
"""Lost after three usual intervals without a fix, within these limits; before the second fix, after ten
seconds. A feed with one fix every five seconds is none that has fallen silent. Our own choice."""

STALE_S = 10.0
"""A fix that is so much older than the freshest was on arrival is stale; our own choice."""

DOUBT_S = 1.0
"""Fixes that contradict the last good one for so long, two at least, and the feed is lost; our own choice."""

AGREE_S, AGREE_STALE_S, AGREEING = 2.0, 10.0, 3
"""Contradicting fixes that agree among themselves for so long, so many, are believed; our own choice."""

AHEAD_S, AHEAD_WITHIN_S = 10.0, 5.0
"""A feed whose own clock gains so much on ours in so short a time runs too fast, a recording perhaps: its
places are as true as its times, and no flight is flown by it. Our own choice; a burst of delayed fixes gains
nothing on the last good one."""

AHEAD_AGREE_S = 3.0
"""Fixes among which the clock gains more do not agree; delays jitter by less. Our own choice."""

AHEAD_DOUBT_S = 3.0
"""A clock that was only set agrees with itself before that: nothing is lost. Our own choice."""

MAX_SPEED_KT = 600.0
FASTER_BY, FASTER_BY_KT = 1.5, 40.0
JUMP_NM = 0.1
"""A jump is farther than 1.5 times the reported speed and 40 kt (600 kt where none is reported) allow, and
0.1 NM: real positions jitter along the track by 5 to 29 kt at the median. Our own choice."""

NM_PER_RADIAN = 3440.07
"""Mean radius of the earth, 6,371.0088 km (IUGG, value from memory)."""

_DAY_S = 86_400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """The feed cannot be believed any more."""

    reason: Reason
    since_s: float
    """When the last good fix arrived, or the watch began."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """The feed can be believed again; the good fix follows."""

    at_s: float


@dataclass(slots=True)
class _Doubtful:
    """Fixes that contradict the last good one and agree among themselves."""

    reason: Reason
    first: Fix
    last: Fix
    agreeing: int = 1

    @property
    def since_s(self) -> float:
        """When the first of them arrived."""
        return self.first.at_s


class FeedWatch:
    """Takes what a decoder gives and the passing of time; gives good fixes, `Lost` and `Back`."""

    def __init__(self, began_s: float, *, speed: float = 1.0) -> None:
        """`speed`: feed seconds in one session second, for a replay; 0: as fast as it can, without lag."""
        self._speed = speed
        self._good: Fix | None = None
        self._good_s = began_s
        self._arrived_s = began_s
        self._paced_by: Fix | None = None
        """A good fix of the last seconds, from which a feed that runs too fast is seen."""

        self._doubtful: _Doubtful | None = None
        self._doubted_s: float | None = None
        self._least_lag_s: float | None = None
        self._intervals: tuple[float, ...] = ()
        self._is_clock_still = False
        self.lost: Reason | None = None
        """Why the feed is not believed at present; None: it is."""

        self.dropped: dict[str, int] = {}
        """Fixes not believed, by reason."""

    @property
    def silence_s(self) -> float:
        """How long without a good fix the feed is lost."""
        slowed = 1.0 / min(self._speed, 1.0) if self._speed else 1.0
        if not self._intervals:
            return FIRST_SILENCE_S * slowed
        return slowed * min(
            MOST_SILENCE_S, max(LEAST_SILENCE_S, SILENT_INTERVALS * max(self._intervals) / slowed)
        )

    def arrive(self, at_s: float) -> None:
        """Something arrived, whatever it was."""
        self._arrived_s = at_s

    def refuse(self, rejected: Rejected) -> None:
        """The decoder refused something."""
        self._is_clock_still = rejected.reason == SAME_AGAIN

    def wait(self, now_s: float) -> tuple[Lost, ...]:
        """Time has passed."""
        if self.lost is not None or now_s - self._good_s < self.silence_s:
            return ()
        if now_s - self._arrived_s >= self.silence_s:
            return self._lose("silent")
        if self._doubtful is not None:
            return self._lose(self._doubtful.reason)
        return self._lose("stale" if self._is_clock_still else "no fix")

    def take(self, fix: Fix) -> tuple[Fix | Lost | Back, ...]:
        """Judge a fix."""
        self._is_clock_still = False
        doubt = None if self._good is None else self._doubt(fix, self._good, self._least_lag_s)
        is_ahead = doubt is None and self._runs_ahead(fix, self._paced_by)
        doubt = "jumping" if is_ahead else doubt
        if doubt is None:
            return self._believe(fix)
        doubtful = self._doubtful = self._after(fix, doubt)
        since_s = fix.at_s - doubtful.since_s
        agree_s = AGREE_STALE_S if doubtful.reason == "stale" else AGREE_S
        if doubtful.agreeing >= AGREEING and since_s >= agree_s:
            self._least_lag_s = None
            return self._believe(fix)
        self.dropped[doubt] = self.dropped.get(doubt, 0) + 1
        if self._doubted_s is None:
            self._doubted_s = fix.at_s
        elif self.lost is None and fix.at_s - self._doubted_s >= (AHEAD_DOUBT_S if is_ahead else DOUBT_S):
            return self._lose(doubt)
        return ()

    def _believe(self, fix: Fix) -> tuple[Fix | Back, ...]:
        if self._good is not None and self.lost is None:
            self._intervals = (*self._intervals[-2:], fix.at_s - self._good_s)
        if self._doubtful or self._paced_by is None or fix.at_s - self._paced_by.at_s >= AHEAD_WITHIN_S:
            self._paced_by = fix
        self._good, self._good_s = fix, fix.at_s
        self._doubtful = self._doubted_s = None
        self._note_lag(fix)
        if self.lost is None:
            return (fix,)
        self.lost = None
        return Back(at_s=fix.at_s), fix

    def _lose(self, reason: Reason) -> tuple[Lost]:
        self.lost = reason
        return (Lost(reason=reason, since_s=self._good_s),)

    def _after(self, fix: Fix, reason: Reason) -> _Doubtful:
        """Return the doubtful fixes after one more; one that contradicts them begins anew."""
        doubtful = self._doubtful
        if (
            doubtful is None
            or self._doubt(fix, doubtful.last, None) is not None
            or self._runs_ahead(fix, doubtful.first, AHEAD_AGREE_S)
        ):
            return _Doubtful(reason, fix, fix)
        doubtful.last = fix
        doubtful.agreeing += 1
        return doubtful

    def _runs_ahead(self, fix: Fix, before: Fix | None, most_s: float = AHEAD_S) -> bool:
        """Whether the feed's clock has gained more on ours than a flight's can."""
        passed_s = None if before is None or self._speed == 0.0 else _passed_s(fix, before)
        if before is None or passed_s is None:
            return False
        return passed_s - (fix.at_s - before.at_s) * self._speed > most_s

    def _note_lag(self, fix: Fix) -> None:
        lag_s = self._lag_s(fix)
        if lag_s is not None and (self._least_lag_s is None or abs(lag_s - self._least_lag_s) > _DAY_S / 2):
            self._least_lag_s = lag_s
        elif lag_s is not None and self._least_lag_s is not None:
            self._least_lag_s = min(self._least_lag_s, lag_s)

    def _lag_s(self, fix: Fix) -> float | None:
        """Return how far the session's clock is ahead of the fix's, give or take a constant."""
        if self._speed == 0.0 or fix.utc_of_day_s is None:
            return None
        return fix.at_s * self._speed - fix.utc_of_day_s

    def _doubt(self, fix: Fix, before: Fix, least_lag_s: float | None) -> Reason | None:
        """Return what is wrong with a fix after another one."""
        passed_s = _passed_s(fix, before)
        if passed_s is not None and passed_s < 0.0:
            return "back in time"
        lag_s = self._lag_s(fix)
        if lag_s is not None and least_lag_s is not None and _wrapped_s(lag_s - least_lag_s) > STALE_S:
            return "stale"
        flown_s = max(passed_s or 0.0, (fix.at_s - before.at_s) * (self._speed or 1.0))
        reach_nm = JUMP_NM + _most_kt(fix, before) * flown_s / 3600.0
        return "jumping" if distance_nm(fix, before) > reach_nm else None


def _passed_s(fix: Fix, before: Fix) -> float | None:
    """Return the time between two fixes by their own clock, through midnight; None where one has none."""
    if fix.utc is not None and before.utc is not None:
        return (fix.utc - before.utc).total_seconds()
    if fix.utc_of_day_s is None or before.utc_of_day_s is None:
        return None
    return _wrapped_s(fix.utc_of_day_s - before.utc_of_day_s)


def _wrapped_s(difference_s: float) -> float:
    return (difference_s + _DAY_S / 2) % _DAY_S - _DAY_S / 2


def _most_kt(fix: Fix, before: Fix) -> float:
    if fix.ground_speed_kt is None or before.ground_speed_kt is None:
        return MAX_SPEED_KT
    return max(fix.ground_speed_kt, before.ground_speed_kt) * FASTER_BY + FASTER_BY_KT


def distance_nm(fix: Fix, before: Fix) -> float:
    """Return the great-circle distance on a sphere: enough to tell a jump from a flight."""
    lat1, lat2 = math.radians(before.lat_deg), math.radians(fix.lat_deg)
    half_lat, half_lon = (lat2 - lat1) / 2, math.radians(fix.lon_deg - before.lon_deg) / 2
    chord = math.sin(half_lat) ** 2 + math.cos(lat1) * math.cos(lat2) * math.sin(half_lon) ** 2
    return 2 * NM_PER_RADIAN * math.asin(min(1.0, math.sqrt(chord)))
