"""One flight of a few fixes in each form of file, for the decoders and their mutations."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.nmea_encoder import encode_nmea
from tests.fixes.samples import flight

BEGAN = datetime(2026, 3, 14, 9, 26, 50, tzinfo=UTC)
N = 12


def fixes() -> list[tuple[str, float, float]]:
    """Time, latitude and longitude, one a second, going north-east in mid-ocean."""
    return [
        (f"{BEGAN + timedelta(seconds=i):%Y-%m-%dT%H:%M:%SZ}", -40.0 + 0.0003 * i, -110.0 + 0.0004 * i)
        for i in range(N)
    ]


def gpx(points: str | None = None) -> bytes:
    body = (
        points
        if points is not None
        else "\n".join(
            f'<trkpt lat="{lat:.6f}" lon="{lon:.6f}"><ele>610.0</ele><time>{time}</time></trkpt>'
            for time, lat, lon in fixes()
        )
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="nobody" xmlns="http://www.topografix.com/GPX/1/1">\n'
        f"<trk><trkseg>\n{body}\n</trkseg></trk></gpx>\n"
    ).encode()


def csv() -> bytes:
    rows = "".join(f"{time},{lat:.6f},{lon:.6f},2000,90,45.5\n" for time, lat, lon in fixes())
    return f"time_utc,lat,lon,altitude_ft,groundspeed_kt,track_true_deg\n{rows}".encode()


def _minutes(angle_deg: float, width: int, sides: str) -> str:
    whole, rest = divmod(round(abs(angle_deg) * 60_000), 60_000)
    return f"{whole:0{width}d}{rest:05d}{sides[0] if angle_deg >= 0 else sides[1]}"


def igc() -> bytes:
    rows = "".join(
        f"B{time[11:13]}{time[14:16]}{time[17:19]}"
        f"{_minutes(lat, 2, 'NS')}{_minutes(lon, 3, 'EW')}A0061000650\r\n"
        for time, lat, lon in fixes()
    )
    return f"AXXXABC\r\nHFDTE140326\r\n{rows}".encode()


def nmea() -> bytes:
    return b"".join(map(encode_nmea, flight(N)))


def gdl90() -> bytes:
    return b"".join(map(encode_gdl90, flight(N)))


FILES = {"gpx": gpx(), "csv": csv(), "igc": igc(), "nmea": nmea(), "gdl90": gdl90()}
