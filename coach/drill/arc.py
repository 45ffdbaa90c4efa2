"""An arc about the station as a pilot flies it, in wind: short pieces, each steered by the distance shown.

Never decides where the arc ends.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from coach.nav.aircraft import Aircraft
from coach.nav.angles import difference_deg
from coach.nav.dme_arc import Arc
from coach.nav.path import Piece
from coach.nav.wind import Wind, solve_triangle

ARC_STEP_S = 5.0
"""How often the heading is looked after; at 90 kt on a 10-mile arc it changes by 0.7 degrees meanwhile."""


def fly_arc(aircraft: Aircraft, arc_nm: float, wind: Wind) -> Iterator[Piece]:
    """Yield the pieces of an arc without end, its way round that of the heading the aircraft begins on."""
    is_clockwise = difference_deg(aircraft.heading_mag_deg, aircraft.radial_mag_deg) > 0.0
    arc = Arc(distance_nm=arc_nm, is_clockwise=is_clockwise)
    while True:
        piece = Piece(start=aircraft, duration_s=ARC_STEP_S, turn_deg_s=_rate_deg_s(aircraft, arc, wind))
        yield piece
        aircraft = piece.end


def _rate_deg_s(aircraft: Aircraft, arc: Arc, wind: Wind) -> float:
    """The rate of turn that leads to the heading wanted at the step's end, at most the aircraft's own."""
    along_deg = math.degrees(aircraft.ground_speed_kt / 3600.0 * ARC_STEP_S / arc.distance_nm)
    radial_deg = aircraft.radial_mag_deg + (along_deg if arc.is_clockwise else -along_deg)
    track_deg = arc.corrected_heading_mag_deg(radial_deg, aircraft.distance_nm)
    heading_deg = solve_triangle(track_deg, aircraft.tas_kt, wind).heading_deg
    wanted_deg_s = difference_deg(heading_deg, aircraft.heading_mag_deg) / ARC_STEP_S
    return max(-aircraft.rate_deg_s, min(aircraft.rate_deg_s, wanted_deg_s))
