"""IGC to a track: the B records with a valid fix, taken apart by aerofiles line by line.

Never gives up a flight for a broken line: it costs itself and is told. Fixes marked V (no satellite fix, or
in two dimensions only) are left out. The date stands in the header; after midnight it goes on."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
from aerofiles.igc.reader import LowLevelReader

from coach.errors import Problem, TrackError
from coach.fixes.nmea_fields import FT_PER_M
from coach.fixes.track import Track
from coach.fixes.track_cleaning import MAX_FIXES, clean_track

DAY_S = 86_400.0
HALF_DAY_S = 43_200.0
LONGEST_LINE = 512
"""IGC lines have 76 characters and a few more; a longer one is not read."""


def decode_igc(content: bytes, *, name: str) -> Track:
    """Return the track of an IGC file; `name` is for errors. Raises `TrackError`."""
    reading = _Reading()
    for n, line in enumerate(content.decode("latin-1").splitlines(), start=1):
        reading.take(line, n)
        if len(reading.rows) > MAX_FIXES:
            raise TrackError(Problem(where=f"{name}:{n}", expected=f"at most {MAX_FIXES} fixes", got="more"))
    rows = np.array(reading.rows, dtype=np.float64).reshape(-1, 5)
    lines, seconds, lat, lon, pressure_m = np.ascontiguousarray(rows.T)
    midnight_s = 0.0 if reading.day is None else (reading.day - date(1970, 1, 1)).days * DAY_S
    return clean_track(
        "igc",
        name=name,
        lines=lines.astype(np.int64),
        posix_s=midnight_s + seconds,
        lat_deg=lat,
        lon_deg=lon,
        has_date=reading.day is not None,
        notes=reading.tell(),
        given={
            "pressure_altitude_ft": pressure_m * FT_PER_M,
            "geo_altitude_ft": np.array(reading.geo_m, dtype=np.float64) * FT_PER_M,
        },
    )


class _Reading:
    """One file while its lines are taken."""

    def __init__(self) -> None:
        self.rows: list[tuple[float, float, float, float, float]] = []
        """Line, seconds since the first midnight, latitude, longitude, pressure altitude in metres."""

        self.geo_m: list[float] = []
        self.day: date | None = None
        self._days = 0
        self._last_s: float | None = None
        self._broken: list[int] = []
        self._invalid = 0

    def take(self, line: str, n: int) -> None:
        if line.startswith("HFDTE") and self.day is None:
            self.day = _find_day(line)
        if not line.startswith("B"):
            return
        record = _parse_b(line)
        if record is None:
            self._broken.append(n)
        elif record["validity"] != "A":
            self._invalid += 1
        else:
            self._keep(record, n)

    def _keep(self, record: dict[str, Any], n: int) -> None:
        time = record["time"]
        of_day_s = time.hour * 3600.0 + time.minute * 60.0 + time.second
        if self._last_s is not None and of_day_s < self._last_s - HALF_DAY_S:
            self._days += 1
        self._last_s = of_day_s
        pressure_m = float(record["pressure_alt"])
        seconds = self._days * DAY_S + of_day_s
        # A logger without a pressure sensor writes zeros.
        self.rows.append((n, seconds, record["lat"], record["lon"], pressure_m or float("nan")))
        self.geo_m.append(float(record["gps_alt"]))

    def tell(self) -> tuple[str, ...]:
        notes = []
        if self._broken:
            notes.append(
                f"Broken B records left out: {len(self._broken)}, the first on line {self._broken[0]}."
            )
        if self._invalid:
            notes.append(f"Fixes marked as not valid left out: {self._invalid}.")
        if self.day is None:
            notes.append("The file names no date: times of day only.")
        return tuple(notes)


def _parse_b(line: str) -> dict[str, Any] | None:
    if len(line) > LONGEST_LINE or not line[1:7].isdigit():
        return None
    try:
        record: dict[str, Any] = LowLevelReader.decode_B_record(line)
    except (ValueError, IndexError, TypeError, KeyError):
        return None
    return record


def _find_day(line: str) -> date | None:
    """`HFDTE050822` or `HFDTEDATE:050822,01`; two digits of a year are 1980 to 2079."""
    digits = line[5:].removeprefix("DATE").lstrip(": ")[:6]
    if len(digits) != 6 or not (digits.isascii() and digits.isdigit()):
        return None
    day, month, year = (int(digits[i : i + 2]) for i in (0, 2, 4))
    try:
        return date(year + (1900 if year >= 80 else 2000), month, day)
    except ValueError:
        return None
