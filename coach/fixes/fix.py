"""One position report, whatever it came from.

Never holds a guess: what the feed did not give is None, never 0. A report without a position is no fix.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

SCORABLE_NAC_P = 5
"""GDL 90: an accuracy category of 4 or less is degraded (ICD 560-1058-00 Rev A, Table 10)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """Where the aircraft was at one instant, and what else was reported with it."""

    at_s: float
    """Session clock, when its position had arrived; how long the sender took is not known."""

    lat_deg: float
    """WGS-84, -90 to 90, north positive."""

    lon_deg: float
    """WGS-84, -180 to 180, east positive."""

    source: Literal["nmea", "gdl90", "track"]
    """The form it came in; `track`: read from a file of positions."""

    utc: datetime | None = None
    """The fix's own instant, aware, UTC; None where the feed gave no time or no date (GDL 90 has none)."""

    utc_of_day_s: float | None = None
    """The same without the date: seconds since 0000Z, 0 up to 86,401 (a leap second)."""

    altitude_ft: float | None = None
    """Above mean sea level by the receiver's geoid (NMEA GGA). Nothing to do with the altimeter setting."""

    pressure_altitude_ft: float | None = None
    """Above the 29.92 inHg level (GDL 90 ownship report), in steps of 25 ft."""

    geo_altitude_ft: float | None = None
    """Above the WGS-84 ellipsoid (GDL 90 geometric altitude; NMEA GGA: altitude and geoid separation)."""

    vertical_speed_ft_min: float | None = None
    """Up positive (GDL 90), in steps of 64 ft/min."""

    ground_speed_kt: float | None = None
    """0 or more."""

    track_true_deg: float | None = None
    """Over the ground, above 0 up to 360. GDL 90 gives steps of 1.4 degrees."""

    heading_true_deg: float | None = None
    """Where the nose points, above 0 up to 360; only from a heading sensor, never from the track."""

    heading_mag_deg: float | None = None
    """The same from magnetic north, deviation applied where the sensor gave it; above 0 up to 360."""

    variation_deg: float | None = None
    """Magnetic variation as the feed has it, east positive, -180 to 180. Not the station's declination."""

    airspeed_kt: float | None = None
    """Speed through the air (NMEA VHW, whose words say water), 0 or more."""

    wind_angle_deg: float | None = None
    """Where the wind comes from, clockwise from the nose, 0 up to 360 (NMEA MWV)."""

    wind_speed_kt: float | None = None
    """0 or more (NMEA MWV)."""

    wind_reference: Literal["relative", "true"] | None = None
    """`relative`: as felt on board; `true`: own movement taken out (NMEA MWV R, T). None: no wind given."""

    n_satellites: int | None = None
    """Satellites in use (NMEA GGA)."""

    hdop: float | None = None
    """Horizontal dilution of precision, a factor (NMEA GGA)."""

    nic: int | None = None
    """GDL 90 integrity category, 0 to 11."""

    nac_p: int | None = None
    """GDL 90 accuracy category, 0 to 11."""

    is_airborne: bool | None = None
    """As the sender says (GDL 90)."""

    @property
    def of_day_s(self) -> float | None:
        """Seconds since 0000Z, from `utc` where it stands alone; None where no time was given."""
        if self.utc is None or self.utc_of_day_s is not None:
            return self.utc_of_day_s
        clock = self.utc.time()
        return clock.hour * 3600 + clock.minute * 60 + clock.second + clock.microsecond / 1e6

    @property
    def is_scorable(self) -> bool:
        """Whether it is good enough to judge flying by; a receiver that gives no accuracy is believed."""
        return self.nac_p is None or self.nac_p >= SCORABLE_NAC_P
