"""A flown path: arcs and straights, joined end to end, each exact.

Never decides where to fly: it answers where the aircraft was and when something became true.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from coach.nav.aircraft import Aircraft

SAMPLE_S = 1.0
"""How finely a path is looked at before a moment in it is narrowed down."""

NARROWED_S = 1e-6

_STANDS_STILL = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One arc or one straight."""

    start: Aircraft
    duration_s: float
    """0 or more."""

    turn_deg_s: float = 0.0
    """Right positive; 0 is straight."""

    def at(self, since_s: float) -> Aircraft:
        """Return the aircraft so many seconds into the piece."""
        return self.start.step(since_s, self.turn_deg_s)

    @property
    def end(self) -> Aircraft:
        """The aircraft at the end of the piece."""
        return self.at(self.duration_s)


Path = tuple[Piece, ...]
"""Pieces in the order they are flown, each beginning where the one before ends."""


def turning(aircraft: Aircraft, turn_deg: float) -> Piece:
    """Return the arc that turns by so many degrees, right positive."""
    return Piece(
        start=aircraft,
        duration_s=abs(turn_deg) / aircraft.rate_deg_s,
        turn_deg_s=math.copysign(aircraft.rate_deg_s, turn_deg),
    )


def straight(aircraft: Aircraft, duration_s: float) -> Piece:
    """Return the straight flown on the present heading."""
    return Piece(start=aircraft, duration_s=duration_s)


def duration_s(path: Path) -> float:
    """Return how long the whole path takes."""
    return sum(piece.duration_s for piece in path)


def clip(path: Path, end_s: float) -> Path:
    """Return the first `end_s` seconds of a path; a path that ends earlier goes on straight."""
    kept: list[Piece] = []
    left_s = end_s
    for piece in path:
        if left_s <= piece.duration_s:
            return (*kept, replace(piece, duration_s=left_s))
        kept.append(piece)
        left_s -= piece.duration_s
    return (*kept, straight(kept[-1].end, left_s))


def sampled(path: Path, every_s: float = SAMPLE_S) -> Iterator[tuple[float, Aircraft]]:
    """Yield seconds from the path's start and the aircraft, at the pieces' ends and about every `every_s`."""
    begun_s = 0.0
    if path:
        yield 0.0, path[0].start
    for piece in path:
        count = max(1, math.ceil(piece.duration_s / every_s))
        for k in range(1, count + 1):
            since_s = piece.duration_s * k / count
            yield begun_s + since_s, piece.at(since_s)
        begun_s += piece.duration_s


def aircraft_at(path: Path, since_s: float) -> Aircraft:
    """Return the aircraft so many seconds into a path; after its end it goes on straight."""
    left_s = since_s
    for piece in path:
        if left_s <= piece.duration_s:
            return piece.at(left_s)
        left_s -= piece.duration_s
    return path[-1].end.step(left_s)


def find_fall(path: Path, measure: Callable[[Aircraft], float]) -> float | None:
    """Return when a measure first falls from above 0 to 0 or below, seconds from the start; None if never."""
    above_s: float | None = None
    for since_s, aircraft in sampled(path):
        if measure(aircraft) > 0.0:
            above_s = since_s
        elif above_s is not None:
            return _narrow(path, measure, above_s, since_s)
    return None


def find_fall_flying_on(path: Path, measure: Callable[[Aircraft], float]) -> float | None:
    """Return when a measure first falls to 0 on a path that goes on straight for ever; None if never.

    On a straight the measure must change evenly, as every distance from a line does.
    """
    end = path[-1].end
    ahead = measure(end)
    if ahead <= 0.0:
        return find_fall(path, measure)
    closing = ahead - measure(end.step(1.0))
    return duration_s(path) + ahead / closing if closing > _STANDS_STILL else None


def _narrow(path: Path, measure: Callable[[Aircraft], float], above_s: float, below_s: float) -> float:
    while below_s - above_s > NARROWED_S:
        middle_s = (above_s + below_s) / 2.0
        if measure(aircraft_at(path, middle_s)) > 0.0:
            above_s = middle_s
        else:
            below_s = middle_s
    return below_s


def farthest(path: Path) -> Aircraft:
    """Return the aircraft where the path is farthest from the station, to a second of an arc."""
    return max((aircraft for _, aircraft in _corners(path)), key=lambda aircraft: aircraft.distance_nm)


def _corners(path: Path) -> Iterator[tuple[float, Aircraft]]:
    """Yield the points of a path that can be farthest: the ends of straights, every second of arcs."""
    for piece in path:
        yield from sampled((piece,), SAMPLE_S if piece.turn_deg_s else max(piece.duration_s, SAMPLE_S))
