"""Units: the factors between the trade's units.

Never converts quietly: a name with a unit suffix holds that unit and no other.
"""

from __future__ import annotations

FT_PER_NM = 1852.0 / 0.3048
"""6,076.115 ft: both units are defined in metres (1852 m, 0.3048 m)."""

M_PER_NM = 1852.0
"""The international nautical mile."""

SECONDS_PER_HOUR = 3600.0

KT_PER_FT_S = SECONDS_PER_HOUR / FT_PER_NM
"""0.5925 kt in one foot a second."""

GRAVITY_FT_S2 = 9.80665 / 0.3048
"""32.174 ft/s2, standard gravity."""
