"""The channels of a VOR: which frequencies a VOR can have.

Never tunes anything. Sources: AIM 1-1-3a (108.0-117.95 MHz); FAA-H-8083-15A p. 7-11 (below 112 MHz a VOR has
even tenths, a localizer odd ones); ICAO Annex 10 Vol I 3.3 (steps of 50 kHz).
"""

from __future__ import annotations

LOWEST_KHZ = 108_000
HIGHEST_KHZ = 117_950
STEP_KHZ = 50
SHARED_BELOW_KHZ = 112_000
"""Below it VORs and localizers share the band."""


def find_frequency_fault(frequency_khz: float) -> str | None:
    """Return what a VOR's frequency is expected to be where this one cannot be one; None: it can."""
    if not LOWEST_KHZ <= frequency_khz <= HIGHEST_KHZ:
        return f"a VOR's frequency, {LOWEST_KHZ} to {HIGHEST_KHZ} kHz"
    if frequency_khz % STEP_KHZ:
        return f"a VOR's frequency, a multiple of {STEP_KHZ} kHz"
    if frequency_khz < SHARED_BELOW_KHZ and frequency_khz // 100 % 2:
        return "a VOR's frequency, below 112 MHz with even tenths (odd ones are a localizer's)"
    return None
