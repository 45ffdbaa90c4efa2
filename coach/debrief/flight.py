"""A track seen from a station: where it was, over the ground and through the air, fix by fix.

Never takes a track for a heading: where none is measured it is worked out with a wind that the turns show,
and said to be estimated; where they show none there is no heading. A compass heading is taken as of the
station's rose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from coach.debrief.filtering import Stretches, find_stretches, half_width_s, interval_s, slope
from coach.debrief.places import place_all
from coach.debrief.wind_fit import WindFlown, find_wind, find_wind_by_air
from coach.fixes.track import Numbers, Track
from coach.nav.station import Station

Sense = Literal["heading", "estimated heading", "track"]
"""What a direction is: as measured, worked out from track and estimated wind, or only over the ground."""

SLOWEST_KT = 15.0
"""Below this ground speed a track says nothing (`coach.session.motion` has the same)."""

MOSTLY = 0.8
"""A quantity that the feed gives less often than this is taken for not given."""

COARSE_STEPS_DEG = (360.0 / 256.0, 1.0)
"""GDL 90 sends a track in 256ths of a circle (ICD 3.5.1), collections of ADS-B often whole degrees: one out
of the positions is better."""

ON_STEP_DEG, NEARLY_ALL = 0.01, 0.95
"""So near to a step, so many of the values: then the feed has such steps."""

AGREES_DEG = 5.0
"""In the middle a feed's track that can be believed is so near to that of its positions."""

FAR_DEG, FAR_SHARE = 30.0, 0.1
"""And hardly ever so far from it: some feeds wrap a track wrongly."""

FEWEST = 10

Velocity = tuple[Numbers, Numbers]
"""Knots east and north."""

_KT = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flight:
    """One value a fix in every array; directions of the station's magnetic rose, above 0 up to 360."""

    track: Track
    station: Station
    east_nm: Numbers
    """From the station, its magnetic north up."""

    north_nm: Numbers
    distance_nm: Numbers
    radial_mag_deg: Numbers
    track_mag_deg: Numbers
    """Over the ground; NaN below `SLOWEST_KT`."""

    pointing_mag_deg: Numbers
    """The same as the feed measured it, in its coarse steps, where it can be believed; else as above."""

    ground_speed_kt: Numbers
    heading_mag_deg: Numbers | None
    """Measured or estimated, as `heading_by` says; None: neither. May have NaN."""

    heading_by: Sense | None
    smoothed_s: float
    """Directions are means over so much to either side; 0: as the feed measured them."""

    wind: WindFlown | None
    """As the flight itself shows it."""

    stretches: Stretches
    """Runs of fixes without a gap."""

    @property
    def time_s(self) -> Numbers:
        """Seconds since the track began."""
        return self.track.time_s

    @property
    def direction_mag_deg(self) -> Numbers:
        """The heading where there is one, else the track."""
        return self.track_mag_deg if self.heading_mag_deg is None else self.heading_mag_deg

    @property
    def direction_by(self) -> Sense:
        """What `direction_mag_deg` is."""
        return self.heading_by or "track"


def see_flight(track: Track, station: Station) -> Flight:
    """Return a track as seen from a station."""
    east, north = place_all(station, track.lat_deg, track.lon_deg)
    stretches = find_stretches(track.time_s)
    by_places = _velocity_by_places(track.time_s, east, north, stretches)
    fed_deg = _fed_track(track, station, by_places)
    velocity_east, velocity_north, smoothed_s = _velocity(track, by_places, fed_deg)
    speed_kt = np.hypot(velocity_east, velocity_north)
    with np.errstate(invalid="ignore"):
        is_slow = ~(speed_kt >= SLOWEST_KT)
    track_deg = np.where(is_slow, np.nan, _direction(velocity_east, velocity_north))
    heading, by, wind, heading_smoothed_s = _heading(
        track, station, velocity_east, velocity_north, smoothed_s
    )
    return Flight(
        track=track,
        station=station,
        east_nm=east,
        north_nm=north,
        distance_nm=np.hypot(east, north),
        radial_mag_deg=_direction(east, north),
        track_mag_deg=track_deg,
        pointing_mag_deg=track_deg if fed_deg is None else np.where(np.isfinite(fed_deg), fed_deg, track_deg),
        ground_speed_kt=speed_kt,
        heading_mag_deg=heading,
        heading_by=by,
        smoothed_s=heading_smoothed_s,
        wind=wind,
        stretches=stretches,
    )


