"""Flights that are known exactly: an aircraft of `coach.nav` flies pieces, a receiver reports them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from coach.fixes.track import Track
from coach.fixes.track_cleaning import clean_track
from coach.nav.aircraft import Aircraft, over_station
from coach.nav.angles import wrap_deg
from coach.nav.path import Path, Piece, duration_s, straight, turning
from coach.nav.station import Station
from coach.nav.wind import Wind

STATION = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)
BEGAN_S = 1_900_000_000.0
"""A Sunday in 2030."""

Move = tuple[str, float] | tuple[str, float, float]
"""`("straight", seconds)` or `("turn", degrees right positive, degrees a second)`."""


@dataclass(frozen=True, kw_only=True)
class Receiver:
    """How a flight is reported."""

    every_s: float = 1.0
    noise_m: float = 0.0
    """Standard deviation of each coordinate of each fix."""

    has_heading: bool = False
    has_speed: bool = False
    """Ground speed and track, as RMC has them: 0.1 kt and 0.1 degrees."""

    altitude_ft: float | None = None
    seed: int = 1


def path_of(start: Aircraft, moves: list[Move]) -> Path:
    pieces: list[Piece] = []
    aircraft = start
    for move in moves:
        if move[0] == "straight":
            pieces.append(straight(aircraft, move[1]))
        else:
            pieces.append(turning(replace(aircraft, rate_deg_s=move[2]), move[1]))
        aircraft = replace(pieces[-1].end, rate_deg_s=start.rate_deg_s)
    return tuple(pieces)


def reported(path: Path, receiver: Receiver, station: Station = STATION) -> Track:
    """The path as a track, a magnetic compass in it if the receiver has one."""
    states = _sampled(path, receiver.every_s)
    chance = np.random.default_rng(receiver.seed)
    off_nm = chance.normal(0.0, receiver.noise_m / 1852.0 + 1e-12, (len(states), 2))
    places = [
        station.locate(aircraft.east_nm + east, aircraft.north_nm + north)
        for (_, aircraft), (east, north) in zip(states, off_nm.tolist(), strict=True)
    ]
    given: dict[str, np.ndarray] = {}
    if receiver.has_heading:
        given["heading_mag_deg"] = np.array([aircraft.heading_mag_deg for _, aircraft in states])
        given["airspeed_kt"] = np.array([aircraft.tas_kt for _, aircraft in states])
    if receiver.has_speed:
        tracks = [wrap_deg(aircraft.track_mag_deg + station.declination_deg) for _, aircraft in states]
        given["track_true_deg"] = np.round(tracks, 1)
        given["ground_speed_kt"] = np.round([aircraft.ground_speed_kt for _, aircraft in states], 1)
    if receiver.altitude_ft is not None:
        given["altitude_ft"] = np.full(len(states), receiver.altitude_ft)
    return clean_track(
        "csv",
        name="flown",
        posix_s=np.array([BEGAN_S + at_s for at_s, _ in states]),
        lat_deg=np.array([lat for lat, _ in places]),
        lon_deg=np.array([(lon + 180.0) % 360.0 - 180.0 for _, lon in places]),
        given=given,
    )


def _sampled(path: Path, every_s: float) -> list[tuple[float, Aircraft]]:
    states: list[tuple[float, Aircraft]] = []
    begun_s, at_s, n = 0.0, 0.0, 0
    for piece in path:
        while at_s <= begun_s + piece.duration_s + 1e-9:
            states.append((at_s, piece.at(at_s - begun_s)))
            n += 1
            at_s = n * every_s
        begun_s += piece.duration_s
    return states


def start_of(east_nm: float, north_nm: float, heading_deg: float, wind: Wind | None = None) -> Aircraft:
    at = over_station(heading_deg, 90.0, wind) if wind else over_station(heading_deg, 90.0)
    return replace(at, east_nm=east_nm, north_nm=north_nm)


def began(path: Path) -> list[float]:
    """When each piece begins."""
    times, at_s = [], 0.0
    for piece in path:
        times.append(at_s)
        at_s += piece.duration_s
    return times


def whole_s(path: Path) -> float:
    return duration_s(path)


def off_deg(a: float, b: float) -> float:
    """How far two directions are apart, 0 to 180."""
    return abs(math.remainder(a - b, 360.0))
