"""The coach's eyes: from fixes to what they show, for one session.

Puts motion, checkpoints, track calls and the wind together. Never moves the drill and never speaks:
the session decides by the feed's role what follows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coach.drill.plan import Plan, plan_drill
from coach.errors import DrillError
from coach.fixes.fix import Fix
from coach.nav.vor import bearing_error_deg
from coach.nav.wind import Wind
from coach.nav.wind_estimate import WindEstimate, difference_kt
from coach.session.checkpoints import Checkpoints, Sighting
from coach.session.motion import MotionWatch
from coach.session.outlook import FeedUse, Outlook
from coach.session.progress import Progress, State
from coach.session.track_calls import TrackCalls

WIND_EVERY_S = 10.0
"""How often the wind is worked out anew."""

OTHER_WIND_KT = 4.0
"""A wind farther than this from the plan's makes another plan; our own choice."""

FRESH_S = 10.0
"""Older than this the last fix tells nothing about now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seeing:
    """What one fix showed."""

    outlook: Outlook
    sightings: tuple[Sighting, ...]
    hold: str | None
    """ "Hold heading", while it holds."""

    call: str | None
    """A call about the track; None: none."""


class Lookout:
    """Follows the fixes of one session."""

    def __init__(self, use: FeedUse, tas_kt: float) -> None:
        self.use = use
        self.is_live = False
        """Whether the feed can be believed now."""

        self.wind: Wind | None = None
        """As estimated; None: not yet known."""

        self._motions = MotionWatch(use.station)
        self._checkpoints = Checkpoints()
        self._calls = TrackCalls()
        self._estimate = WindEstimate(tas_kt)
        self._wind_s = float("-inf")
        self._outlook: Outlook | None = None

    def lose(self, *, elsewhere: bool = False) -> None:
        """The feed cannot be believed any more; `elsewhere`: it goes on from another place or time.

        Then nothing lies between the last fix and the next: no passage is made of a jump over the station.
        """
        self.is_live = False
        if elsewhere:
            self._motions.forget()
            self._checkpoints.forget()

    def see(self, fix: Fix, plan: Plan, progress: Progress) -> Seeing | None:
        """What a fix shows; None for one too close after the last."""
        self.is_live = True
        motion = self._motions.take(fix)
        if motion is None:
            return None
        self._take_wind()
        outlook = Outlook(
            plan=plan,
            progress=progress,
            use=self.use,
            motion=motion,
            motions=self._motions,
            wind=self.wind,
            bearing_error_deg=self._calls.bearing_error_deg or 0.0,
        )
        self._outlook = outlook
        return Seeing(
            outlook=outlook,
            sightings=self._checkpoints.follow(outlook),
            hold=self._calls.find_hold(outlook),
            call=self._calls.find_call(outlook),
        )

    def note_called(self, at_s: float) -> None:
        """The track call of the last fix was made."""
        self._calls.note_made(at_s)

    @property
    def can_be_taught(self) -> bool:
        """Whether "needle centered" means something now: a course is held, and the feed is alive.

        Whatever the feed makes of the needle: it is the pilot's that is centered.
        """
        return self.is_live and self._checkpoints.is_held

    @property
    def distance_nm(self) -> float | None:
        """How far from the station the last fix was; None: there was none."""
        motion = self._motions.last
        return None if motion is None else math.hypot(motion.east_nm, motion.north_nm)

    @property
    def is_before_station(self) -> bool:
        """Whether the last fix shows the aircraft on the way to the station, by the present leg's course."""
        outlook = self._outlook
        if outlook is None or outlook.leg.course_mag_deg is None:
            return False
        return outlook.reading(outlook.leg.course_mag_deg).to_go_nm > 0.0

    def teach_zero(self, onset_s: float) -> tuple[float, str | None] | None:
        """The pilot's needle was centered then: his receiver's error by the feed, a prompt if it is too much.

        None where the feed does not know where the aircraft was.
        """
        outlook, motion = self._outlook, self._motions.find_at(onset_s)
        if outlook is None or motion is None or abs(motion.at_s - onset_s) > FRESH_S:
            return None
        course_deg = outlook.leg.course_mag_deg
        if course_deg is None or outlook.progress.state is not State.FLYING:
            return None
        error_deg = bearing_error_deg(motion.radial_mag_deg, course_deg)
        return error_deg, self._calls.teach(error_deg)

    def find_plan(self, plan: Plan) -> Plan | None:
        """The same drill in the wind that was found, where it is another; None: the plan stands."""
        if self.wind is None or difference_kt(self.wind, plan.wind) <= OTHER_WIND_KT:
            return None
        try:
            return plan_drill(
                plan.drill,
                tas_kt=plan.tas_kt,
                wind=self.wind,
                height_ft=self.use.height_ft,
                full_scale_deg=self.use.full_scale_deg,
            )
        except DrillError:
            return None

    def _take_wind(self) -> None:
        motion = self._motions.last
        if motion is None or motion.track_mag_deg is None or motion.ground_speed_kt is None:
            return
        self._estimate.take(
            motion.at_s,
            track_deg=motion.track_mag_deg,
            ground_speed_kt=motion.ground_speed_kt,
            heading_deg=motion.heading_mag_deg,
            airspeed_kt=motion.airspeed_kt,
        )
        if motion.at_s - self._wind_s >= WIND_EVERY_S:
            self._wind_s = motion.at_s
            self.wind = self._estimate.find_wind() or self.wind
