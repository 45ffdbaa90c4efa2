"""Level turns: rate, bank, radius, time, and the lead that ends them on a line.

Never models how the bank is established: a turn is at its full rate from its first moment.
"""

from __future__ import annotations

import math

from coach.nav.units import FT_PER_NM, GRAVITY_FT_S2, KT_PER_FT_S, SECONDS_PER_HOUR

STANDARD_RATE_DEG_S = 3.0
"""Standard rate: 360 degrees in two minutes (Instrument Flying Handbook FAA-H-8083-15A p. 5-21)."""

HALF_STANDARD_RATE_DEG_S = 1.5
"""Half standard rate (the same page)."""


def turn_time_s(turn_deg: float, rate_deg_s: float = STANDARD_RATE_DEG_S) -> float:
    """Return the seconds that a turn of so many degrees takes."""
    return abs(turn_deg) / rate_deg_s


def radius_nm(tas_kt: float, rate_deg_s: float = STANDARD_RATE_DEG_S) -> float:
    """Return the radius in still air; TAS / 188.5 at standard rate, 0 at 0 kt."""
    return tas_kt / SECONDS_PER_HOUR / math.radians(rate_deg_s)


def bank_deg(tas_kt: float, rate_deg_s: float = STANDARD_RATE_DEG_S) -> float:
    """Return the bank that holds a rate of turn: atan(v * rate / g)."""
    speed_ft_s = tas_kt / KT_PER_FT_S
    return math.degrees(math.atan(speed_ft_s * math.radians(rate_deg_s) / GRAVITY_FT_S2))


def rate_deg_s(tas_kt: float, bank_deg: float) -> float:
    """Return the rate of turn that a bank gives; `tas_kt` above 0."""
    speed_ft_s = tas_kt / KT_PER_FT_S
    return math.degrees(GRAVITY_FT_S2 * math.tan(math.radians(bank_deg)) / speed_ft_s)


def radius_at_bank_ft(tas_kt: float, bank_deg: float) -> float:
    """Return the radius in feet at a bank above 0."""
    speed_ft_s = tas_kt / KT_PER_FT_S
    return speed_ft_s**2 / (GRAVITY_FT_S2 * math.tan(math.radians(bank_deg)))


def thumb_bank_deg(tas_kt: float) -> float:
    """Return the pilot's rule for the bank of a standard-rate turn: 15 % of the TAS."""
    return 0.15 * tas_kt


def thumb_bank_by_tenth_deg(tas_kt: float) -> float:
    """Return the other common rule for the bank of a standard-rate turn: TAS / 10 + 7 (no source)."""
    return tas_kt / 10.0 + 7.0


def roll_out_lead_deg(bank_deg: float) -> float:
    """Return how early a pilot rolls out: half the bank (FAA-H-8083-15B ch. 7)."""
    return bank_deg / 2.0


def small_turn_bank_deg(turn_deg: float, tas_kt: float, rate_deg_s: float = STANDARD_RATE_DEG_S) -> float:
    """Return the bank of a turn: not more than the degrees to turn (FAA-H-8083-15B; AFMAN 11-217 2.4.2.1)."""
    return min(abs(turn_deg), bank_deg(tas_kt, rate_deg_s))


def holding_bank_deg(tas_kt: float, *, has_flight_director: bool = False) -> float:
    """Return the bank in a hold: the least of 3 deg/s, 30 and, with a director, 25 (AIM 5-3-8j8)."""
    return min(bank_deg(tas_kt), 25.0 if has_flight_director else 30.0)


def measured_rate_deg_s(turned_deg: float, seconds: float) -> float:
    """Return the rate that turned so far in a time above 0: 27 degrees in 10 s are 2.7 (calibration)."""
    return abs(turned_deg) / seconds


def lead_s(turn_deg: float, rate_deg_s: float = STANDARD_RATE_DEG_S) -> float:
    """Return how long before a line its turn begins, to roll out on the line in still air.

    The seconds of flight to the corner, R * tan(turn / 2): 7.9 s for 45 degrees at standard rate, any speed.
    `turn_deg` from 0 up to but not 180.
    """
    return math.tan(math.radians(turn_deg) / 2.0) / math.radians(rate_deg_s)


def radius_at_bank_nm(tas_kt: float, bank_deg: float) -> float:
    """Return the radius in nautical miles at a bank above 0."""
    return radius_at_bank_ft(tas_kt, bank_deg) / FT_PER_NM
