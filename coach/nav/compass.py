"""What a magnetic compass shows in a turn, and where to roll out by it.

Never knows a deviation card: only the errors of dip. Source: FAA Instrument Flying Handbook (FAA-H-8083-15A
p. 5-22, 15A and 15B on roll-out); PHAK for the error that fades from north and south to east and west.
"""

from __future__ import annotations

from coach.nav.angles import difference_deg, wrap_deg
from coach.nav.turn import roll_out_lead_deg


def northerly_error_deg(heading_mag_deg: float, latitude_deg: float) -> float:
    """Return by how much the compass lags in a turn through a heading; where it leads negative.

    As much as the latitude at north, minus the latitude at south, nothing at east and west, evenly between
    (PHAK: latitude 40, from south to west: 20 of lead midway). South latitudes negative: all is reversed
    there (by the same physics, no text read).
    """
    from_north_deg = abs(difference_deg(heading_mag_deg, 360.0))
    return latitude_deg * (1.0 - from_north_deg / 90.0)


def roll_out_reading_deg(
    heading_mag_deg: float, *, is_right: bool, latitude_deg: float, bank_deg: float = 15.0
) -> float:
    """Return what the compass reads where the roll-out to a heading begins, above 0 up to 360.

    North: latitude and the usual lead before it; south: past it by the latitude less the usual lead. For
    15 to 18 degrees of bank; the usual lead is half the bank.
    """
    before_deg = northerly_error_deg(heading_mag_deg, latitude_deg) + roll_out_lead_deg(bank_deg)
    return wrap_deg(heading_mag_deg - before_deg if is_right else heading_mag_deg + before_deg)


def acceleration_error_deg(heading_mag_deg: float, latitude_deg: float, *, is_speeding_up: bool) -> int:
    """Return which way the compass swings when the speed changes: 1 toward north, -1 toward south, 0 not.

    On east and west it swings north when speeding up and south when slowing down; on north and south it does
    not. South of the equator the other way; nothing at the equator.
    """
    is_east_or_west = abs(abs(difference_deg(heading_mag_deg, 360.0)) - 90.0) < 45.0
    if not is_east_or_west or latitude_deg == 0.0:
        return 0
    toward_north = 1 if is_speeding_up else -1
    return toward_north if latitude_deg > 0.0 else -toward_north
