"""Calls about the track, sparing: "Needle left, three dots", "Reverse sensing", "Hold heading".

Only what `procedure.md` of the trade allows: on legs flown to track a course, wings level, the needle beyond
half scale for ten seconds and not coming in, one call in twenty seconds, none near the station but the one
"Hold heading". The pilot's needle is the authority: until it has taught its zero, calls begin at full scale.
Never decides whether anybody else is speaking: the session asks for a call and says whether it was made.
"""

from __future__ import annotations

from coach.drill.model import Ending
from coach.nav.angles import difference_deg
from coach.session import prompts
from coach.session.outlook import Outlook
from coach.session.progress import State

BEYOND_FOR_S = 10.0
"""So long the needle must be beyond its band, or the sensing reversed."""

EVERY_S = 20.0
"""At most one call in so long."""

CLOSING_DEG_S = 0.05
"""Slower than this the needle does not move; our own choice, above the noise of positions."""

LEVEL_S = 3.0
"""So long the wings must have been level; our own choice."""

LAST_NM = 1.0
LAST_S = 40.0
"""Nearer than this before passage there is no call but "Hold heading"."""

HOLD_HEADING_S = 20.0
"""So long before passage "Hold heading" is said."""

LARGEST_ERROR_DEG = 6.0
"""A receiver may be so far off and legal (14 CFR 91.171(b)(3))."""

REVERSED_DEG = 90.0


class TrackCalls:
    """Follows one flight; `bearing_error_deg` is what the pilot's needle taught."""

    def __init__(self) -> None:
        self.bearing_error_deg: float | None = None
        """Of the pilot's receiver against the feed, as his needle taught it; None: not taught."""

        self._is_off = False
        self._leg_i: int | None = None
        self._beyond_since_s: float | None = None
        self._reversed_since_s: float | None = None
        self._called_s = float("-inf")

    def teach(self, error_deg: float) -> str | None:
        """The pilot's receiver is off by so much against the feed; a prompt where that is too much."""
        self._is_off = abs(error_deg) > LARGEST_ERROR_DEG
        if self._is_off:
            return prompts.needles_differ(error_deg)
        self.bearing_error_deg = error_deg
        return None

    def note_made(self, at_s: float) -> None:
        """The call was made."""
        self._called_s = at_s

    def find_call(self, outlook: Outlook) -> str | None:
        """The call that this fix asks for; None: none."""
        leg, at_s = outlook.leg, outlook.motion.at_s
        course_deg = leg.course_mag_deg
        is_tracked = outlook.progress.state is State.FLYING and leg.tracks and course_deg is not None
        if not is_tracked or course_deg is None or self._leg_i != outlook.progress.leg_i:
            self._leg_i = outlook.progress.leg_i
            self._beyond_since_s = self._reversed_since_s = None
        if not is_tracked or course_deg is None:
            return None
        self._follow(outlook, course_deg)
        if self._is_off or at_s - self._called_s < EVERY_S or _is_near(outlook, course_deg):
            return None
        if outlook.level_for_s() < LEVEL_S:
            return None
        if _has_lasted(self._reversed_since_s, at_s):
            return prompts.REVERSE_SENSING
        if not _has_lasted(self._beyond_since_s, at_s) or _is_closing(outlook, course_deg):
            return None
        return prompts.needle(outlook.needle_deg(course_deg), outlook.use.full_scale_deg, outlook.use.dots)

    def find_hold(self, outlook: Outlook) -> str | None:
        """ "Hold heading" as the station comes near; None: not yet."""
        leg = outlook.leg
        if outlook.progress.state is not State.FLYING or leg.ends_on is not Ending.PASSAGE:
            return None
        course_deg = leg.course_mag_deg
        if not leg.tracks or course_deg is None:
            return None
        passage_s = outlook.passage_in_s(course_deg)
        reading = outlook.reading(course_deg)
        is_near = reading.in_cone or (passage_s is not None and 0.0 < passage_s <= HOLD_HEADING_S)
        return prompts.HOLD_HEADING if is_near and reading.to_go_nm > 0.0 else None

    def _follow(self, outlook: Outlook, course_deg: int) -> None:
        """Since when the needle is beyond its band, and the sensing reversed in level flight."""
        at_s, scale_deg = outlook.motion.at_s, outlook.use.full_scale_deg
        band_deg = scale_deg if self.bearing_error_deg is None else scale_deg / 2
        is_beyond = abs(outlook.needle_deg(course_deg)) >= band_deg
        self._beyond_since_s = _since(self._beyond_since_s, at_s, is_beyond)
        pointing_deg = outlook.pointing_deg()
        is_level = outlook.motions.level_since_s is not None
        is_reversed = (
            is_level
            and pointing_deg is not None
            and abs(difference_deg(pointing_deg, course_deg)) > REVERSED_DEG
        )
        self._reversed_since_s = _since(self._reversed_since_s, at_s, is_reversed)


def _since(since_s: float | None, at_s: float, is_so: bool) -> float | None:
    if not is_so:
        return None
    return at_s if since_s is None else since_s


def _has_lasted(since_s: float | None, at_s: float) -> bool:
    return since_s is not None and at_s - since_s >= BEYOND_FOR_S


def _is_closing(outlook: Outlook, course_deg: int) -> bool:
    rate_deg_s = outlook.needle_rate_deg_s(course_deg)
    return abs(rate_deg_s) > CLOSING_DEG_S and outlook.needle_deg(course_deg) * rate_deg_s < 0.0


def _is_near(outlook: Outlook, course_deg: int) -> bool:
    """In the cone, or in the last mile or forty seconds before passage."""
    if outlook.reading(course_deg).in_cone:
        return True
    if outlook.leg.ends_on is not Ending.PASSAGE:
        return False
    passage_s = outlook.passage_in_s(course_deg)
    is_soon = passage_s is not None and passage_s <= LAST_S
    return outlook.motion.distance_nm <= LAST_NM or is_soon
