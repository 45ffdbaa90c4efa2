"""What a feed has brought, counted for a person who looks at it: rates, fields, gaps, losses.

Never grows with the feed, never prints, never reads a clock.
"""

from __future__ import annotations

from collections import deque
from dataclasses import fields
from datetime import datetime
from statistics import median
from typing import Any

from coach.feed.reader import News
from coach.fixes.continuity import Lost
from coach.fixes.fix import Fix
from coach.fixes.tally import Tally

MOST_LOSSES = 100
"""Losses kept by their times; more are only counted."""

GAP_TIMES, GAP_LEAST_S = 1.8, 0.3
"""An interval 1.8 times the median of those before it, 0.3 s at least, is a gap: a lost fix doubles it."""

FIELDS = tuple(
    field.name
    for field in fields(Fix)
    if field.name not in ("at_s", "lat_deg", "lon_deg", "source", "utc_of_day_s")
)
"""What a fix may have besides its place, in the order of `Fix`."""


class Sightings:
    """Takes the news of a feed and counts."""

    def __init__(self, *, is_replay: bool = False) -> None:
        """`is_replay`: intervals are those of the recording, not of its arrival at another speed."""
        self._is_replay = is_replay
        self.last: Fix | None = None
        """The latest fix that could be believed."""

        self.n_fixes = 0
        self.given: dict[str, tuple[int, Any]] = {}
        """For each field how many fixes had it, and its latest value."""

        self.longest_gap_s: float | None = None
        """The longest interval between two fixes; None before the second."""

        self.n_gaps = 0
        self.n_losses = 0
        self.losses: list[tuple[float, str]] = []
        """When and why the feed was lost."""

        self._first_s = 0.0
        self._intervals_s: deque[float] = deque(maxlen=9)

    def take(self, news: tuple[News, ...], now_s: float) -> None:
        """Count what has happened."""
        for thing in news:
            if isinstance(thing, Fix):
                self._take_fix(thing)
            elif isinstance(thing, Lost):
                self.n_losses += 1
                if len(self.losses) < MOST_LOSSES:
                    self.losses.append((now_s, thing.reason))

    def _take_fix(self, fix: Fix) -> None:
        if self.last is None:
            self._first_s = fix.at_s
        else:
            self._take_interval(self._interval_s(fix, self.last))
        self.last = fix
        self.n_fixes += 1
        for name in FIELDS:
            value = getattr(fix, name)
            if value is not None:
                self.given[name] = (self.given.get(name, (0, None))[0] + 1, value)

    def _take_interval(self, interval_s: float) -> None:
        usual_s = median(self._intervals_s) if self._intervals_s else interval_s
        self.n_gaps += interval_s > max(GAP_LEAST_S, GAP_TIMES * usual_s)
        self.longest_gap_s = max(self.longest_gap_s or 0.0, interval_s)
        self._intervals_s.append(interval_s)

    def _interval_s(self, fix: Fix, before: Fix) -> float:
        if self._is_replay and fix.utc_of_day_s is not None and before.utc_of_day_s is not None:
            return (fix.utc_of_day_s - before.utc_of_day_s) % 86_400.0
        return fix.at_s - before.at_s

    @property
    def fixes_per_s(self) -> float | None:
        """Fixes a second between the first and the last; None before the second."""
        if self.last is None or self.last.at_s <= self._first_s:
            return None
        return (self.n_fixes - 1) / (self.last.at_s - self._first_s)


def encode_sightings(
    seen: Sightings, tally: Tally, dropped: dict[str, int], seconds: float
) -> dict[str, Any]:
    """Return everything as JSON values."""
    last = seen.last
    return {
        "seconds": round(seconds, 3),
        "bytes": tally.n_bytes,
        "sentences": dict(sorted(tally.kinds.items())),
        "fixes": seen.n_fixes,
        "fixes_per_s": seen.fixes_per_s,
        "gaps": {"count": seen.n_gaps, "longest_s": seen.longest_gap_s},
        "position": None if last is None else {"lat_deg": last.lat_deg, "lon_deg": last.lon_deg},
        "fields": {name: {"fixes": n, "last": _as_json(value)} for name, (n, value) in seen.given.items()},
        "lost": [{"at_s": round(at_s, 3), "reason": reason} for at_s, reason in seen.losses],
        "not_believed": dict(dropped),
        "rejected": {
            reason: {"count": count, "last": tally.examples[reason]}
            for reason, count in tally.rejected.items()
        },
    }


def _as_json(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value
