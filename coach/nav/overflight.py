"""The station passages of a whole track, each with the radials flown in and out.

Never knows what course was set: `DirectWatch` takes the one flown in.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from coach.nav.angles import direction_deg, mean_deg
from coach.nav.passage import DirectWatch, Passage

RING_NM = (1.0, 3.0)
"""Radials are means over the fixes in this ring around the station."""

Place = tuple[float, float, float]
"""Seconds, then NM east and north of the station, the station's magnetic north up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Overflight:
    """One passage."""

    passage: Passage
    inbound_radial_mag_deg: float | None
    """Circular mean bearing from the station, 1 to 3 NM before; None where there is no fix there."""

    outbound_radial_mag_deg: float | None
    """The same, 1 to 3 NM after."""


def find_overflights(places: Sequence[Place]) -> tuple[Overflight, ...]:
    """Return the passages of a track in order; `places` in order of time."""
    watch = DirectWatch()
    passages = [found for place in places if (found := watch.after(*place)) is not None]
    return tuple(
        Overflight(
            passage=passage,
            inbound_radial_mag_deg=_radial_deg(p for p in reversed(places) if p[0] <= passage.at_s),
            outbound_radial_mag_deg=_radial_deg(p for p in places if p[0] > passage.at_s),
        )
        for passage in passages
    )


def _radial_deg(away: Iterable[Place]) -> float | None:
    """The mean radial in the ring, going away from the passage until the aircraft leaves the ring."""
    radials = (direction_deg(east, north) for east, north in _in_ring(away))
    return mean_deg(radials)


def _in_ring(away: Iterable[Place]) -> Iterator[tuple[float, float]]:
    inner_nm, outer_nm = RING_NM
    for _, east, north in away:
        distance_nm = math.hypot(east, north)
        if distance_nm > outer_nm:
            return
        if distance_nm >= inner_nm:
            yield east, north
