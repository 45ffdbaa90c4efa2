"""What one NMEA 0183 sentence says: RMC, GGA, VTG, HDG, HDM, HDT, VHW and MWV, read strictly.

`pynmea2` takes the sentence apart and checks its checksum; the fields are read here, because there a missing
position is 0.0 and a broken number stays text. Never fills in what is missing, never reads half a sentence:
one bad field and all of it is refused. Field tables: N3-N8 (Betke, "The NMEA 0183 Protocol"; pynmea2).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pynmea2

from coach.fixes.nmea_fields import (
    CHECKSUM,
    FT_PER_M,
    KT_PER_KMH,
    KT_PER_M_S,
    MALFORMED,
    MAX_ALTITUDE_M,
    MAX_SPEED_KT,
    NOT_VALID,
    BadSentenceError,
    check_unit,
    parse_angle,
    parse_direction,
    parse_measure,
    parse_midnight,
    parse_number,
    parse_position,
    parse_signed,
    parse_time_s,
    parse_whole,
)
from coach.nav.angles import wrap_deg

VALID_MODES = frozenset("ADFPRS")
"""Autonomous, differential, float RTK, precise, RTK, simulator. Not E (dead reckoning), M (typed in), N."""

VALID_QUALITIES = frozenset("123458")
"""The same as numbers of GGA; 8 is a simulator. Not 6 (dead reckoning), 7 (typed in), 0 (none)."""

USABLE_STATUSES = frozenset(("S", "C", "V", ""))
"""Navigational status of RMC since version 4.1: safe, caution, and V, "no such status": receivers without one
send it with every good fix (the u-blox M9N does; pynmea2 calls such a sentence not valid). Not U, unsafe."""


@dataclass(slots=True)
class Report:
    """What a sentence says, under the names of a fix."""

    kind: str
    """Three letters, such as `RMC`."""

    sender: str
    """Talker and kind, such as `GNRMC`."""

    values: dict[str, Any]
    """Only what was given."""

    time_s: float | None = None
    """Seconds since 0000Z; None in sentences without a time."""

    midnight: datetime | None = None
    """0000Z of the sentence's date, where it has one."""

    problem: str | None = None
    """Why there is no position in it; its instant has begun all the same."""

    is_blocking: bool = False
    """The receiver as a whole has no fix: what its other sentences say of this instant counts for nothing."""


def parse_sentence(text: str) -> Report | str:
    """Return what a sentence says, or only its sender where it is whole but not one of ours.

    `text`: from `$` to the digits of the checksum. Raises `BadSentenceError`.
    """
    kind = text[3:6]
    reader = READERS.get(kind)
    if reader is None or text[6:7] != "," or text[1] == "P" or text[0] != "$":
        _check_checksum(text)
        return sender_of(text)
    try:
        sentence = pynmea2.parse(text, check=True)
    except pynmea2.ChecksumError as error:
        raise BadSentenceError(CHECKSUM) from error
    except pynmea2.ParseError as error:
        raise BadSentenceError(MALFORMED) from error
    if len(sentence.data) not in COUNTS[kind]:
        raise BadSentenceError(f"{kind} with another number of fields")
    return reader(text[1:6], sentence.data)


def sender_of(text: str) -> str:
    """Return the address of a sentence, as it is counted."""
    return text[1:].split(",", 1)[0].split("*", 1)[0][:8]


def _check_checksum(text: str) -> None:
    body, _, digits = text[1:].partition("*")
    if f"{pynmea2.NMEASentence.checksum(body):02X}" != digits.upper():
        raise BadSentenceError(CHECKSUM)


def _given(**values: Any) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def _read_rmc(sender: str, data: list[str]) -> Report:
    time_s = parse_time_s(data[0])
    if data[1] != "A" or not _is_usable(data):
        return Report("RMC", sender, {}, time_s, problem=NOT_VALID, is_blocking=True)
    values: dict[str, Any] = parse_position(data[2:6])
    if data[6]:
        values["ground_speed_kt"] = parse_number(data[6], 0.0, MAX_SPEED_KT)
    if data[7]:
        values["track_true_deg"] = parse_angle(data[7])
    if data[9]:
        values["variation_deg"] = parse_signed(data[9], data[10], "EW", 180.0)
    return Report("RMC", sender, values, time_s, parse_midnight(data[8]))


def _is_usable(data: list[str]) -> bool:
    """Whether what later versions add to RMC allows its use; what is not there does not forbid it."""
    return (len(data) < 12 or data[11] in VALID_MODES) and (len(data) < 13 or data[12] in USABLE_STATUSES)


