"""Watches the fixes for the present leg's checkpoints: passage, needle alive, established, heading, level.

Each is seen once a leg, dated back to its first sign. Never moves the drill and never says anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from coach.drill.model import Ending
from coach.nav.angles import difference_deg
from coach.nav.passage import DirectWatch, Passage, PassageWatch
from coach.nav.turn import lead_s, turn_time_s
from coach.session import grammar
from coach.session.crossings import Crossings
from coach.session.motion import Motion
from coach.session.outlook import Outlook
from coach.session.progress import State

HALF_WAY_DEG = 90.0
"""Before half of the turn of 180 degrees the needle's leaving the stop means nothing."""

WIDEST_LEAD_DEG = 135.0
"""With more than this still to turn the needle does not yet tell when to lead."""

LEAD_MARGIN_S = 0.5
"""Half the usual second between fixes: a turn that is led exactly is no lead missed (our own choice)."""

ESTABLISHED_HEADING_DEG = 10.0
"""The track within this of the course: then the heading is within it of the one that holds the course."""

STEADY_DEG_S = 0.2
ESTABLISHED_FOR_S = 2.0
"""So long it must hold (our own choice)."""

LEVEL_FOR_S = 1.5
"""So long the wings must be level (our own choice)."""

HEADING_WITHIN_DEG = 5.0
"""A heading is reached within this (ACS, V.A.S5: selected headings within 5 degrees)."""

WATCHED_ON_S = 60.0
"""After the pilot's word of passage the feed looks for the passage itself for so long."""


SAME_PASSAGE_S = 20.0
"""Passages seen by two watches within this are one: a drill's spoke takes minutes."""

SLOWEST_FLOWN_KT = 30.0
"""An aircraft slower over the ground taxies beside a station on the field (our own choice)."""


class Seen(StrEnum):
    """What can be seen; where a phrase of the pilot's means the same, in its words."""

    PASSAGE = grammar.PASSAGE
    ALIVE = grammar.ALIVE
    LEAD = "lead point"
    """Where the needle never was at the stop: the last turn must begin now."""

    ESTABLISHED = grammar.ESTABLISHED
    HEADING = "heading reached"
    DISTANCE = "distance reached"
    RADIAL = "radial reached"
    LEVEL = grammar.LEVEL


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """A checkpoint as the feed saw it."""

    what: Seen
    onset_s: float
    """Its first sign, on the session clock."""

    detail: str = ""
    """For the journal."""

    track_mag_deg: float | None = None
    """At a passage the track flown over the station, where it is known."""


