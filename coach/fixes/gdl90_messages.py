"""GDL 90 messages: heartbeat, ownship and traffic report, geometric altitude; bytes to values and back.

Source: GDL 90 Data Interface Specification 560-1058-00 Rev A, 3.1, 3.4, 3.5, 3.8 (G5-G15). Never frames and
never checks: `gdl90_frames` does. What a message marks as not available is None.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coach.nav.angles import wrap_deg

HEARTBEAT, OWNSHIP, GEO_ALTITUDE, TRAFFIC = 0, 10, 11, 20
MESSAGE_BYTES = {HEARTBEAT: 7, OWNSHIP: 28, GEO_ALTITUDE: 5, TRAFFIC: 28}

DEGREES_A_STEP = 180.0 / 2**23
TRACK_STEP_DEG = 360.0 / 256
ALTITUDE_STEP_FT, LOWEST_FT, NO_ALTITUDE = 25, -1000, 0xFFF
NO_SPEED, MAX_SPEED_KT = 0xFFF, 0xFFE
VERTICAL_STEP_FT_MIN, NO_VERTICAL, MAX_VERTICAL_STEPS = 64, 0x800, 0x1FE
GEO_STEP_FT = 5
NO_VFOM = 0x7FFF

TRACK_TRUE, HEADING_MAG, HEADING_TRUE = 1, 2, 3
"""What the direction is, the two low bits of `m` (ICD Table 9); 0: not valid."""

_AIRBORNE, _EXTRAPOLATED = 8, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Heartbeat:
    """Message 0, once a second at the start of the UTC second."""

    is_gps_valid: bool
    is_utc_valid: bool
    utc_of_day_s: int
    """Seconds since 0000Z, 0 to 131,071 as the field allows."""

    is_initialised: bool = True
    is_csa_requested: bool = False
    """Conflict situational awareness asked for; it changes nothing here."""

    n_uplink: int = 0
    """Uplink messages received in the last second, 0 to 31."""

    n_basic_and_long: int = 0
    """Basic and long messages received in the last second, 0 to 1,023."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrafficReport:
    """Messages 10 and 20: where an aircraft is."""

    lat_deg: float
    """-90 to 90 in steps of 2.1e-5."""

    lon_deg: float
    """-180 to 180 in steps of 2.1e-5."""

    pressure_altitude_ft: int | None = None
    """-1,000 to 101,350 in steps of 25."""

    speed_kt: int | None = None
    """Over the ground, 0 to 4,094."""

    vertical_ft_min: int | None = None
    """In steps of 64."""

    direction_deg: float | None = None
    """Above 0 up to 360 in steps of 1.4; `direction_is` says of what."""

    direction_is: int = 0
    """`TRACK_TRUE`, `HEADING_MAG`, `HEADING_TRUE`, or 0: not valid."""

    is_airborne: bool = False
    is_extrapolated: bool = False
    nic: int = 0
    nac_p: int = 0
    call_sign: str = ""
    """Up to 8 characters."""

    address: int = 0
    """24 bits."""

    address_type: int = 0
    alert: int = 0
    emitter: int = 0
    priority: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class GeoAltitude:
    """Message 11: height above the WGS-84 ellipsoid."""

    altitude_ft: int
    """In steps of 5."""

    vfom_m: int | None = None
    """Vertical figure of merit; None: not available."""

    is_warning: bool = False


def decode_heartbeat(message: bytes) -> Heartbeat:
    """Return what a heartbeat says; `message` has 7 bytes."""
    status1, status2, low, high, count1, count2 = message[1:7]
    return Heartbeat(
        is_gps_valid=bool(status1 & 0x80),
        is_utc_valid=bool(status2 & 0x01),
        utc_of_day_s=(status2 >> 7) << 16 | high << 8 | low,
        is_initialised=bool(status1 & 0x01),
        is_csa_requested=bool(status2 & 0x40),
        n_uplink=count1 >> 3,
        n_basic_and_long=(count1 & 0x03) << 8 | count2,
    )


def encode_heartbeat(heartbeat: Heartbeat) -> bytes:
    """Return the 7 bytes of a heartbeat."""
    time_s = heartbeat.utc_of_day_s
    return bytes(
        (
            HEARTBEAT,
            heartbeat.is_gps_valid << 7 | heartbeat.is_initialised,
            (time_s >> 16 & 1) << 7 | heartbeat.is_csa_requested << 6 | heartbeat.is_utc_valid,
            time_s & 0xFF,
            time_s >> 8 & 0xFF,
            heartbeat.n_uplink << 3 | heartbeat.n_basic_and_long >> 8,
            heartbeat.n_basic_and_long & 0xFF,
        )
    )