def _read_gga(sender: str, data: list[str]) -> Report:
    time_s = parse_time_s(data[0])
    if data[5] not in VALID_QUALITIES:
        return Report("GGA", sender, {}, time_s, problem=NOT_VALID)
    check_unit(data[9], "M")
    check_unit(data[11], "M")
    altitude_m = parse_number(data[8], -MAX_ALTITUDE_M, MAX_ALTITUDE_M)
    geoid_m = parse_number(data[10], -MAX_ALTITUDE_M, MAX_ALTITUDE_M)
    values: dict[str, Any] = parse_position(data[1:5])
    if data[6]:
        values["n_satellites"] = parse_whole(data[6], 999)
    if data[7]:
        values["hdop"] = parse_number(data[7], 0.0, 1e4)
    if altitude_m is not None:
        values["altitude_ft"] = altitude_m * FT_PER_M
    if altitude_m is not None and geoid_m is not None:
        values["geo_altitude_ft"] = (altitude_m + geoid_m) * FT_PER_M
    return Report("GGA", sender, values, time_s)


def _read_vtg(sender: str, data: list[str]) -> Report:
    if len(data) > 8 and data[8] not in VALID_MODES:
        raise BadSentenceError(NOT_VALID)
    parse_direction(data[2], data[3], "M")
    values = _given(
        track_true_deg=parse_direction(data[0], data[1], "T"),
        ground_speed_kt=_speed_kt(data[4], data[5], data[6], data[7]),
    )
    return Report("VTG", sender, values)


def _speed_kt(knots: str, n: str, kmh: str, k: str) -> float | None:
    """Return the speed given in knots, else that in km/h."""
    speed_kt = parse_measure(knots, n, "N", MAX_SPEED_KT)
    speed_kmh = parse_measure(kmh, k, "K", MAX_SPEED_KT / KT_PER_KMH)
    if speed_kt is None and speed_kmh is not None:
        return speed_kmh * KT_PER_KMH
    return speed_kt


def _read_hdg(sender: str, data: list[str]) -> Report:
    sensor_deg = parse_angle(data[0])
    deviation_deg = parse_signed(data[1], data[2], "EW", 180.0)
    variation_deg = parse_signed(data[3], data[4], "EW", 180.0)
    heading_deg = None if sensor_deg is None else wrap_deg(sensor_deg + (deviation_deg or 0.0))
    return Report("HDG", sender, _given(heading_mag_deg=heading_deg, variation_deg=variation_deg))


def _read_hdm(sender: str, data: list[str]) -> Report:
    return Report("HDM", sender, _given(heading_mag_deg=parse_direction(data[0], data[1], "M")))


def _read_hdt(sender: str, data: list[str]) -> Report:
    return Report("HDT", sender, _given(heading_true_deg=parse_direction(data[0], data[1], "T")))


def _read_vhw(sender: str, data: list[str]) -> Report:
    values = _given(
        heading_true_deg=parse_direction(data[0], data[1], "T"),
        heading_mag_deg=parse_direction(data[2], data[3], "M"),
        airspeed_kt=_speed_kt(data[4], data[5], data[6], data[7]),
    )
    return Report("VHW", sender, values)


_WIND_UNITS = {"K": KT_PER_KMH, "M": KT_PER_M_S, "N": 1.0}
_WIND_REFERENCES = {"R": "relative", "T": "true"}


def _read_mwv(sender: str, data: list[str]) -> Report:
    if data[4] != "A":
        raise BadSentenceError(NOT_VALID)
    angle_deg, speed = parse_number(data[0], 0.0, 360.0), parse_number(data[2], 0.0, MAX_SPEED_KT)
    if angle_deg is None or speed is None:
        return Report("MWV", sender, {})
    if data[1] not in _WIND_REFERENCES or data[3] not in _WIND_UNITS:
        raise BadSentenceError(MALFORMED)
    values = {
        "wind_angle_deg": angle_deg % 360.0,
        "wind_speed_kt": speed * _WIND_UNITS[data[3]],
        "wind_reference": _WIND_REFERENCES[data[1]],
    }
    return Report("MWV", sender, values)


READERS: dict[str, Callable[[str, list[str]], Report]] = {
    "RMC": _read_rmc,
    "GGA": _read_gga,
    "VTG": _read_vtg,
    "HDG": _read_hdg,
    "HDM": _read_hdm,
    "HDT": _read_hdt,
    "VHW": _read_vhw,
    "MWV": _read_mwv,
}
"""The sentences that are read, by their three letters; all others are only counted."""

COUNTS: dict[str, tuple[int, ...]] = {
    "RMC": (11, 12, 13),
    "GGA": (14,),
    "VTG": (8, 9),
    "HDG": (5,),
    "HDM": (2,),
    "HDT": (2,),
    "VHW": (8,),
    "MWV": (5,),
}
"""How many fields each has, by the versions of the standard (N3-N8)."""
