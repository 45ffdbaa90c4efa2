"""A drill file and the pilot's settings to a `Drill`: every leg with its headings.

Never knows wind, station or speed: that is the plan (`coach.drill.plan`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from coach.drill.findings import Findings, Named
from coach.drill.layout import begins_heading, begins_radial, find_entry, lay_out
from coach.drill.model import Drill, Ending, Leg, Start, TimerFrom
from coach.drill.parser import parse_drill
from coach.drill.settle import render_values, settle_values
from coach.drill.source import Source
from coach.drill.specs import DrillSpec
from coach.errors import DrillError
from coach.nav.station import Station
from coach.nav.turn import STANDARD_RATE_DEG_S, turn_time_s


def compile_drill(source: Source, settings: Mapping[str, str]) -> Drill:
    """A drill with the given settings, the file's defaults for the rest.

    Raises `DrillError` with every problem of the file, or else every problem of the settings.
    """
    spec = parse_drill(source)
    values = settle_values(spec, settings)
    findings = Findings(file=source.file, error=DrillError)
    legs = lay_out(spec, values, findings)
    findings.raise_any()
    timer_from = TimerFrom(values.get("timer_from", TimerFrom.TURN))
    return Drill(
        name=source.name,
        title=spec.title,
        source=spec.source,
        arrive_course_mag_deg=begins_heading(spec, values),
        begins_on=Ending.PASSAGE if spec.begins is None else spec.begins.by,
        start=_start_of(spec, values),
        entry=find_entry(spec, values),
        timer_from=timer_from,
        five_ts=spec.five_ts,
        legs=legs,
        settings=render_values(spec, values),
        station=_station_of(spec),
        warnings=tuple(_warn_short_offsets(legs, timer_from)),
    )


def _start_of(spec: DrillSpec, values: Mapping[str, Any]) -> Start | None:
    radial = begins_radial(spec, values)
    distance = None if spec.begins is None else spec.begins.distance
    if radial is None or distance is None:
        return None
    distance_nm = values[distance.name] if isinstance(distance, Named) else distance
    return Start(radial_mag_deg=radial, distance_nm=distance_nm)


def _station_of(spec: DrillSpec) -> Station | None:
    if spec.station is None:
        return None
    return Station(
        latitude_deg=spec.station.latitude_deg,
        longitude_deg=spec.station.longitude_deg,
        declination_deg=spec.station.declination_deg,
    )


def _warn_short_offsets(legs: tuple[Leg, ...], timer_from: TimerFrom) -> Iterator[str]:
    """Each offset leg too short to leave room for leading the last turn, once for each leg time."""
    warned: set[tuple[str, float]] = set()
    for leg, after in pairwise(legs):
        since = leg.timed_from or timer_from
        shortest_s = find_shortest_offset_s(leg, since)
        if after.ends_on is not Ending.INTERCEPT or shortest_s is None or leg.leg_s is None:
            continue
        if leg.leg_s < shortest_s and (leg.leg, leg.leg_s) not in warned:
            warned.add((leg.leg, leg.leg_s))
            begun = "the start of the turn" if since is TimerFrom.TURN else "wings level"
            yield (
                f"The {leg.leg} leg of {leg.leg_s:g} s from {begun} leaves no room to lead the turn inbound: "
                f"the shortest is {shortest_s:.1f} s."
            )


def find_shortest_offset_s(leg: Leg, timer_from: TimerFrom) -> float | None:
    """The shortest offset leg after which 180 degrees the other way leave room for the lead, in seconds.

    The straight part is 2 / w x cot(offset): 38.2 s at 45 degrees, any speed (geometry; the
    published 45/225). None where the leg is not an offset from a course to be flown back.
    """
    if leg.heading_mag_deg is None or leg.course_mag_deg is None:
        return None
    offset_deg = abs((leg.heading_mag_deg - leg.course_mag_deg) % 360 - 180)
    if not 0 < offset_deg < 90:
        return None
    straight_s = 2 / math.radians(STANDARD_RATE_DEG_S) / math.tan(math.radians(offset_deg))
    return straight_s + (turn_time_s(leg.turn_deg) if timer_from is TimerFrom.TURN else 0.0)
