"""The fields of an NMEA 0183 sentence, read strictly: text to value, missing to None, anything else refused.

Never guesses: a number with an exponent, a side that is none, a minute of 60 are all `malformed`.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

from coach.nav.angles import wrap_deg
from coach.nav.units import FT_PER_NM

FT_PER_M = FT_PER_NM / 1852.0
KT_PER_KMH = 1 / 1.852
KT_PER_M_S = 3600.0 / 1852.0

CHECKSUM = "checksum"
NOT_ASCII = "not ASCII"
MALFORMED = "malformed"
NOT_VALID = "marked not valid"
NO_TIME = "no time"
NO_POSITION = "no position"

MAX_SPEED_KT = 2000.0
MAX_ALTITUDE_M = 40_000.0
"""Beyond these no aircraft of ours: a broken field. Our own choice."""

FIRST_YEAR = 1980
"""Two-digit years count from here: GPS time began in 1980."""

_OF_NUMBERS = "0123456789.-"
"""No exponent, no `nan`, no underscore: what `float` takes besides."""

_TIME = re.compile(r"(?:[01]\d|2[0-3])[0-5]\d(?:[0-5]\d(?:\.\d*)?|60(?:\.0*)?)", re.ASCII)
_POSITION = re.compile(
    r"(\d\d)([0-5]\d(?:\.\d*)?),([NS]),(\d\d\d)([0-5]\d(?:\.\d*)?),([EW])",
    re.ASCII,
)
_DATE = re.compile(r"(\d\d)(\d\d)(\d\d)", re.ASCII)


class BadSentenceError(Exception):
    """Why a sentence is refused; caught in this folder, never beyond it."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def parse_number(text: str, low: float, high: float) -> float | None:
    """Return a number in its range, None where nothing stands."""
    if not text:
        return None
    if text.strip(_OF_NUMBERS):
        raise BadSentenceError(MALFORMED)
    try:
        number = float(text)
    except ValueError as error:
        raise BadSentenceError(MALFORMED) from error
    if not low <= number <= high:
        raise BadSentenceError(MALFORMED)
    return number


def parse_whole(text: str, high: int) -> int | None:
    """Return a whole number from 0, None where nothing stands."""
    if not text:
        return None
    if not (text.isascii() and text.isdigit()) or int(text) > high:
        raise BadSentenceError(MALFORMED)
    return int(text)


def check_unit(text: str, unit: str) -> None:
    """A letter that stands beside a value: the right one, or none at all beside an empty field."""
    if text not in (unit, ""):
        raise BadSentenceError(MALFORMED)


def parse_measure(number: str, unit: str, letter: str, high: float) -> float | None:
    """Return a value 0 or more, its letter checked."""
    check_unit(unit, letter)
    return parse_number(number, 0.0, high)


def parse_angle(number: str) -> float | None:
    """Return a direction above 0 up to 360."""
    angle = parse_number(number, 0.0, 360.0)
    return None if angle is None else wrap_deg(angle)


def parse_direction(number: str, unit: str, letter: str) -> float | None:
    """Return a direction above 0 up to 360, its letter checked."""
    check_unit(unit, letter)
    return parse_angle(number)


def parse_signed(number: str, letter: str, letters: str, high: float) -> float | None:
    """Return a value whose sign is a letter: the first of `letters` is positive."""
    value = parse_number(number, 0.0, high)
    if value is None:
        return None
    if letter not in tuple(letters):
        raise BadSentenceError(MALFORMED)
    return value if letter == letters[0] else -value


def parse_time_s(text: str) -> float:
    """Return seconds since 0000Z; a leap second is one."""
    if not text:
        raise BadSentenceError(NO_TIME)
    if _TIME.fullmatch(text) is None:
        raise BadSentenceError(MALFORMED)
    return int(text[:2]) * 3600 + int(text[2:4]) * 60 + float(text[4:])


@lru_cache(maxsize=4)
def parse_midnight(text: str) -> datetime | None:
    """Return 0000Z of a date ddmmyy, None where nothing stands."""
    if not text:
        return None
    match = _DATE.fullmatch(text)
    if match is None:
        raise BadSentenceError(MALFORMED)
    day, month, year = map(int, match.groups())
    year += FIRST_YEAR - FIRST_YEAR % 100 + (100 if year < FIRST_YEAR % 100 else 0)
    try:
        return datetime(year, month, day, tzinfo=UTC)
    except ValueError as error:
        raise BadSentenceError(MALFORMED) from error


def parse_position(fields: list[str]) -> dict[str, Any]:
    """Return latitude and longitude of four fields. Exactly 0, 0 is what a receiver without a fix shows."""
    match = _POSITION.fullmatch(",".join(fields))
    if match is None:
        raise BadSentenceError(MALFORMED if any(fields) else NO_POSITION)
    lat, lat_minutes, north, lon, lon_minutes, east = match.groups()
    lat_deg = int(lat) + float(lat_minutes) / 60.0
    lon_deg = int(lon) + float(lon_minutes) / 60.0
    if lat_deg > 90.0 or lon_deg > 180.0:
        raise BadSentenceError(MALFORMED)
    if lat_deg == 0.0 and lon_deg == 0.0:
        raise BadSentenceError(NO_POSITION)
    return {"lat_deg": -lat_deg if north == "S" else lat_deg, "lon_deg": -lon_deg if east == "W" else lon_deg}
