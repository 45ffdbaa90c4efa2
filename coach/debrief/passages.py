"""The station passages of a whole flight.

Never judges one itself: `coach.nav.overflight` does, on the fixes near the station.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from coach.debrief.flight import Flight
from coach.debrief.model import PassageFlown
from coach.fixes.track_cleaning import GAP_S
from coach.nav.overflight import RING_NM, find_overflights

NEAR_NM = RING_NM[1] + 1.5
"""A fix farther out tells nothing of a passage, its radials or the course flown in."""

CLOSEST_S = 0.5
"""Fixes that follow closer are left out: two a second show a passage to the tenth of a second."""


def find_passages(flight: Flight) -> tuple[PassageFlown, ...]:
    """Return the passages in order."""
    found: list[PassageFlown] = []
    for visit in _visits(flight):
        places = zip(
            flight.time_s[visit].tolist(),
            flight.east_nm[visit].tolist(),
            flight.north_nm[visit].tolist(),
            strict=True,
        )
        found += (
            PassageFlown(
                at_s=over.passage.at_s,
                distance_nm=over.passage.distance_nm,
                inbound_radial_mag_deg=over.inbound_radial_mag_deg,
                outbound_radial_mag_deg=over.outbound_radial_mag_deg,
            )
            for over in find_overflights(tuple(places))
        )
    return tuple(found)


def _visits(flight: Flight) -> Iterator[NDArray[np.int64]]:
    """The fixes of each time near the station, thinned."""
    near = np.flatnonzero(flight.distance_nm <= NEAR_NM)
    if not len(near):
        return
    cuts = np.flatnonzero((np.diff(near) > 1) & (np.diff(flight.time_s[near]) > GAP_S)) + 1
    for visit in np.split(near, cuts):
        yield visit[_spaced(flight.time_s[visit])]


def _spaced(time_s: NDArray[np.float64]) -> NDArray[np.int64]:
    """Indices of fixes at least so far apart, the first and the last among them."""
    cell = np.floor((time_s - time_s[0]) / CLOSEST_S + 1e-6)
    kept = np.ones(len(time_s), dtype=bool)
    kept[1:-1] = np.diff(cell)[:-1] > 0
    return np.flatnonzero(kept)
