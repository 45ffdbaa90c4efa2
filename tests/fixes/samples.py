"""Fixes and published sentences that several tests use: an invented flight in mid-ocean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from coach.fixes.fix import Fix
from coach.fixes.nmea_encoder import encode_sentence

# Widely published examples, from memory; their checksums were computed (N9).
PUBLISHED_GGA = b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
PUBLISHED_RMC = b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"
PUBLISHED_VTG = b"$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48"
PUBLISHED_HDG = b"$HCHDG,101.1,,,7.1,W*3C"

BEGAN = datetime(2031, 5, 4, 9, 30, tzinfo=UTC)
START = Fix(
    at_s=0.0,
    lat_deg=-33.0,
    lon_deg=-12.0,
    source="nmea",
    utc=BEGAN,
    utc_of_day_s=34_200.0,
    altitude_ft=3000.0,
    ground_speed_kt=90.0,
    track_true_deg=360.0,
    n_satellites=9,
    hdop=0.9,
)
NM_DEG = 1 / 60
"""Degrees of latitude in a nautical mile, near enough for a straight flight north."""


def flight(count: int, every_s: float = 1.0, start: Fix = START) -> Iterator[Fix]:
    """Yield fixes of a straight flight north at 90 kt."""
    for n in range(count):
        after_s = n * every_s
        yield replace(
            start,
            at_s=start.at_s + after_s,
            lat_deg=start.lat_deg + after_s * 90.0 / 3600 * NM_DEG,
            utc=None if start.utc is None else start.utc + timedelta(seconds=after_s),
            utc_of_day_s=None if start.utc_of_day_s is None else start.utc_of_day_s + after_s,
        )


def sentence(body: str) -> bytes:
    """Return a whole sentence with its checksum, without its line end."""
    return encode_sentence(body)[:-2]
