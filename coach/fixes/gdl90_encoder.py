"""Fixes to GDL 90, as a receiver on board would send them: heartbeat, ownship report, geometric altitude.

For the simulated aircraft and for tests. Never invents a value: what a fix lacks is marked as not available.
"""

from __future__ import annotations

from coach.fixes.fix import Fix
from coach.fixes.gdl90_frames import encode_frame
from coach.fixes.gdl90_messages import (
    HEADING_MAG,
    HEADING_TRUE,
    TRACK_TRUE,
    GeoAltitude,
    Heartbeat,
    TrafficReport,
    encode_geo_altitude,
    encode_heartbeat,
    encode_report,
)

GOOD_NIC, GOOD_NAC_P = 10, 10
"""Containment below 25 m, accuracy below 10 m (ICD Table 10): what a fix without categories is sent with."""


def encode_gdl90(fix: Fix) -> bytes:
    """Return the three messages in their frames; without a geometric altitude, two."""
    messages = [encode_heartbeat(_heartbeat(fix)), encode_report(_report(fix))]
    if fix.geo_altitude_ft is not None:
        messages.append(encode_geo_altitude(GeoAltitude(altitude_ft=round(fix.geo_altitude_ft))))
    return b"".join(map(encode_frame, messages))


def _heartbeat(fix: Fix) -> Heartbeat:
    of_day_s = fix.of_day_s
    return Heartbeat(
        is_gps_valid=True,
        is_utc_valid=of_day_s is not None,
        utc_of_day_s=0 if of_day_s is None else int(of_day_s),
    )


def _report(fix: Fix) -> TrafficReport:
    direction_deg, direction_is = _direction(fix)
    return TrafficReport(
        lat_deg=fix.lat_deg,
        lon_deg=fix.lon_deg,
        pressure_altitude_ft=_whole(fix.pressure_altitude_ft),
        speed_kt=_whole(fix.ground_speed_kt),
        vertical_ft_min=_whole(fix.vertical_speed_ft_min),
        direction_deg=direction_deg,
        direction_is=direction_is,
        is_airborne=fix.is_airborne is not False,
        nic=GOOD_NIC if fix.nic is None else fix.nic,
        nac_p=GOOD_NAC_P if fix.nac_p is None else fix.nac_p,
    )


def _direction(fix: Fix) -> tuple[float | None, int]:
    """Return the one direction that a report has room for: the track before a heading."""
    for angle_deg, kind in (
        (fix.track_true_deg, TRACK_TRUE),
        (fix.heading_mag_deg, HEADING_MAG),
        (fix.heading_true_deg, HEADING_TRUE),
    ):
        if angle_deg is not None:
            return angle_deg, kind
    return None, 0


def _whole(value: float | None) -> int | None:
    return None if value is None else round(value)
