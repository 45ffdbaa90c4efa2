"""Station passage: the first complete reversal of TO/FROM that persists.

Never takes a swing of the needle, a flicker of the flag or going abeam far out for passage.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, replace

from coach.nav.angles import direction_deg
from coach.nav.vor import Flag, Reading, receive

PASSAGE_WITHIN_NM = 1.0
"""Farther from the station a reversal of the flag is going abeam, not passage; our own choice."""

PASSAGE_PERSISTS_S = 1.5
"""How long the reversed flag must stay before it counts; our own choice."""

BEYOND_NM = 0.05
"""One reading alone shows a reversal that lasts only if it is so far beyond abeam (2 s at 90 kt); our own."""

COURSE_OVER_NM = 1.0
"""The course flown in is the track made good over this last stretch; our own choice."""

LEFT_BEHIND_NM = 1.5
"""Farther out than this the course flown in is forgotten; our own choice."""

LONGEST_GAP_S = 30.0
"""Across a longer gap between two fixes nothing is known of the passage; our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """The station has gone by: the first complete TO/FROM reversal (AIM 5-3-8g) that persisted."""

    at_s: float
    """When the aircraft was abeam the station, between the two readings around the reversal."""

    confirmed_s: float
    """The time of the reading that made it certain."""

    distance_nm: float
    """How far from the station the aircraft was abeam it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassageWatch:
    """Watches the flag for station passage, reading by reading.

    A needle that swings or a flag that flickers is no passage: two readings must show FROM, or one that
    is well beyond abeam. A reversal beyond `within_nm` is going abeam. A reversal made by turning the course
    selector is none either: start a new watch when the course is changed, unless a passage is pending.
    """

    within_nm: float = PASSAGE_WITHIN_NM
    persists_s: float = PASSAGE_PERSISTS_S
    inbound: tuple[float, Reading] | None = None
    """Time and reading of the last one that showed TO."""

    abeam: tuple[float, float] | None = None
    """When TO became FROM and how far from the station; None while no passage is pending."""

    @property
    def is_pending(self) -> bool:
        """Whether the flag has reversed and must still persist."""
        return self.abeam is not None

    def after(self, at_s: float, reading: Reading) -> tuple[PassageWatch, Passage | None]:
        """Return the watch after one more reading, and the passage if that reading made it certain."""
        if reading.flag is Flag.NEITHER:
            return self, None
        if reading.flag is Flag.TO:
            return replace(self, inbound=(at_s, reading), abeam=None), None
        if self.inbound is None:
            return self, None
        if self.abeam is None and at_s - self.inbound[0] > LONGEST_GAP_S:
            return replace(self, inbound=None), None
        crossed_s, beside_nm = self.abeam or _abeam(*self.inbound, at_s, reading)
        if beside_nm > self.within_nm:
            return replace(self, inbound=None), None
        is_flicker = self.abeam is None and reading.to_go_nm > -BEYOND_NM
        if is_flicker or at_s - crossed_s < self.persists_s:
            return replace(self, abeam=(crossed_s, beside_nm)), None
        passage = Passage(at_s=crossed_s, confirmed_s=at_s, distance_nm=beside_nm)
        return replace(self, inbound=None, abeam=None), passage


def _abeam(to_s: float, to: Reading, from_s: float, from_: Reading) -> tuple[float, float]:
    """Return when the aircraft was abeam the station between two readings, and how far from it."""
    share = to.to_go_nm / (to.to_go_nm - from_.to_go_nm)
    beside_nm = to.across_nm + (from_.across_nm - to.across_nm) * share
    return to_s + (from_s - to_s) * share, abs(beside_nm)


class DirectWatch:
    """Watches for station passage where no course is set: it takes the course flown in for the one selected.

    As a pilot does who flies to the station with the needle centred and turns the selector no more near it.
    The course is the track made good before the aircraft comes within `within_nm`, so that one who turns
    off over the station still sees the flag reverse. Positions east and north of the station, in any rose.
    """

    def __init__(self, within_nm: float = PASSAGE_WITHIN_NM, persists_s: float = PASSAGE_PERSISTS_S) -> None:
        self._within_nm = within_nm
        self._fresh = PassageWatch(within_nm=within_nm, persists_s=persists_s)
        self._watch = self._fresh
        self._course_deg: float | None = None
        self._flown: deque[tuple[float, float, float]] = deque()

    def after(self, at_s: float, east_nm: float, north_nm: float) -> Passage | None:
        """Take one more position; return the passage that it makes certain."""
        if self._flown and at_s - self._flown[-1][0] > LONGEST_GAP_S:
            self._forget()
        previous = self._flown[-1] if self._flown else None
        passage = None
        if previous is not None:
            self._set_course(previous, east_nm, north_nm)
        if self._course_deg is not None:
            reading = receive(east_nm, north_nm, course_mag_deg=self._course_deg)
            self._watch, passage = self._watch.after(at_s, reading)
        self._keep(at_s, east_nm, north_nm)
        return passage

    def _set_course(self, previous: tuple[float, float, float], east_nm: float, north_nm: float) -> None:
        """Set the course as the aircraft comes in; forget it once the station is left behind."""
        was_nm, is_nm = math.hypot(*previous[1:]), math.hypot(east_nm, north_nm)
        if min(was_nm, is_nm) > LEFT_BEHIND_NM and not self._watch.is_pending:
            self._course_deg, self._watch = None, self._fresh
        is_coming = was_nm > self._within_nm >= _nearest_nm(previous[1:], (east_nm, north_nm))
        if is_coming and not self._watch.is_pending:
            self._course_deg = self._made_good_deg(previous, east_nm, north_nm)
            reading = receive(previous[1], previous[2], course_mag_deg=self._course_deg)
            self._watch, _ = self._fresh.after(previous[0], reading)

    def _made_good_deg(self, previous: tuple[float, float, float], east_nm: float, north_nm: float) -> float:
        """The track made good up to `previous`; of the step that comes in where it is the first."""
        _, east, north = self._flown[0]
        if self._flown[0] is previous or math.hypot(previous[1] - east, previous[2] - north) < 1e-6:
            return direction_deg(east_nm - previous[1], north_nm - previous[2])
        return direction_deg(previous[1] - east, previous[2] - north)

    def _keep(self, at_s: float, east_nm: float, north_nm: float) -> None:
        self._flown.append((at_s, east_nm, north_nm))
        while len(self._flown) > 2 and self._length_nm(1) >= COURSE_OVER_NM:
            self._flown.popleft()

    def _length_nm(self, first: int) -> float:
        _, east, north = self._flown[first]
        return math.hypot(self._flown[-1][1] - east, self._flown[-1][2] - north)

    def _forget(self) -> None:
        self._flown.clear()
        self._course_deg, self._watch = None, self._fresh


def _nearest_nm(start: tuple[float, ...], end: tuple[float, float]) -> float:
    """How near a straight step comes to the station."""
    along = (end[0] - start[0], end[1] - start[1])
    length2 = along[0] ** 2 + along[1] ** 2
    share = 0.0 if length2 == 0.0 else -(start[0] * along[0] + start[1] * along[1]) / length2
    share = max(0.0, min(1.0, share))
    return math.hypot(start[0] + along[0] * share, start[1] + along[1] * share)
