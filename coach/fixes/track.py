"""A flown track: positions in order of time and what came with them, one array a quantity.

Never guesses: what a file did not give is None, where it gave it only now and then the holes are NaN. A gap
stays a gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Form = Literal["gpx", "igc", "csv", "nmea", "gdl90", "session"]
"""What a track was read from; `session`: the feed that a journal holds."""

Numbers = NDArray[np.float64]
"""One value a fix."""

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

QUANTITIES = (
    "altitude_ft",
    "pressure_altitude_ft",
    "geo_altitude_ft",
    "ground_speed_kt",
    "track_true_deg",
    "heading_true_deg",
    "heading_mag_deg",
    "airspeed_kt",
)
"""What may come with a position: the names of `coach.fixes.fix.Fix`."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """Fixes of one flight (or one day), every array of one length, times strictly increasing."""

    form: Form
    began_utc: datetime
    """The first fix's own instant, aware, UTC. Without a date (`has_date`) its day means nothing."""

    has_date: bool
    """False: the file gives the time of day only (GDL 90; NMEA without RMC)."""

    time_s: Numbers
    """Seconds since `began_utc`; the first is 0."""

    lat_deg: Numbers
    """WGS-84, -90 to 90, north positive."""

    lon_deg: Numbers
    """WGS-84, -180 to 180, east positive."""

    altitude_ft: Numbers | None = None
    """As the file has it: above mean sea level by a receiver's geoid, or not told. Not by an altimeter."""

    pressure_altitude_ft: Numbers | None = None
    """Above the 29.92 inHg level."""

    geo_altitude_ft: Numbers | None = None
    """Above the WGS-84 ellipsoid."""

    ground_speed_kt: Numbers | None = None
    track_true_deg: Numbers | None = None
    """Over the ground as the feed measured it; never worked out from positions here."""

    heading_true_deg: Numbers | None = None
    heading_mag_deg: Numbers | None = None
    airspeed_kt: Numbers | None = None
    notes: tuple[str, ...] = ()
    """What was left out or put right on reading, and the longest gap: one sentence each, for people."""

    def __len__(self) -> int:
        return len(self.time_s)

    def utc(self, at_s: float) -> datetime:
        """Return the instant `at_s` seconds after the first fix."""
        return self.began_utc + timedelta(seconds=float(at_s))

    def render_utc(self, at_s: float) -> str:
        """Return an instant as `2018-01-12T09:39:30.5Z`; without a date only the time."""
        return render_instant(self.began_utc, at_s, has_date=self.has_date)


def render_instant(began_utc: datetime, at_s: float, *, has_date: bool) -> str:
    """Return `at_s` seconds after an instant, to the tenth of a second; without a date only the time."""
    at = began_utc + timedelta(seconds=float(at_s), milliseconds=50)
    clock = f"{at:%H:%M:%S}.{at.microsecond // 100_000}Z"
    return f"{at:%Y-%m-%d}T{clock}" if has_date else clock