def _direction(east: Numbers, north: Numbers) -> Numbers:
    """Above 0 up to 360."""
    return 360.0 - (-np.degrees(np.arctan2(east, north))) % 360.0


def _velocity_by_places(time_s: Numbers, east: Numbers, north: Numbers, stretches: Stretches) -> Velocity:
    rates = [
        np.concatenate([slope(time_s[part], values[part]) for part in stretches]) for values in (east, north)
    ]
    return rates[0] * _KT, rates[1] * _KT


def _velocity(track: Track, by_places: Velocity, fed_deg: Numbers | None) -> tuple[Numbers, Numbers, float]:
    """Knots east and north, and how far they are smoothed: by the feed where it is fine, else by
    positions."""
    speed_kt = _usual(track.ground_speed_kt)
    by_places_s = half_width_s(interval_s(track.time_s))
    if speed_kt is None:
        return *by_places, by_places_s
    # The speed of jittering positions is worse than their course (5-29 kt at 5 s between fixes).
    speed_kt = np.where(np.isfinite(speed_kt), speed_kt, np.hypot(*by_places))
    course_deg = _direction(*by_places)
    is_fed = fed_deg is not None and track.track_true_deg is not None and _is_fine(track.track_true_deg)
    if fed_deg is not None and is_fed:
        course_deg = np.where(np.isfinite(fed_deg), fed_deg, course_deg)
    course = np.radians(course_deg)
    return speed_kt * np.sin(course), speed_kt * np.cos(course), 0.0 if is_fed else by_places_s


def _fed_track(track: Track, station: Station, by_places: Velocity) -> Numbers | None:
    """The feed's track by the station's rose where it goes with the positions, else None."""
    fed = _usual(track.track_true_deg)
    if fed is None:
        return None
    fed_deg = _wrapped(fed - station.declination_deg)
    moving = np.isfinite(fed_deg) & (np.hypot(*by_places) > 2 * SLOWEST_KT)
    if int(moving.sum()) < FEWEST:
        return None
    apart = np.abs((fed_deg - _direction(*by_places) + 180.0) % 360.0 - 180.0)[moving]
    return fed_deg if np.median(apart) <= AGREES_DEG and np.mean(apart > FAR_DEG) <= FAR_SHARE else None


def _is_fine(track_deg: Numbers) -> bool:
    """Whether it stands on none of the coarse steps that feeds send; as the feed has it, by its own rose."""
    good = track_deg[np.isfinite(track_deg)]
    for step_deg in COARSE_STEPS_DEG:
        off_deg = np.abs(good - step_deg * np.round(good / step_deg))
        if float(np.mean(off_deg <= ON_STEP_DEG)) >= NEARLY_ALL:
            return False
    return True


def _usual(values: Numbers | None) -> Numbers | None:
    """A quantity that nearly every fix has."""
    if values is None or float(np.isfinite(values).mean()) < MOSTLY:
        return None
    return values


def _heading(
    track: Track, station: Station, ground_east: Numbers, ground_north: Numbers, smoothed_s: float
) -> tuple[Numbers | None, Sense | None, WindFlown | None, float]:
    measured = _usual(track.heading_mag_deg)
    if measured is None and (of_true := _usual(track.heading_true_deg)) is not None:
        measured = of_true - station.declination_deg
    if measured is not None:
        return _wrapped(measured), "heading", _wind_by_air(track, measured, ground_east, ground_north), 0.0
    wind = find_wind(track.time_s, ground_east, ground_north)
    if wind is None:
        return None, None, None, smoothed_s
    wind_east, wind_north = wind.along(track.time_s)
    air = ground_east - wind_east, ground_north - wind_north
    if float(np.isfinite(air[0]).mean()) < MOSTLY:
        return None, None, wind, smoothed_s
    with np.errstate(invalid="ignore"):
        is_slow = ~(np.hypot(ground_east, ground_north) >= SLOWEST_KT)
    return np.where(is_slow, np.nan, _direction(*air)), "estimated heading", wind, smoothed_s


def _wind_by_air(
    track: Track, heading_deg: Numbers, ground_east: Numbers, ground_north: Numbers
) -> WindFlown | None:
    airspeed_kt = _usual(track.airspeed_kt)
    if airspeed_kt is None:
        return find_wind(track.time_s, ground_east, ground_north)
    angle = np.radians(heading_deg)
    return find_wind_by_air(
        track.time_s, ground_east - airspeed_kt * np.sin(angle), ground_north - airspeed_kt * np.cos(angle)
    )


def _wrapped(angle_deg: Numbers) -> Numbers:
    return 360.0 - (-angle_deg) % 360.0