def decode_report(message: bytes) -> TrafficReport:
    """Return what an ownship or traffic report says; `message` has 28 bytes. Latitudes may be beyond 90."""
    altitude = message[11] << 4 | message[12] >> 4
    speed = message[14] << 4 | message[15] >> 4
    vertical = (message[15] & 0x0F) << 8 | message[16]
    m = message[12] & 0x0F
    return TrafficReport(
        lat_deg=int.from_bytes(message[5:8], "big", signed=True) * DEGREES_A_STEP,
        lon_deg=int.from_bytes(message[8:11], "big", signed=True) * DEGREES_A_STEP,
        pressure_altitude_ft=None if altitude == NO_ALTITUDE else altitude * ALTITUDE_STEP_FT + LOWEST_FT,
        speed_kt=None if speed == NO_SPEED else speed,
        vertical_ft_min=_decode_vertical(vertical),
        direction_deg=wrap_deg(message[17] * TRACK_STEP_DEG) if m & 3 else None,
        direction_is=m & 3,
        is_airborne=bool(m & _AIRBORNE),
        is_extrapolated=bool(m & _EXTRAPOLATED),
        nic=message[13] >> 4,
        nac_p=message[13] & 0x0F,
        call_sign=message[19:27].decode("ascii", errors="replace").rstrip(),
        address=int.from_bytes(message[2:5], "big"),
        address_type=message[1] & 0x0F,
        alert=message[1] >> 4,
        emitter=message[18],
        priority=message[27] >> 4,
    )


def _decode_vertical(steps: int) -> int | None:
    if steps == NO_VERTICAL:
        return None
    return (steps - 0x1000 if steps >= 0x800 else steps) * VERTICAL_STEP_FT_MIN


def encode_report(report: TrafficReport, *, message_id: int = OWNSHIP) -> bytes:
    """Return the 28 bytes of a report, every value rounded to its step and held in its range."""
    altitude, speed = _altitude_steps(report.pressure_altitude_ft), _speed_steps(report.speed_kt)
    vertical = _vertical_steps(report.vertical_ft_min)
    direction = round((report.direction_deg or 0.0) / TRACK_STEP_DEG) & 0xFF
    kind = report.direction_is if report.direction_deg is not None else 0
    m = report.is_airborne * _AIRBORNE | report.is_extrapolated * _EXTRAPOLATED | kind
    return (
        bytes((message_id, report.alert << 4 | report.address_type))
        + report.address.to_bytes(3, "big")
        + _angle_bytes(report.lat_deg)
        + _angle_bytes(report.lon_deg)
        + bytes((altitude >> 4, (altitude & 0x0F) << 4 | m, report.nic << 4 | report.nac_p))
        + bytes((speed >> 4, (speed & 0x0F) << 4 | vertical >> 8, vertical & 0xFF, direction, report.emitter))
        + report.call_sign.encode("ascii")[:8].ljust(8)
        + bytes((report.priority << 4,))
    )


def _angle_bytes(angle_deg: float) -> bytes:
    steps = round(angle_deg / DEGREES_A_STEP)
    return (steps & 0xFFFFFF).to_bytes(3, "big")


def _altitude_steps(altitude_ft: float | None) -> int:
    if altitude_ft is None:
        return NO_ALTITUDE
    return max(0, min(NO_ALTITUDE - 1, round((altitude_ft - LOWEST_FT) / ALTITUDE_STEP_FT)))


def _speed_steps(speed_kt: float | None) -> int:
    return NO_SPEED if speed_kt is None else max(0, min(MAX_SPEED_KT, round(speed_kt)))


def _vertical_steps(vertical_ft_min: float | None) -> int:
    if vertical_ft_min is None or not math.isfinite(vertical_ft_min):
        return NO_VERTICAL
    steps = round(vertical_ft_min / VERTICAL_STEP_FT_MIN)
    return max(-MAX_VERTICAL_STEPS, min(MAX_VERTICAL_STEPS, steps)) & 0xFFF


def decode_geo_altitude(message: bytes) -> GeoAltitude:
    """Return what a geometric altitude says; `message` has 5 bytes."""
    merit = int.from_bytes(message[3:5], "big")
    vfom = merit & NO_VFOM
    return GeoAltitude(
        altitude_ft=int.from_bytes(message[1:3], "big", signed=True) * GEO_STEP_FT,
        vfom_m=None if vfom == NO_VFOM else vfom,
        is_warning=bool(merit & 0x8000),
    )


def encode_geo_altitude(altitude: GeoAltitude) -> bytes:
    """Return the 5 bytes of a geometric altitude."""
    steps = max(-0x8000, min(0x7FFF, round(altitude.altitude_ft / GEO_STEP_FT)))
    merit = (NO_VFOM if altitude.vfom_m is None else altitude.vfom_m) | altitude.is_warning << 15
    return bytes((GEO_ALTITUDE,)) + steps.to_bytes(2, "big", signed=True) + merit.to_bytes(2, "big")
