"""How far from the station a drill stays in almost every wind: the radius that holds 99 of 100 flights.

Never draws winds: it is given them. The pilot is the plan's, who holds every heading and turns exactly; a
pilot's own errors come on top. It says nothing of terrain, airspace or protected areas.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coach.drill.model import Drill
from coach.drill.plan import Plan, plan_drill
from coach.errors import DrillError, Problem
from coach.nav.path import Piece, sampled
from coach.nav.wind import Wind

SHARE = 0.99
"""Of the flights that stay within the radius."""

SECTORS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
"""45 degrees each, the first one about magnetic north."""

ARC_STEP_S, STRAIGHT_STEP_S = 3.0, 4.0
"""How finely a path is looked at: an arc at 90 kt to 0.002 NM, where a straight changes its sector to 0.1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What one flight is flown in."""

    wind: Wind
    """Counted from magnetic north."""

    tas_kt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How far one flight goes."""

    reach_nm: float
    """The farthest from the station, the bulge of turns included."""

    sectors_nm: tuple[float, ...]
    """The farthest in each of `SECTORS`; 0 where it never is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Containment:
    """What many flights come to."""

    flights: int
    """Those that could be flown."""

    refused: int
    """Those whose wind leaves a leg that cannot be closed."""

    radius_nm: float
    """Whatever the bearing, `SHARE` of the flights stay within it."""

    largest_nm: float
    """The farthest of all."""

    sectors_nm: tuple[float, ...]
    """The same radius for each of `SECTORS` alone."""


def find_reach(drill: Drill, conditions: Conditions) -> Reach | None:
    """Return how far a drill goes in one wind; None where it cannot be flown in it."""
    try:
        plan = plan_drill(drill, tas_kt=conditions.tas_kt, wind=conditions.wind)
    except DrillError:
        return None
    return Reach(reach_nm=plan.reach_nm, sectors_nm=_sectors_nm(plan))


def find_reaches(drill: Drill, many: Iterable[Conditions]) -> tuple[Reach | None, ...]:
    """Return how far a drill goes in each of many winds, in their order."""
    return tuple(find_reach(drill, conditions) for conditions in many)


def contain(reaches: Iterable[Reach | None], share: float = SHARE) -> Containment:
    """Return the radius that holds a share of the flights, above 0 up to 1; the nearest rank counts.

    Raises DrillError where none of them can be flown.
    """
    found = tuple(reaches)
    flown = tuple(reach for reach in found if reach is not None)
    if not flown:
        expected = "a wind and speed in which the drill can be flown"
        raise DrillError(Problem(where="containment", expected=expected, got=f"none of {len(found)}"))
    return Containment(
        flights=len(flown),
        refused=len(found) - len(flown),
        radius_nm=_rank([reach.reach_nm for reach in flown], share),
        largest_nm=max(reach.reach_nm for reach in flown),
        sectors_nm=tuple(_rank([reach.sectors_nm[k] for reach in flown], share) for k in range(len(SECTORS))),
    )


def _rank(values: Sequence[float], share: float) -> float:
    return sorted(values)[math.ceil(share * len(values)) - 1]


def _sectors_nm(plan: Plan) -> tuple[float, ...]:
    farthest = [0.0] * len(SECTORS)
    wide = 2.0 * math.pi / len(SECTORS)
    for planned in plan.legs:
        for piece in planned.path:
            for _, aircraft in sampled((piece,), _step_s(piece)):
                bearing = math.atan2(aircraft.east_nm, aircraft.north_nm)
                k = math.floor(bearing / wide + 0.5) % len(SECTORS)
                farthest[k] = max(farthest[k], math.hypot(aircraft.east_nm, aircraft.north_nm))
    return tuple(farthest)


def _step_s(piece: Piece) -> float:
    return ARC_STEP_S if piece.turn_deg_s else STRAIGHT_STEP_S


def render_containment(contained: Containment, share: float = SHARE) -> tuple[str, ...]:
    """Return what many flights come to, one line each; radii rounded up to a tenth, so that they hold."""
    sectors = zip(SECTORS, map(_up, contained.sectors_nm), strict=True)
    lines = [
        f"{share:.0%} of {contained.flights:,} flights stay within {_up(contained.radius_nm)} NM of the "
        f"station, whatever the bearing; the farthest went {_up(contained.largest_nm)} NM",
        f"By sector, magnetic: {', '.join(f'{name} {radius}' for name, radius in sectors)} NM",
    ]
    if contained.refused:
        lines.append(f"{contained.refused:,} more could not be flown in their wind")
    return tuple(lines)


def _up(radius_nm: float) -> str:
    return f"{math.ceil(round(radius_nm * 10.0, 6)) / 10.0:.1f}"


def encode_containment(contained: Containment, share: float = SHARE) -> dict[str, object]:
    """Return the same as JSON values."""
    return {
        "share": share,
        "flights": contained.flights,
        "refused": contained.refused,
        "radius_nm": round(contained.radius_nm, 2),
        "largest_nm": round(contained.largest_nm, 2),
        "sectors_nm": {name: round(nm, 2) for name, nm in zip(SECTORS, contained.sectors_nm, strict=True)},
    }
