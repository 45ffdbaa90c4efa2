"""The simulated aircraft's position receiver: noisy fixes, late and with gaps, as NMEA or GDL 90 bytes.

Never tells more than a real one: no heading and no airspeed unless asked for, never the wind; and the errors
of satellite navigation. What it sends is all that a coach on a feed learns of the aircraft.
"""

from __future__ import annotations

import heapq
import math
import random
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from coach.fixes.decoder import Form
from coach.fixes.fix import Fix
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.nmea_encoder import encode_nmea
from coach.nav.aircraft import Aircraft
from coach.nav.angles import direction_deg, wrap_deg
from coach.nav.station import Station
from coach.nav.units import M_PER_NM

WANDERS_OVER_S = 60.0
"""Errors of satellite navigation wander slowly, over about a minute (common experience, no source)."""

WHITE_SHARE = 0.2
"""The part of the error that is new at every fix; our own choice."""

SPEED_NOISE_KT = 0.2
"""Of each part of the velocity: a receiver measures it by Doppler, not from positions (value from memory)."""

GAP_FIXES = 5.0
"""Lost fixes are lost in a row, so many at the mean; our own choice."""

JITTER_SHARE = 0.5
"""A fix is late by the delay and by up to this share of it more; our own choice."""

BEGAN_UTC = datetime(2030, 1, 1, 12, 0, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedConditions:
    """What kind of feed a rehearsal has."""

    form: Form = "nmea"
    is_by_socket: bool = True
    """Through a UDP socket on loopback; False: handed over in the process."""

    every_s: float = 1.0
    """Between fixes, 0.1-10 seconds."""

    noise_m: float = 3.0
    """Standard deviation of the position's error in each direction, 0-100 m."""

    delay_s: float = 0.2
    """From the instant of a fix to its arrival at the least, 0-5 seconds."""

    loss: float = 0.0
    """The share of fixes that never arrive, 0-0.9."""

    has_heading: bool = False
    """NMEA only: a compass and an airspeed sensor send too."""


class Transmitter:
    """Sends what is due; asked at every step of the aircraft."""

    def __init__(self, conditions: FeedConditions, station: Station, *, height_ft: float, seed: int) -> None:
        self._conditions = conditions
        self._station = station
        self._height_ft = height_ft
        self._random = random.Random(f"feed {seed}")
        self._next_s = 0.0
        self._wandering_m = [self._random.gauss(0.0, conditions.noise_m) for _ in range(2)]
        self._is_lost = False
        self._under_way: list[tuple[float, bytes]] = []
        self.sent = 0
        self.lost = 0

    def step(self, at_s: float, aircraft: Aircraft) -> None:
        """Take a fix if one is due."""
        if at_s < self._next_s - 1e-9:
            return
        self._next_s += self._conditions.every_s
        fix = self._fix(at_s, aircraft)
        if self._loses():
            self.lost += 1
            return
        self.sent += 1
        late_s = self._conditions.delay_s * (1.0 + self._random.uniform(0.0, JITTER_SHARE))
        encode = encode_nmea if self._conditions.form == "nmea" else encode_gdl90
        heapq.heappush(self._under_way, (at_s + late_s, encode(fix)))

    def arrived(self, at_s: float) -> list[bytes]:
        """What has arrived by now and was not taken before, datagram by datagram."""
        found = []
        while self._under_way and self._under_way[0][0] <= at_s + 1e-9:
            found.append(heapq.heappop(self._under_way)[1])
        return found

    def _loses(self) -> bool:
        """Whether this fix is lost; losses come in a row."""
        loss = self._conditions.loss
        if self._is_lost:
            self._is_lost = self._random.random() >= 1.0 / GAP_FIXES
        elif loss > 0.0:
            self._is_lost = self._random.random() < loss / (1.0 - loss) / GAP_FIXES
        return self._is_lost

    def _fix(self, at_s: float, aircraft: Aircraft) -> Fix:
        east_m, north_m = self._error_m()
        lat_deg, lon_deg = self._station.locate(
            aircraft.east_nm + east_m / M_PER_NM, aircraft.north_nm + north_m / M_PER_NM
        )
        east_kt = aircraft.ground_east_kt + self._random.gauss(0.0, SPEED_NOISE_KT)
        north_kt = aircraft.ground_north_kt + self._random.gauss(0.0, SPEED_NOISE_KT)
        track_mag_deg = direction_deg(east_kt, north_kt)
        instant = BEGAN_UTC + timedelta(seconds=at_s)
        has_heading = self._conditions.has_heading
        return Fix(
            at_s=at_s,
            source=self._conditions.form,
            lat_deg=lat_deg,
            lon_deg=wrap_deg(lon_deg + 180.0) - 180.0,
            utc=instant,
            utc_of_day_s=(instant - BEGAN_UTC.replace(hour=0)).total_seconds(),
            altitude_ft=self._height_ft,
            pressure_altitude_ft=self._height_ft,
            ground_speed_kt=math.hypot(east_kt, north_kt),
            track_true_deg=self._station.as_true(track_mag_deg),
            heading_mag_deg=aircraft.heading_mag_deg if has_heading else None,
            airspeed_kt=aircraft.tas_kt if has_heading else None,
            is_airborne=True,
        )

    def _error_m(self) -> tuple[float, float]:
        """One error in each direction: most of it wanders, a part is new."""
        noise_m = self._conditions.noise_m
        kept = math.exp(-self._conditions.every_s / WANDERS_OVER_S)
        fresh = noise_m * math.sqrt(1.0 - kept**2)
        self._wandering_m = [kept * error + self._random.gauss(0.0, fresh) for error in self._wandering_m]
        east_m, north_m = (
            error + self._random.gauss(0.0, WHITE_SHARE * noise_m) for error in self._wandering_m
        )
        return east_m, north_m
