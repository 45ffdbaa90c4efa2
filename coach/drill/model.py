"""A drill as compiled: legs in the order they are flown, every heading a whole number.

Never holds wind, station or times flown: that is the plan (`coach.drill.plan`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """A flown exercise, compiled from one file and its settings."""

    name: str
    title: str
    source: str
    """Where the pattern is published, or "common practice, no source"."""

    arrive_course_mag_deg: int
    """The course flown toward the station before the first passage, 1-360."""

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

    @property
    def spokes(self) -> int:
        """How many spokes it has; 0: none."""
        return max((leg.spoke or 0 for leg in self.legs), default=0)
