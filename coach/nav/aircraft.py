"""An aircraft that flies at constant TAS in a constant wind and turns at one rate.

Never climbs, banks or drifts by chance: each step is exact, so one long step and many short ones end at one
point. East and north are counted from the station, magnetic north up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coach.nav.angles import direction_deg, shorter_turn_deg, wrap_deg
from coach.nav.turn import STANDARD_RATE_DEG_S
from coach.nav.wind import CALM, Wind

_NM_S_PER_KT = 1.0 / 3600.0
_LEVEL_DEG = 1e-9


@dataclass(frozen=True, slots=True)
class Aircraft:
    """Where the aircraft is, where it points, and the air it flies in."""

    east_nm: float
    north_nm: float
    heading_mag_deg: float
    """Above 0 up to 360, not rounded."""

    tas_kt: float
    wind_east_kt: float = 0.0
    """How fast the air moves toward magnetic 090."""

    wind_north_kt: float = 0.0
    rate_deg_s: float = STANDARD_RATE_DEG_S
    """How fast it turns when it turns, above 0."""

    def step(self, step_s: float, turn_deg_s: float = 0.0) -> Aircraft:
        """Return the aircraft after turning for `step_s` at a rate, right positive; 0 is straight.

        The arc's chord lies half the turn beyond the first heading: exact, and stable for the slowest turn.
        """
        half = math.radians(turn_deg_s * step_s) / 2.0
        chord_nm = self.tas_kt * _NM_S_PER_KT * step_s * (math.sin(half) / half if half else 1.0)
        toward = math.radians(self.heading_mag_deg) + half
        drift_s = step_s * _NM_S_PER_KT
        return Aircraft(
            self.east_nm + chord_nm * math.sin(toward) + self.wind_east_kt * drift_s,
            self.north_nm + chord_nm * math.cos(toward) + self.wind_north_kt * drift_s,
            wrap_deg(self.heading_mag_deg + turn_deg_s * step_s),
            self.tas_kt,
            self.wind_east_kt,
            self.wind_north_kt,
            self.rate_deg_s,
        )

    def turn(self, turn_deg: float) -> Aircraft:
        """Return the aircraft after a turn of so many degrees, right positive."""
        if turn_deg == 0.0:
            return self
        return self.step(abs(turn_deg) / self.rate_deg_s, math.copysign(self.rate_deg_s, turn_deg))

    def steer(self, step_s: float, heading_mag_deg: float) -> Aircraft:
        """Return the aircraft after `step_s`, turning the shorter way to a heading and holding it there."""
        return self.follow(step_s, shorter_turn_deg(self.heading_mag_deg, heading_mag_deg))

    def follow(self, step_s: float, remaining_deg: float) -> Aircraft:
        """Return the aircraft after `step_s` of a turn with so many degrees still to go, right positive.

        Where the turn ends within the step, the rest of the step is flown straight. Use it for a turn that
        must go one way round (180 degrees and more), counting down what remains.
        """
        turning_s = abs(remaining_deg) / self.rate_deg_s
        if abs(remaining_deg) < _LEVEL_DEG:
            return self.step(step_s)
        rate_deg_s = math.copysign(self.rate_deg_s, remaining_deg)
        if turning_s >= step_s:
            return self.step(step_s, rate_deg_s)
        return self.step(turning_s, rate_deg_s).step(step_s - turning_s)

    @property
    def distance_nm(self) -> float:
        """Over the ground from the station."""
        return math.hypot(self.east_nm, self.north_nm)

    @property
    def radial_mag_deg(self) -> float:
        """The radial it is on, above 0 up to 360; 360 exactly over the station."""
        return direction_deg(self.east_nm, self.north_nm)

    @property
    def ground_east_kt(self) -> float:
        """Ground speed toward magnetic 090."""
        return self.tas_kt * math.sin(math.radians(self.heading_mag_deg)) + self.wind_east_kt

    @property
    def ground_north_kt(self) -> float:
        """Ground speed toward magnetic 360."""
        return self.tas_kt * math.cos(math.radians(self.heading_mag_deg)) + self.wind_north_kt

    @property
    def ground_speed_kt(self) -> float:
        """Over the ground."""
        return math.hypot(self.ground_east_kt, self.ground_north_kt)

    @property
    def track_mag_deg(self) -> float:
        """The direction of motion over the ground, above 0 up to 360."""
        return direction_deg(self.ground_east_kt, self.ground_north_kt)


def over_station(
    heading_mag_deg: float, tas_kt: float, wind: Wind = CALM, rate_deg_s: float = STANDARD_RATE_DEG_S
) -> Aircraft:
    """Return an aircraft over the station on a heading; the wind counted from magnetic north."""
    heading = wrap_deg(heading_mag_deg)
    return Aircraft(0.0, 0.0, heading, tas_kt, wind.east_kt, wind.north_kt, rate_deg_s)
