"""Fixes to NMEA 0183, as a receiver on board would send them; what a fix lacks is an empty field.

For the simulated aircraft and for tests. Never invents a value. Field tables: N3-N8.
"""

from __future__ import annotations

from operator import xor

from coach.fixes.fix import Fix
from coach.fixes.nmea_fields import FT_PER_M, KT_PER_KMH

MINUTES_DECIMALS = 5
"""Hundred-thousandths of a minute: 19 mm."""


def encode_nmea(fix: Fix, *, talker: str = "GP") -> bytes:
    """Return RMC and GGA, then heading, airspeed and wind where the fix has them, each with its line end."""
    sentences = [encode_rmc(fix, talker=talker), encode_gga(fix, talker=talker)]
    if fix.heading_mag_deg is not None:
        sentences.append(encode_hdg(fix.heading_mag_deg, fix.variation_deg))
    if fix.heading_true_deg is not None:
        sentences.append(encode_hdt(fix.heading_true_deg))
    if fix.airspeed_kt is not None:
        sentences.append(encode_vhw(fix.heading_true_deg, fix.heading_mag_deg, fix.airspeed_kt))
    if fix.wind_angle_deg is not None and fix.wind_speed_kt is not None:
        is_true = fix.wind_reference == "true"
        sentences.append(encode_mwv(fix.wind_angle_deg, fix.wind_speed_kt, is_true=is_true))
    return b"".join(sentences)


def encode_sentence(body: str) -> bytes:
    """Return `$`, the body, its checksum (the exclusive or of its characters, N2) and the line end."""
    checksum = 0
    for character in body.encode("ascii"):
        checksum = xor(checksum, character)
    return f"${body}*{checksum:02X}\r\n".encode("ascii")


def encode_rmc(fix: Fix, *, talker: str = "GP") -> bytes:
    """Return RMC with its mode, marked valid."""
    date = "" if fix.utc is None else f"{fix.utc:%d%m%y}"
    fields = (
        _time(fix),
        "A",
        *_position(fix),
        _decimal(fix.ground_speed_kt, "05.1f"),
        _direction(fix.track_true_deg),
        date,
        *_side(fix.variation_deg, "05.1f", "EW"),
        "A",
    )
    return encode_sentence(f"{talker}RMC,{','.join(fields)}")


def encode_gga(fix: Fix, *, talker: str = "GP") -> bytes:
    """Return GGA, quality 1; altitude above mean sea level in metres."""
    altitude_m = None if fix.altitude_ft is None else fix.altitude_ft / FT_PER_M
    geoid_m = None
    if fix.altitude_ft is not None and fix.geo_altitude_ft is not None:
        geoid_m = (fix.geo_altitude_ft - fix.altitude_ft) / FT_PER_M
    satellites = "" if fix.n_satellites is None else f"{fix.n_satellites:02d}"
    fields = (
        _time(fix),
        *_position(fix),
        "1",
        satellites,
        _decimal(fix.hdop, ".1f"),
        _decimal(altitude_m, ".2f"),
        "M",
        _decimal(geoid_m, ".1f"),
        "M",
        "",
        "",
    )
    return encode_sentence(f"{talker}GGA,{','.join(fields)}")


def encode_vtg(
    track_true_deg: float | None, track_mag_deg: float | None, ground_speed_kt: float | None
) -> bytes:
    """Return VTG: track and speed over the ground."""
    tracks = f"{_direction(track_true_deg)},T,{_direction(track_mag_deg)},M"
    return encode_sentence(f"GPVTG,{tracks},{_speeds(ground_speed_kt, '05.1f')}")


def encode_hdg(sensor_mag_deg: float, variation_deg: float | None = None) -> bytes:
    """Return HDG: magnetic heading, no deviation, variation east positive."""
    fields = (_direction(sensor_mag_deg), "", "", *_side(variation_deg, ".1f", "EW"))
    return encode_sentence(f"HCHDG,{','.join(fields)}")


def encode_hdt(heading_true_deg: float) -> bytes:
    """Return HDT: true heading."""
    return encode_sentence(f"HEHDT,{_direction(heading_true_deg)},T")


def encode_vhw(
    heading_true_deg: float | None, heading_mag_deg: float | None, airspeed_kt: float | None
) -> bytes:
    """Return VHW: headings and the speed through the air."""
    headings = f"{_direction(heading_true_deg)},T,{_direction(heading_mag_deg)},M"
    return encode_sentence(f"IIVHW,{headings},{_speeds(airspeed_kt, '06.2f')}")


def encode_mwv(angle_deg: float, speed_kt: float, *, is_true: bool = False) -> bytes:
    """Return MWV: where the wind comes from, clockwise from the nose, in knots."""
    reference = "T" if is_true else "R"
    return encode_sentence(f"WIMWV,{angle_deg:05.1f},{reference},{speed_kt:05.1f},N,A")


def _time(fix: Fix) -> str:
    """Return hhmmss.ss of the fix's own instant; hundredths, rounded down so that no second has sixty."""
    if fix.of_day_s is None:
        return ""
    hundredths = int(fix.of_day_s * 100.0 + 1e-6)
    minutes, rest = divmod(hundredths, 6000)
    return f"{minutes // 60:02d}{minutes % 60:02d}{rest // 100:02d}.{rest % 100:02d}"


def _position(fix: Fix) -> tuple[str, str, str, str]:
    north = "N" if fix.lat_deg >= 0.0 else "S"
    east = "E" if fix.lon_deg >= 0.0 else "W"
    return _degrees(fix.lat_deg, 2), north, _degrees(fix.lon_deg, 3), east


def _degrees(angle_deg: float, digits: int) -> str:
    """Return degrees and minutes; rounded as a whole, so that no minute has sixty."""
    scale = 10**MINUTES_DECIMALS
    degrees, rest = divmod(round(abs(angle_deg) * 60 * scale), 60 * scale)
    return f"{degrees:0{digits}d}{rest // scale:02d}.{rest % scale:0{MINUTES_DECIMALS}d}"


def _decimal(value: float | None, form: str) -> str:
    return "" if value is None else format(value, form)


def _speeds(speed_kt: float | None, form: str) -> str:
    """Return a speed in knots and in kilometres an hour, as VTG and VHW have it."""
    kmh = None if speed_kt is None else speed_kt / KT_PER_KMH
    return f"{_decimal(speed_kt, form)},N,{_decimal(kmh, form)},K"


def _direction(angle_deg: float | None) -> str:
    """Return a direction as 000.1 to 360.0."""
    if angle_deg is None:
        return ""
    return f"{round(angle_deg % 360.0, 1) or 360.0:05.1f}"


def _side(value: float | None, form: str, letters: str) -> tuple[str, str]:
    if value is None:
        return "", ""
    return format(abs(value), form), letters[0] if value >= 0.0 else letters[1]
