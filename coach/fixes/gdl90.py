"""GDL 90 bytes to fixes: one fix for each ownship report.

The heartbeat before it gives the second of the day and says whether the position is valid at all; the latest
geometric altitude goes with it. Never reads a clock, never gives a fix from a traffic report. Positions come
in steps of 2.4 m, tracks of 1.4 degrees (G10, G16): smooth before judging a heading by them.
"""

from __future__ import annotations

from typing import TypeVar

from coach.fixes.fix import Fix
from coach.fixes.gdl90_frames import FrameCutter, decode_frame
from coach.fixes.gdl90_messages import (
    GEO_ALTITUDE,
    HEADING_MAG,
    HEADING_TRUE,
    HEARTBEAT,
    MESSAGE_BYTES,
    OWNSHIP,
    TRACK_TRUE,
    TRAFFIC,
    GeoAltitude,
    Heartbeat,
    TrafficReport,
    decode_geo_altitude,
    decode_heartbeat,
    decode_report,
)
from coach.fixes.tally import Rejected, Tally

HOLD_S = 2.5
"""How long a heartbeat and a geometric altitude are believed; both come once a second. Our own choice."""

BAD_ID = "identity above 127"
BAD_LENGTH = "wrong length"
NOT_VALID = "marked not valid"
NO_POSITION = "no position"

KINDS = {HEARTBEAT: "heartbeat", OWNSHIP: "ownship", GEO_ALTITUDE: "geometric altitude", TRAFFIC: "traffic"}


T = TypeVar("T")


class Gdl90Decoder:
    """Takes bytes in any division; gives the same fixes and refusals."""

    def __init__(self) -> None:
        self.tally = Tally()
        self._cutter = FrameCutter()
        self._heartbeat: tuple[float, Heartbeat] | None = None
        self._geo_altitude: tuple[float, GeoAltitude] | None = None

    def feed(self, data: bytes, at_s: float) -> tuple[Fix | Rejected, ...]:
        """Take bytes that arrived at `at_s` (session clock); return what they completed, in order."""
        self.tally.n_bytes += len(data)
        return tuple(found for frame in self._cutter.cut(data) if (found := self._read(*frame, at_s)))

    def flush(self) -> tuple[Fix | Rejected, ...]:
        """The feed has paused: nothing is ever held back here."""
        return ()

    def _read(self, framed: bytes, problem: str | None, at_s: float) -> Fix | Rejected | None:
        message = problem or decode_frame(framed)
        found = message if isinstance(message, str) else self._take(message, at_s)
        return self.tally.reject(found, framed, at_s) if isinstance(found, str) else found

    def _take(self, message: bytes, at_s: float) -> Fix | str | None:
        """Take one message; return a fix, why it is refused, or None."""
        identity = message[0]
        if identity > 127:
            return BAD_ID
        if len(message) != MESSAGE_BYTES.get(identity, len(message)):
            return BAD_LENGTH
        self.tally.count(KINDS.get(identity, f"message {identity}"))
        if identity == OWNSHIP:
            return self._fix(decode_report(message), at_s)
        if identity == HEARTBEAT:
            self._heartbeat = (at_s, decode_heartbeat(message))
        elif identity == GEO_ALTITUDE:
            self._geo_altitude = (at_s, decode_geo_altitude(message))
        return None

    def _fix(self, report: TrafficReport, at_s: float) -> Fix | str:
        heartbeat = _held(self._heartbeat, at_s)
        if heartbeat is not None and not heartbeat.is_gps_valid:
            return NOT_VALID
        if abs(report.lat_deg) > 90.0 or (report.lat_deg == 0.0 and report.lon_deg == 0.0):
            return NO_POSITION
        self.tally.fixes += 1
        geo_altitude = _held(self._geo_altitude, at_s)
        utc_of_day_s = None
        if heartbeat is not None and heartbeat.is_utc_valid and heartbeat.utc_of_day_s < 86_401:
            utc_of_day_s = float(heartbeat.utc_of_day_s)
        return Fix(
            at_s=at_s,
            source="gdl90",
            lat_deg=report.lat_deg,
            lon_deg=report.lon_deg,
            utc_of_day_s=utc_of_day_s,
            pressure_altitude_ft=_as_float(report.pressure_altitude_ft),
            geo_altitude_ft=None if geo_altitude is None else float(geo_altitude.altitude_ft),
            vertical_speed_ft_min=_as_float(report.vertical_ft_min),
            ground_speed_kt=_as_float(report.speed_kt),
            track_true_deg=_direction(report, TRACK_TRUE),
            heading_mag_deg=_direction(report, HEADING_MAG),
            heading_true_deg=_direction(report, HEADING_TRUE),
            nic=report.nic,
            nac_p=report.nac_p,
            is_airborne=report.is_airborne,
        )


def _held(dated: tuple[float, T] | None, at_s: float) -> T | None:
    return dated[1] if dated is not None and at_s - dated[0] <= HOLD_S else None


def _direction(report: TrafficReport, kind: int) -> float | None:
    return report.direction_deg if report.direction_is == kind else None


def _as_float(value: int | None) -> float | None:
    return None if value is None else float(value)