class Checkpoints:
    """Watches from leg to leg."""

    def __init__(self) -> None:
        self._direct = DirectWatch()
        self._watch = PassageWatch()
        self._crossings = Crossings()
        self._watched_deg: int | None = None
        self._passed_s = float("-inf")
        self._course_deg: int | None = None
        self._is_pegged = False
        self._at_stop: Motion | None = None
        self._leg: tuple[State, int, bool] | None = None
        self._seen: set[Seen] = set()
        self._begun: Motion | None = None
        self._half_way_s: float | None = None
        self._steady_since_s: float | None = None
        self._held_since_s: float | None = None
        self.is_held = False
        """Whether the present leg's course is held, in or out, by a needle that may be off by any angle."""

    def follow(self, outlook: Outlook) -> tuple[Sighting, ...]:
        """What this fix shows for the first time."""
        self._begin_leg(outlook)
        self._follow_stop(outlook)
        found = [*self._passages(outlook)]
        if outlook.progress.state is State.FLYING:
            found += [*self._turns(outlook), *self._needle(outlook), *self._established(outlook)]
            found += self._crossed(outlook)
        self._seen |= {sighting.what for sighting in found}
        return tuple(found)

    def forget(self) -> None:
        """The aircraft was moved: what it did before tells nothing of what it does next."""
        self._direct, self._watch, self._watched_deg = DirectWatch(), PassageWatch(), None
        self._crossings = Crossings()
        self._steady_since_s = self._held_since_s = self._at_stop = None
        self.is_held = False

    def _begin_leg(self, outlook: Outlook) -> None:
        progress = outlook.progress
        leg = (progress.state, progress.leg_i, progress.is_rejoin)
        if leg != self._leg:
            self._leg, self._seen, self._steady_since_s = leg, set(), None
            self._begun, self._half_way_s = outlook.motions.find_at(progress.begun_s), None
            self._held_since_s, self.is_held = None, False

    # ---- passage

    def _passages(self, outlook: Outlook) -> Iterator[Sighting]:
        motion, progress = outlook.motion, outlook.progress
        passages = [self._direct.after(motion.at_s, motion.east_nm, motion.north_nm)]
        if progress.state is not State.ARRIVING:
            passages.clear()
        passages.append(self._by_course(outlook))
        passage = next((found for found in passages if found is not None), None)
        is_flying = motion.ground_speed_kt is None or motion.ground_speed_kt >= SLOWEST_FLOWN_KT
        if passage is not None and is_flying and passage.at_s - self._passed_s > SAME_PASSAGE_S:
            self._passed_s = passage.at_s
            cone = ", in the cone" if outlook.reading(self._watched_deg or 360).in_cone else ""
            detail = f"{passage.distance_nm:.2f} NM beside{cone}"
            there = outlook.motions.find_at(passage.at_s)
            yield Sighting(
                what=Seen.PASSAGE,
                onset_s=passage.at_s,
                detail=detail,
                track_mag_deg=None if there is None else there.track_mag_deg,
            )

    def _by_course(self, outlook: Outlook) -> Passage | None:
        """By the reversal of the flag for the course that is set."""
        course_deg = self._find_watched(outlook)
        if course_deg is None:
            self._watched_deg = None
            return None
        if course_deg != self._watched_deg:
            self._watched_deg, self._watch = course_deg, PassageWatch()
        self._watch, passage = self._watch.after(outlook.motion.at_s, outlook.reading(course_deg))
        return passage

    def _find_watched(self, outlook: Outlook) -> int | None:
        """The course whose flag is watched; for a while the last one, where the pilot's word came first."""
        progress = outlook.progress
        if progress.state is State.ARRIVING:
            return None if progress.is_rejoin else outlook.plan.drill.arrive_course_mag_deg
        if progress.state is State.FLYING and outlook.leg.ends_on is Ending.PASSAGE:
            return outlook.leg.course_mag_deg
        if progress.state is State.FLYING and outlook.leg.ends_on is Ending.INTERCEPT:
            return outlook.leg.course_mag_deg if self._is_half_way(outlook) else None
        is_lately = outlook.motion.at_s - progress.begun_s < WATCHED_ON_S
        return self._watched_deg if is_lately else None

    def _crossed(self, outlook: Outlook) -> Iterator[Sighting]:
        crossed = self._crossings.find_crossed(outlook)
        if crossed is not None:
            ending, onset_s = crossed
            what = Seen.DISTANCE if ending is Ending.DISTANCE else Seen.RADIAL
            yield Sighting(what=what, onset_s=onset_s)

    # ---- turns

    def _turns(self, outlook: Outlook) -> Iterator[Sighting]:
        leg, since_s = outlook.leg, outlook.motions.level_since_s
        heading_deg = outlook.find_heading()
        if Seen.HEADING not in self._seen and not leg.tracks and leg.heading_mag_deg and heading_deg:
            off_deg = abs(difference_deg(heading_deg, leg.heading_mag_deg))
            # A turn of a whole circle begins on the heading that it ends on.
            turning_s = outlook.motion.at_s - outlook.progress.begun_s
            if off_deg <= HEADING_WITHIN_DEG and turning_s >= turn_time_s(leg.turn_deg) / 2:
                yield Sighting(what=Seen.HEADING, onset_s=outlook.motion.at_s, detail=f"{heading_deg:03.0f}")
        if Seen.LEVEL in self._seen or since_s is None or since_s <= outlook.progress.begun_s:
            return
        turned_deg = outlook.turned_deg(self._begun)
        is_turned = turned_deg is not None and turned_deg >= leg.turn_deg / 2
        if is_turned and outlook.level_for_s() >= LEVEL_FOR_S:
            yield Sighting(what=Seen.LEVEL, onset_s=since_s)

    def _is_half_way(self, outlook: Outlook) -> bool:
        """Whether half of the turn of 180 degrees is done, or was at some time on this leg."""
        turned_deg = outlook.turned_deg(self._begun)
        is_now = turned_deg is not None and turned_deg >= min(HALF_WAY_DEG, outlook.leg.turn_deg / 2)
        if is_now and self._half_way_s is None:
            self._half_way_s = outlook.motion.at_s
        return self._half_way_s is not None

    # ---- needle

    def _follow_stop(self, outlook: Outlook) -> None:
        """Whether the needle has been at the stop since its course was set."""
        leg = outlook.leg
        course_deg = leg.course_mag_deg if outlook.progress.state is State.FLYING else None
        if course_deg != self._course_deg:
            self._course_deg, self._is_pegged, self._at_stop = course_deg, False, None
        if course_deg is not None and abs(outlook.needle_deg(course_deg)) >= outlook.use.full_scale_deg:
            self._is_pegged, self._at_stop = True, outlook.motion

    def _needle(self, outlook: Outlook) -> Iterator[Sighting]:
        """Needle alive; where it never was at the stop, the lead point."""
        leg = outlook.leg
        is_open = not {Seen.ALIVE, Seen.LEAD} & self._seen
        if leg.ends_on is not Ending.INTERCEPT or leg.course_mag_deg is None or not is_open:
            return
        if not self._is_half_way(outlook):
            return
        if not self._is_pegged:
            if self._is_lead_point(outlook, leg.course_mag_deg):
                yield Sighting(what=Seen.LEAD, onset_s=outlook.motion.at_s)
        elif abs(outlook.needle_deg(leg.course_mag_deg)) < outlook.use.full_scale_deg:
            yield Sighting(what=Seen.ALIVE, onset_s=self._left_stop_s(outlook, leg.course_mag_deg))

    def _left_stop_s(self, outlook: Outlook, course_deg: int) -> float:
        """When the needle left the stop, between two fixes; not before half of the turn was done."""
        now, before = outlook.motion, self._at_stop
        if before is None or now.at_s <= before.at_s:
            return now.at_s
        was_deg, is_deg = abs(outlook.needle_deg(course_deg, before)), abs(outlook.needle_deg(course_deg))
        share = (was_deg - outlook.use.full_scale_deg) / (was_deg - is_deg)
        left_s = before.at_s + (now.at_s - before.at_s) * max(0.0, min(1.0, share))
        return max(outlook.progress.begun_s, self._half_way_s or 0.0, left_s)

    def _is_lead_point(self, outlook: Outlook, course_deg: int) -> bool:
        motion, pointing_deg = outlook.motion, outlook.pointing_deg()
        if motion.track_mag_deg is None or motion.ground_speed_kt is None or pointing_deg is None:
            return False
        turn_deg = abs(difference_deg(course_deg, pointing_deg))
        across_kt = motion.ground_speed_kt * math.sin(
            math.radians(difference_deg(motion.track_mag_deg, course_deg))
        )
        across_nm = outlook.reading(course_deg).across_nm
        if turn_deg >= WIDEST_LEAD_DEG or across_kt * across_nm >= 0.0:
            return False
        return -across_nm / across_kt * 3600.0 <= lead_s(turn_deg) + LEAD_MARGIN_S

    def _established(self, outlook: Outlook) -> Iterator[Sighting]:
        """Within half scale, closing or steady, tracking within 10 degrees of the course, for a while."""
        leg, at_s = outlook.leg, outlook.motion.at_s
        if not leg.tracks or leg.course_mag_deg is None:
            return
        is_held = self._is_held(outlook, leg.course_mag_deg)
        is_within = abs(outlook.needle_deg(leg.course_mag_deg)) <= outlook.use.full_scale_deg / 2
        self._held_since_s = _since(self._held_since_s, at_s, is_held)
        self._steady_since_s = _since(self._steady_since_s, at_s, is_held and is_within)
        self.is_held = _has_lasted(self._held_since_s, at_s)
        if _has_lasted(self._steady_since_s, at_s) and Seen.ESTABLISHED not in self._seen:
            yield Sighting(what=Seen.ESTABLISHED, onset_s=self._steady_since_s or at_s)

    def _is_held(self, outlook: Outlook, course_deg: int) -> bool:
        """Flown along the course, the needle closing or steady, wherever it stands."""
        track_deg = outlook.motion.track_mag_deg
        if track_deg is None or outlook.reading(course_deg).in_cone:
            return False
        needle_deg, rate_deg_s = outlook.needle_deg(course_deg), outlook.needle_rate_deg_s(course_deg)
        is_steady = needle_deg * rate_deg_s < 0.0 or abs(rate_deg_s) <= STEADY_DEG_S
        return is_steady and abs(difference_deg(track_deg, course_deg)) <= ESTABLISHED_HEADING_DEG


def _since(since_s: float | None, at_s: float, is_so: bool) -> float | None:
    if not is_so:
        return None
    return at_s if since_s is None else since_s


def _has_lasted(since_s: float | None, at_s: float) -> bool:
    return since_s is not None and at_s - since_s >= ESTABLISHED_FOR_S
