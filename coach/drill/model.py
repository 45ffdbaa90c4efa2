"""A drill as compiled: legs in the order they are flown, every heading a whole number.

Never holds wind, station or times flown: that is the plan (`coach.drill.plan`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from coach.nav.climb import climb_time_s
from coach.nav.station import Station


class Turn(StrEnum):
    """Which way a leg begins."""

    LEFT = "left"
    RIGHT = "right"
    NONE = "none"


class Ending(StrEnum):
    """What ends a leg."""

    PASSAGE = "passage"
    TIME = "time"
    INTERCEPT = "intercept"
    HEADING = "heading"
    ESTABLISHED = "established"
    ALTITUDE = "altitude"
    DISTANCE = "distance"
    RADIAL = "radial"
    WORD = "word"


class T(StrEnum):
    """The five Ts, said at every heading change (common practice, no source)."""

    TURN = "turn"
    TIME = "time"
    TWIST = "twist"
    THROTTLE = "throttle"
    TALK = "talk"


class Clock(StrEnum):
    """What the pilot does with the clock at the start of a leg (the second T)."""

    START = "start"
    RUN = "run"
    """The clock goes on; it is read again at the end of this leg."""

    STOP = "stop"
    NONE = "none"


class TimerFrom(StrEnum):
    """Where a leg time is counted from."""

    TURN = "turn"
    """One clock from passage, read at each leg time (ICAO Doc 8168 Vol I, 45/180)."""

    LEVEL = "level"
    """The clock restarts when the wings are level."""

    ABEAM = "abeam"
    """The clock restarts abeam the fix, as the pilot says; else when the wings are level (AIM 5-3-8j4)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """From one checkpoint to the next. It begins with its turn."""

    n: int
    """1 for the first leg of the drill."""

    spoke: int | None
    """1 for the first spoke; None for a leg outside spokes."""

    leg: str
    """The leg's name in the drill file, such as `outbound`."""

    turn: Turn
    turn_deg: int
    """How far the turn goes, 0 to 360 degrees, as published (no wind)."""

    heading_mag_deg: int | None
    """The published heading after the turn, 1-360; None where the leg has none."""

    course_mag_deg: int | None
    """The course selected on this leg, 1-360; None where the leg uses no course."""

    sets_course: bool
    """True where the twist is this leg's to do; False where the course is already set."""

    tracks: bool
    """True where the leg is flown to track its course; False where its heading is flown."""

    clock: Clock
    leg_s: float | None
    """The leg time in seconds, above 0; None where the leg is not timed."""

    ends_on: Ending
    throttle: str | None
    """What the fourth T says here; None: none."""

    talk: str | None
    """What the fifth T says here; None: none."""

    lap: int | None = None
    """1 for the first time round of legs that are repeated; None for a leg of a spoke or flown once."""

    timed_from: TimerFrom | None = None
    """Where this leg's time is counted from; None: the drill's `timer_from`."""

    corrects_for: str | None = None
    """The leg of the same lap that is to last `leg_s`; the next lap's `leg_s` is corrected for it."""

    corrects_wind: bool = False
    """Heading and time are corrected for the wind: track and length over the ground are as published."""

    drift: int = 0
    """How many times the reciprocal's wind correction is flown the other way on this heading; 0: none."""

    arc_nm: float | None = None
    """The distance from the station that the leg keeps; None: no arc."""

    distance_nm: float | None = None
    """The distance from the station at which it ends; None where it ends otherwise."""

    climb_ft: float | None = None
    """How far the altitude changes, down negative; None: it stays."""

    rate_ft_min: float | None = None
    """At what rate, above 0; None where the altitude stays."""

    compass_mag_deg: int | None = None
    """What the magnetic compass reads where the roll-out begins, 1-360; None: the turn is not flown by it."""

    says: str | None = None
    """What the coach says as it begins, in place of turn and heading; None: those."""

    reminds: str | None = None
    """What the coach says once on the leg; None: nothing."""

    tone_every_s: float | None = None
    """A tone sounds again and again after so long; None: no tones."""

    @property
    def altitude_s(self) -> float | None:
        """How long its change of altitude takes at its rate, in seconds; None where there is none."""
        if self.climb_ft is None or self.rate_ft_min is None:
            return None
        return climb_time_s(self.climb_ft, self.rate_ft_min)


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where a drill begins that does not begin over the station."""

    radial_mag_deg: int
    """1-360."""

    distance_nm: float
    """From the station, above 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """A flown exercise, compiled from one file and its settings."""

    name: str
    title: str
    source: str
    """Where the pattern is published, or "common practice, no source"."""

    arrive_course_mag_deg: int
    """The course flown toward the station before the first passage, 1-360; else the heading before leg 1."""

    timer_from: TimerFrom
    five_ts: tuple[T, ...]
    """The order of the five Ts; some schools put time first."""

    legs: tuple[Leg, ...]
    settings: tuple[tuple[str, str], ...]
    """Each setting and the value it was compiled with, as text, in file order."""

    station: Station | None = None
    """The station that the file has to rehearse over; None: none."""

    warnings: tuple[str, ...]
    """What the author should know, one sentence each (a short offset leg)."""

    begins_on: Ending = Ending.PASSAGE
    """Passage of the station, or the pilot's word."""

    start: Start | None = None
    """Where it begins; None: over the station, or where no station is used."""

    entry: str | None = None
    """How a holding pattern is entered: `direct`, `parallel` or `teardrop`; None: it is none."""

    @property
    def spokes(self) -> int:
        """How many spokes it has; 0: none."""
        return max((leg.spoke or 0 for leg in self.legs), default=0)
