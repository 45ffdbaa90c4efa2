"""The simulated aircraft with its pilot, tenth of a second by tenth of a second, and what was flown.

Constant TAS, standard-rate turns, one steady wind. Never hears or says anything: the world does that.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

from coach.drill.model import Drill, Ending
from coach.drill.plan import begun_at
from coach.nav.aircraft import Aircraft
from coach.nav.angles import mean_deg, wrap_deg
from coach.nav.passage import Passage, PassageWatch
from coach.nav.vor import Reading, receive
from coach.nav.wind import Wind
from coach.rehearsal.pilot import Pilot
from coach.rehearsal.steering import STEP_S
from coach.rehearsal.watch import Instruments

ARRIVES_FROM_S = 60.0
"""The flight begins about a minute before the station: 1.5 NM at 90 kt."""

BEGINS_AT_FT = 3000.0
"""Any altitude serves: only changes of it matter."""

HELD_FOR_S = 10.0
"""The heading flown on a leg is the mean over its last ten seconds, as far as they were straight."""

STRAIGHT_DEG = 2.0
"""Less than this to turn is straight enough."""

PLACED_EVERY = 10
"""Of the pilot's looks: a place of the track a second."""

STRAIGHT_FOR_S = 2.0
"""A moment is straight if the aircraft has flown straight for so long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlownLeg:
    """One leg as it was flown."""

    n: int
    """0 for the way to the station."""

    start_s: float
    """When the aircraft began its heading change, on the session clock."""

    heading_mag_deg: float
    """The heading held at its end, above 0 up to 360; the last one reached where it never was held."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """What the aircraft was doing at one time."""

    leg_n: int
    """The leg the pilot had begun; 0 for the way to the station."""

    is_straight: bool
    """Straight for the last two seconds."""

    distance_nm: float
    """From the station."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlownPlace:
    """Where the aircraft was at one time."""

    at_s: float
    """The session's clock."""

    east_nm: float
    """From the station, its magnetic north up."""

    north_nm: float
    altitude_ft: float


class Flight:
    """Flies the aircraft by the pilot's hand."""

    def __init__(self, pilot: Pilot, aircraft: Aircraft, *, full_scale_deg: float) -> None:
        self.pilot = pilot
        self.aircraft = aircraft
        self.altitude_ft = BEGINS_AT_FT
        self._full_scale_deg = full_scale_deg
        self._steps = 0
        self._watch = PassageWatch(persists_s=0.0)
        self._watched_deg = pilot.course_mag_deg
        self.passages: list[Passage] = []
        """Every passage as it was, by the course that the pilot had set."""

        self._times_s: list[float] = []
        self._headings_mag_deg: list[float] = []
        self._is_straight: list[bool] = []
        self._distances_nm: list[float] = []
        self.places: list[FlownPlace] = []
        """Where the aircraft was, once a second."""

    @property
    def next_step_s(self) -> float:
        """When the pilot looks and steers next."""
        return self._steps * STEP_S

    def step(self) -> None:
        """Let the pilot look and steer once, and fly on to his next look."""
        at_s, aircraft = self.next_step_s, self.aircraft
        reading = receive(
            aircraft.east_nm,
            aircraft.north_nm,
            course_mag_deg=self.pilot.course_mag_deg,
            full_scale_deg=self._full_scale_deg,
        )
        self._look_for_passage(at_s, reading)
        seen = Instruments(
            at_s,
            aircraft.heading_mag_deg,
            reading.needle_deg,
            reading.flag,
            radial_mag_deg=reading.radial_mag_deg,
            distance_nm=reading.distance_nm,
            altitude_ft=self.altitude_ft,
        )
        if self._steps % PLACED_EVERY == 0:
            self.places.append(
                FlownPlace(
                    at_s=at_s,
                    east_nm=aircraft.east_nm,
                    north_nm=aircraft.north_nm,
                    altitude_ft=self.altitude_ft,
                )
            )
        turn_deg = self.pilot.fly(seen)
        self.altitude_ft += self.pilot.vertical_ft_min * STEP_S / 60.0
        self._times_s.append(at_s)
        self._headings_mag_deg.append(aircraft.heading_mag_deg)
        self._distances_nm.append(aircraft.distance_nm)
        self._is_straight.append(abs(turn_deg) < STRAIGHT_DEG)
        self.aircraft = aircraft.follow(STEP_S, turn_deg)
        self._steps += 1

    def _look_for_passage(self, at_s: float, reading: Reading) -> None:
        if self.pilot.course_mag_deg != self._watched_deg:
            self._watched_deg = self.pilot.course_mag_deg
            self._watch = PassageWatch(persists_s=0.0)
        self._watch, passage = self._watch.after(at_s, reading)
        if passage is not None and self.pilot.is_inbound:
            self.passages.append(passage)

    def moment(self, at_s: float) -> Moment:
        """Return what the aircraft was doing at a time gone by."""
        end = bisect_left(self._times_s, at_s)
        begun = [leg.n for leg in self.pilot.begun if leg.at_s <= at_s]
        straight = self._is_straight[max(0, end - round(STRAIGHT_FOR_S / STEP_S)) : end]
        return Moment(
            leg_n=begun[-1],
            is_straight=all(straight),
            distance_nm=self._distances_nm[max(0, end - 1)],
        )

    def flown_legs(self) -> tuple[FlownLeg, ...]:
        """Return the legs flown so far, the way to the station first."""
        begun = self.pilot.begun
        ends_s = [*(leg.at_s for leg in begun[1:]), math.inf]
        return tuple(
            FlownLeg(n=leg.n, start_s=leg.at_s, heading_mag_deg=self._held_mag_deg(leg.at_s, end_s))
            for leg, end_s in zip(begun, ends_s, strict=True)
        )

    def _held_mag_deg(self, start_s: float, end_s: float) -> float:
        end = bisect_left(self._times_s, end_s)
        begin = max(bisect_left(self._times_s, start_s), end - round(HELD_FOR_S / STEP_S))
        last = self._headings_mag_deg[max(0, end - 1)]
        straight = range(begin, end)
        held = mean_deg(self._headings_mag_deg[i] for i in straight if self._is_straight[i])
        return wrap_deg(last if held is None else held)


def arriving_for(drill: Drill, tas_kt: float, wind: Wind) -> Aircraft:
    """Return an aircraft a minute before a drill begins; the wind magnetic."""
    if drill.begins_on is Ending.PASSAGE:
        return arriving(drill.arrive_course_mag_deg, tas_kt, wind)
    return begun_at(drill, tas_kt, wind).step(-ARRIVES_FROM_S)


def arriving(course_mag_deg: float, tas_kt: float, wind: Wind) -> Aircraft:
    """Return an aircraft on the arrive course, about a minute before the station; the wind magnetic."""
    back, distance_nm = math.radians(course_mag_deg + 180.0), tas_kt * ARRIVES_FROM_S / 3600.0
    return Aircraft(
        distance_nm * math.sin(back),
        distance_nm * math.cos(back),
        wrap_deg(course_mag_deg),
        tas_kt,
        wind.east_kt,
        wind.north_kt,
    )
