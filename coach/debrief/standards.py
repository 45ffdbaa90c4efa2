"""What figures are held against, each with its source, and the limits themselves.

Never a grade: within or not, and by how much. The limit itself is within.
"""

from __future__ import annotations

from coach.debrief.model import Standard

ROUNDING = 1e-9
"""Figures are binary: 7.5 worked out is not refused for its last bit."""

NEEDLE_SHARE = 0.75
"""No more than three quarters of full scale (ACS V.A.S6)."""

ACS = "FAA-S-ACS-8C"
DESIGN = "ICAO Doc 8168 Vol II Table I-2-3-1, an allowance for design and no test standard"
OWN = "our own"

ALTITUDE = Standard(text="within 100 ft", limit=100.0, unit="ft", source=f"{ACS} IV.A.S1, V.A.S5")
AIRSPEED = Standard(text="within 10 kt", limit=10.0, unit="kt", source=f"{ACS} IV.A.S1, V.A.S5")
HEADING_TRACKING = Standard(
    text="selected headings within 5 degrees", limit=5.0, unit="deg", source=f"{ACS} V.A.S5"
)
HEADING = Standard(text="within 10 degrees", limit=10.0, unit="deg", source=f"{ACS} III.B.S4, IV.A.S1")
ARC = Standard(text="within 1 NM of the arc", limit=1.0, unit="NM", source=f"{ACS} V.A.S6")
LEG_TIME = Standard(text="within 10 s", limit=10.0, unit="s", source=DESIGN)
LEG_TIME_FINER = Standard(text="within 3 s", limit=3.0, unit="s", source=OWN)
REACTION = Standard(text="within 6 s", limit=6.0, unit="s", source=f"pilot reaction, {DESIGN}")
TURN_RATE = Standard(
    text="standard rate, 3 degrees a second, within 0.3",
    limit=0.3,
    unit="deg/s",
    source="FAA-H-8083-15A p. 5-21; the 0.3 is our own",
)
INTERCEPT_LOW_DEG, INTERCEPT_HIGH_DEG = 20.0, 90.0
INTERCEPT = Standard(
    text="20 to 90 degrees",
    limit=INTERCEPT_HIGH_DEG,
    unit="deg",
    source="Instrument Flying Handbook, as quoted",
)
WORD = Standard(text="within 5 s", limit=5.0, unit="s", source=OWN)


def needle_standard(full_scale_deg: float) -> Standard:
    """Return the needle's limit at a full scale: 7.5 degrees for 10, 9.0 for 12."""
    limit_deg = NEEDLE_SHARE * full_scale_deg
    return Standard(
        text=f"within 3/4 of full scale ({limit_deg:g} of {full_scale_deg:g} degrees)",
        limit=limit_deg,
        unit="deg",
        source=f"{ACS} V.A.S6",
    )


def is_within(deviation: float, standard: Standard) -> bool:
    """Return whether a deviation from the aim is no more than the limit."""
    return abs(deviation) <= standard.limit + ROUNDING
