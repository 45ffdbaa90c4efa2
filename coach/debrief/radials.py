"""The radials and arcs of a flight: where it flew toward the station, away from it, or around it.

Never takes being on a radial for flying it: a radial is flown where the track points along it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coach.debrief.filtering import interval_s
from coach.debrief.flight import Flight
from coach.debrief.model import ArcFlown, RadialFlown
from coach.fixes.track import Numbers
from coach.nav.angles import wrap_deg

ALONG_DEG = 10.0
"""The track points along the radial within this (the heading limit of established, `session.checkpoints`)."""

LAPSE_S, LAPSE_FIXES = 12.0, 1.5
"""A track that points elsewhere for less (a jittering fix, a correction) does not end a radial; with fixes
ten seconds apart or more seldom no lapse is borne."""

WIDEST_SPREAD_DEG = 1.0
BAND_DEG = 2.0
"""A run whose bearing spreads wider is cut into the longest parts within such a band: VOR alignment is
generally +-1 degree (AIM 1-1-3e1)."""

OFF_DEG, OFF_NM = 1.0, 0.05
"""The ends of a run are left off as far as they are farther than both from its middle bearing; our own
choice."""

SHORTEST_S, SHORTEST_NM, SHORTEST_SHARE = 20.0, 0.5, 0.05
"""Shorter is no radial: half a mile, and a twentieth of the distance from the station. Our own choice."""

NEAREST_NM, FARTHEST_NM = 0.3, 60.0
"""Nearer the bearing swings, farther a degree is more than a mile. Our own choice."""

ARC_ACROSS_DEG = 20.0
"""On an arc the track is square to the radial within this; our own choice (R33: short legs, slightly
inside)."""

ARC_BAND_NM = 1.0
"""The distance stays within this of its mean: the arc of ACS V.A.S6."""

ARC_LEAST_NM, ARC_LEAST_DEG = 1.5, 30.0
"""Nearer or shorter it is a turn beside the station."""

TURNS_WITH_IT = 0.5
"""On an arc the track comes round as far as the radial; flying straight past it does not."""

Mask = NDArray[np.bool_]
Run = tuple[int, int]
"""First and last fix."""


def find_radials(flight: Flight) -> tuple[RadialFlown, ...]:
    """Return the radials flown, inbound and outbound, in order."""
    found = [*_flown(flight, "outbound", 0.0), *_flown(flight, "inbound", 180.0)]
    return tuple(sorted(found, key=lambda radial: radial.start_s))


def _flown(
    flight: Flight, direction: Literal["inbound", "outbound"], turned_deg: float
) -> Iterator[RadialFlown]:
    off_deg = _wrapped(flight.pointing_mag_deg - flight.radial_mag_deg - turned_deg)
    with np.errstate(invalid="ignore"):
        is_along = np.abs(off_deg) <= ALONG_DEG
    is_near = (flight.distance_nm >= NEAREST_NM) & (flight.distance_nm <= FARTHEST_NM)
    for run in _runs(flight, is_along, is_near):
        for part in _tight(flight, run):
            radial = _radial(flight, direction, _trimmed(flight, part))
            if radial is not None:
                yield radial


def _radial(flight: Flight, direction: Literal["inbound", "outbound"], run: Run) -> RadialFlown | None:
    first, last = run
    from_nm, to_nm = float(flight.distance_nm[first]), float(flight.distance_nm[last])
    start_s, end_s = float(flight.time_s[first]), float(flight.time_s[last])
    shortest_nm = max(SHORTEST_NM, SHORTEST_SHARE * min(from_nm, to_nm))
    if end_s - start_s < SHORTEST_S or abs(to_nm - from_nm) < shortest_nm:
        return None
    mean_deg, spread_deg = _mean(flight.radial_mag_deg[first : last + 1])
    return RadialFlown(
        start_s=start_s,
        end_s=end_s,
        direction=direction,
        radial_mag_deg=mean_deg,
        spread_deg=spread_deg,
        from_nm=from_nm,
        to_nm=to_nm,
    )


def _tight(flight: Flight, run: Run) -> Iterator[Run]:
    """A run itself where its bearing hardly spreads, else its longest parts that stay within a band."""
    first, last = run
    bearing = np.degrees(np.unwrap(np.radians(flight.radial_mag_deg[first : last + 1])))
    if float(bearing.std()) <= WIDEST_SPREAD_DEG:
        yield run
        return
    yield from (
        (first + begin, first + end) for begin, end in _within(flight.time_s[first:], bearing, BAND_DEG)
    )


def _trimmed(flight: Flight, run: Run) -> Run:
    """Without its ends as far as they are off the bearing in the middle: joining and leaving a radial is no
    part."""
    first, last = run
    bearing = np.degrees(np.unwrap(np.radians(flight.radial_mag_deg[first : last + 1])))
    beside_deg = np.degrees(OFF_NM / flight.distance_nm[first : last + 1])
    on_it = np.abs(bearing - np.median(bearing)) <= np.maximum(OFF_DEG, beside_deg)
    return first + int(np.argmax(on_it)), last - int(np.argmax(on_it[::-1]))


def _within(time_s: Numbers, values: Numbers, band: float) -> Iterator[Run]:
    """The parts that stay within a band, the longest first, then the longest of what is left on either
    side."""
    waiting = [(0, len(values) - 1)]
    ends = _reaches(values, band)
    while waiting:
        first, last = waiting.pop()
        starts = np.arange(first, last + 1)
        reach = np.minimum(ends[first : last + 1], last)
        lasts_s = time_s[reach] - time_s[starts]
        best = int(np.argmax(lasts_s))
        if float(lasts_s[best]) < SHORTEST_S:
            continue
        begin, end = first + best, int(reach[best])
        yield begin, end
        waiting += [part for part in ((first, begin - 1), (end + 1, last)) if part[1] > part[0]]


def _reaches(values: Numbers, band: float) -> NDArray[np.int64]:
    """For each value the last index up to which all stay within a band: two hands that only go on."""
    ends = np.empty(len(values), dtype=np.int64)
    listed = values.tolist()
    highs: list[int] = []
    lows: list[int] = []
    at_high = at_low = end = 0
    for begin in range(len(listed)):
        while end < len(listed):
            value = listed[end]
            high = max(value, listed[highs[at_high]]) if at_high < len(highs) else value
            low = min(value, listed[lows[at_low]]) if at_low < len(lows) else value
            if high - low > band:
                break
            while len(highs) > at_high and listed[highs[-1]] <= value:
                highs.pop()
            while len(lows) > at_low and listed[lows[-1]] >= value:
                lows.pop()
            highs.append(end)
            lows.append(end)
            end += 1
        ends[begin] = end - 1
        at_high += at_high < len(highs) and highs[at_high] == begin
        at_low += at_low < len(lows) and lows[at_low] == begin
    return ends


def find_arcs(flight: Flight) -> tuple[ArcFlown, ...]:
    """Return the arcs flown around the station, in order."""
    found: list[ArcFlown] = []
    for direction, square_deg in _SIDES:
        off_deg = _wrapped(flight.pointing_mag_deg - flight.radial_mag_deg - square_deg)
        with np.errstate(invalid="ignore"):
            is_across = np.abs(off_deg) <= ARC_ACROSS_DEG
        is_near = (flight.distance_nm >= ARC_LEAST_NM) & (flight.distance_nm <= FARTHEST_NM)
        for first, last in _runs(flight, is_across, is_near):
            distance = flight.distance_nm[first : last + 1]
            for begin, end in _within(flight.time_s[first:], distance, 2.0 * ARC_BAND_NM):
                arc = _arc(flight, direction, first + begin, first + end)
                if arc is not None:
                    found.append(arc)
    return tuple(sorted(found, key=lambda arc: arc.start_s))


_SIDES: tuple[tuple[Literal["clockwise", "counterclockwise"], float], ...] = (
    ("clockwise", 90.0),
    ("counterclockwise", -90.0),
)


def _arc(
    flight: Flight, direction: Literal["clockwise", "counterclockwise"], first: int, last: int
) -> ArcFlown | None:
    radials = flight.radial_mag_deg[first : last + 1]
    turned = np.degrees(np.unwrap(np.radians(radials)))
    sweep_deg = abs(float(turned[-1] - turned[0]))
    if sweep_deg < ARC_LEAST_DEG or _turned_deg(flight, first, last) < TURNS_WITH_IT * sweep_deg:
        return None
    distance = flight.distance_nm[first : last + 1]
    return ArcFlown(
        start_s=float(flight.time_s[first]),
        end_s=float(flight.time_s[last]),
        direction=direction,
        radius_nm=float(distance.mean()),
        spread_nm=float(distance.std()),
        from_radial_mag_deg=float(radials[0]),
        to_radial_mag_deg=float(radials[-1]),
        sweep_deg=sweep_deg,
    )


def _turned_deg(flight: Flight, first: int, last: int) -> float:
    """How far the track itself came round: not at all where the aircraft flew straight past."""
    track = flight.pointing_mag_deg[first : last + 1]
    track = np.degrees(np.unwrap(np.radians(track[np.isfinite(track)])))
    return abs(float(track[-1] - track[0])) if len(track) else 0.0


def _runs(flight: Flight, is_so: Mask, is_near: Mask) -> Iterator[Run]:
    """Runs of fixes where something is so, short lapses bridged, within one stretch."""
    for index in _split(flight, np.flatnonzero(is_so & is_near)):
        yield int(index[0]), int(index[-1])


def _split(flight: Flight, index: NDArray[np.int64]) -> Iterator[NDArray[np.int64]]:
    if not len(index):
        return
    time_s = flight.time_s[index]
    stretch = np.searchsorted([part.start for part in flight.stretches], index, side="right")
    lapse_s = max(LAPSE_S, LAPSE_FIXES * interval_s(flight.time_s))
    cuts = np.flatnonzero((np.diff(time_s) > lapse_s) | (np.diff(stretch) > 0)) + 1
    yield from (part for part in np.split(index, cuts) if len(part) > 1)


def _wrapped(angle_deg: Numbers) -> Numbers:
    """-180 up to but not 180."""
    return (angle_deg + 180.0) % 360.0 - 180.0


def _mean(bearings_deg: Numbers) -> tuple[float, float]:
    """Circular mean and standard deviation about it."""
    angle = np.radians(bearings_deg)
    mean_deg = float(np.degrees(np.arctan2(np.sin(angle).mean(), np.cos(angle).mean())))
    off = _wrapped(bearings_deg - mean_deg)
    return wrap_deg(mean_deg), float(np.sqrt(np.mean(off * off)))
