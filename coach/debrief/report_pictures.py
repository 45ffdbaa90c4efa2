"""The pictures of the report as lines and limits: the track from above, and what was held over time.

Never draws, and takes no figure from a thinned line: what a picture tells in words is made of every fix.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from coach.debrief.flight import Flight
from coach.debrief.leg_bench import Bench, bench_of
from coach.debrief.model import Debrief, Held, LegFlown
from coach.debrief.report_words import UNITS, render_share
from coach.debrief.skills import Skill, find_skill, gather_skills
from coach.debrief.standards import NEEDLE_SHARE
from coach.debrief.thinning import thin_by_shape, thin_by_time
from coach.drill.card_view import render_wind_line
from coach.drill.plan import Plan
from coach.fixes.track import Numbers
from coach.nav.path import sampled
from coach.nav.vor import FULL_SCALE_DEG

MOST_POINTS = 1200
"""Of one drawn line over time; a printed page shows no more."""

APART_NM = 0.004
"""A track from above is drawn within so much of itself: far less than a line's width."""

PLAN_EVERY_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Above:
    """The flight from above, in miles around the station, its magnetic north up."""

    flown: tuple[tuple[Numbers, Numbers], ...]
    """East and north of each stretch without a gap."""

    planned: tuple[tuple[Numbers, Numbers], ...]
    """One a leg; empty without a drill."""

    passages: tuple[tuple[float, float], ...]
    spokes: tuple[tuple[float, float, str], ...]
    """Where each spoke of the plan is named: east, north, number."""

    wind: str | None
    """The one planned for, such as `wind 250/15` or `wind calm`; None: no drill."""

    told: str
    """The picture in words, with its figures."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Panel:
    """One quantity over time."""

    title: str
    unit: str
    time_s: Numbers
    values: Numbers
    """NaN where it was not measured, or had no aim."""

    is_scored: tuple[tuple[float, float], ...]
    """From when to when it was held against the standard."""

    limit: float | None
    """To both sides; None: no standard."""

    stop: float | None
    """Drawn to here at the most, as a needle is; None: no stop."""

    sides: tuple[str, str]
    """What up and down mean."""

    worst: tuple[float, float] | None
    """When, and how much."""

    told: str
    """The picture in words, with its figures."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OverTime:
    """Panels above each other on one clock."""

    panels: tuple[Panel, ...]
    start_s: float
    end_s: float
    marks: tuple[tuple[float, str], ...]
    """Where each spoke (or lap, or leg) begins, and its number."""

    bookmarks_s: tuple[float, ...]


def draw_above(debrief: Debrief) -> Above | None:
    """Return the track over the drill as planned; None without a track."""
    flight, plan = debrief.flight, debrief.plan
    if flight is None:
        return None
    stretches = [_stretch(flight, part) for part in flight.stretches]
    return Above(
        flown=tuple(stretches),
        planned=() if plan is None else tuple(_planned(plan)),
        passages=tuple(_place(flight, passage.at_s) for passage in debrief.passages),
        spokes=() if plan is None else tuple(_spokes(plan)),
        wind=None if plan is None else render_wind_line(plan).lower(),
        told=" ".join(_tell_above(debrief, flight)),
    )


def _stretch(flight: Flight, part: slice) -> tuple[Numbers, Numbers]:
    east, north = flight.east_nm[part], flight.north_nm[part]
    kept = thin_by_shape(east, north, APART_NM)
    return east[kept], north[kept]


def _planned(plan: Plan) -> Iterator[tuple[Numbers, Numbers]]:
    for planned in plan.legs:
        places = [(at.east_nm, at.north_nm) for _, at in sampled(planned.path, PLAN_EVERY_S)]
        east, north = (np.array(values) for values in zip(*places, strict=True))
        kept = thin_by_shape(east, north, APART_NM)
        yield east[kept], north[kept]


def _spokes(plan: Plan) -> Iterator[tuple[float, float, str]]:
    """At the end of each spoke's first leg."""
    named: set[int] = set()
    for planned in plan.legs:
        spoke = planned.leg.spoke
        if spoke is not None and spoke not in named:
            named.add(spoke)
            end = planned.path[-1].end
            yield end.east_nm, end.north_nm, str(spoke)


def _place(flight: Flight, at_s: float) -> tuple[float, float]:
    east, north = (np.interp(at_s, flight.time_s, places) for places in (flight.east_nm, flight.north_nm))
    return float(east), float(north)


def _tell_above(debrief: Debrief, flight: Flight) -> Iterator[str]:
    farthest = int(np.argmax(flight.distance_nm))
    minutes = float(flight.time_s[-1]) / 60.0
    yield (
        f"The track from above, magnetic north up: {minutes:.0f} minutes, {len(debrief.passages)} passages "
        f"of the station, the farthest {flight.distance_nm[farthest]:.1f} NM from it on the "
        f"{flight.radial_mag_deg[farthest]:03.0f} radial."
    )
    if debrief.plan is not None:
        yield (
            f"Behind it, dashed, {debrief.plan.drill.title} as planned for "
            f"{render_wind_line(debrief.plan).lower()}, reaching {debrief.plan.reach_nm:.1f} NM."
        )
    if len(flight.stretches) > 1:
        yield f"The track has {len(flight.stretches) - 1} gaps, left open."


def draw_over_time(debrief: Debrief) -> OverTime | None:
    """Return needle, heading error, altitude and airspeed over time; None where nothing was held."""
    flight, plan = debrief.flight, debrief.plan
    legs = [flown for flown in debrief.legs if flown.begun_s is not None and flown.ended_s is not None]
    if flight is None or plan is None or not legs:
        return None
    begun_s, ended_s = legs[0].begun_s or 0.0, legs[-1].ended_s or 0.0
    full_scale_deg = _full_scale_deg(debrief)
    bench = bench_of(flight, plan, full_scale_deg=full_scale_deg, height_ft=0.0, from_s=begun_s)
    skills = gather_skills(debrief)
    makers = (_needle, _heading, _altitude, _airspeed)
    panels = [panel for maker in makers if (panel := maker(debrief, bench, skills)) is not None]
    if not panels:
        return None
    return OverTime(
        panels=tuple(panels),
        start_s=max(0.0, begun_s),
        end_s=min(ended_s, float(flight.time_s[-1])),
        marks=tuple(_leg_marks(legs)),
        bookmarks_s=tuple(bookmark.at_s for bookmark in debrief.bookmarks),
    )


def _full_scale_deg(debrief: Debrief) -> float:
    """What the needle was scored with: its limit is three quarters of it."""
    needle = find_skill(gather_skills(debrief), "needle")
    return FULL_SCALE_DEG if needle is None else needle.standard.limit / NEEDLE_SHARE


def _leg_marks(legs: Sequence[LegFlown]) -> Iterator[tuple[float, str]]:
    """Each spoke's or lap's beginning; of other drills each leg's."""
    last: int | None = None
    for flown in legs:
        number = flown.leg.spoke or flown.leg.lap or flown.leg.n
        if number != last and flown.begun_s is not None:
            yield flown.begun_s, str(number)
        last = number


def _needle(debrief: Debrief, bench: Bench, skills: tuple[Skill, ...]) -> Panel | None:
    values = np.full(len(bench.flight.time_s), np.nan)
    for flown in debrief.legs:
        course = flown.leg.course_mag_deg
        if course is not None and flown.begun_s is not None and flown.ended_s is not None:
            index = bench.during(flown.begun_s, flown.ended_s)
            values[index] = bench.off_course_deg(index, course)
    stop = bench.full_scale_deg
    return _panel(debrief, bench, skills, "needle", values, stop=stop, sides=("right", "left"))


def _heading(debrief: Debrief, bench: Bench, skills: tuple[Skill, ...]) -> Panel | None:
    heading = bench.flight.heading_mag_deg
    if heading is None:
        return None
    values = np.full(len(heading), np.nan)
    for flown, held in _holdings(debrief.legs, "heading"):
        index = bench.during(held.start_s, held.end_s)
        aim = flown.leg.heading_mag_deg or 0
        values[index] = (heading[index] - aim + 180.0) % 360.0 - 180.0
    return _panel(debrief, bench, skills, "heading", values, sides=("right", "left"))


def _altitude(debrief: Debrief, bench: Bench, skills: tuple[Skill, ...]) -> Panel | None:
    if bench.altitude is None or bench.altitude_ft is None:
        return None
    values = bench.altitude[1] - bench.altitude_ft
    return _panel(debrief, bench, skills, "altitude", values, sides=("high", "low"))


def _airspeed(debrief: Debrief, bench: Bench, skills: tuple[Skill, ...]) -> Panel | None:
    airspeed = bench.flight.track.airspeed_kt
    if airspeed is None or bench.airspeed_kt is None:
        return None
    return _panel(debrief, bench, skills, "airspeed", airspeed - bench.airspeed_kt, sides=("fast", "slow"))


def _holdings(legs: Sequence[LegFlown], what: str) -> Iterator[tuple[LegFlown, Held]]:
    for flown in legs:
        for held in flown.held:
            if held.what == what:
                yield flown, held


TITLES = {
    "needle": "Needle",
    "heading": "Heading error",
    "altitude": "Altitude, against its start",
    "airspeed": "Airspeed, against its start",
}


def _panel(
    debrief: Debrief,
    bench: Bench,
    skills: tuple[Skill, ...],
    what: str,
    values: Numbers,
    *,
    sides: tuple[str, str],
    stop: float | None = None,
) -> Panel | None:
    skill = find_skill(skills, what)
    if skill is None:
        return None
    time_s = bench.flight.time_s
    shown = values if stop is None else np.clip(values, -stop, stop)
    kept = thin_by_time(time_s, shown, MOST_POINTS)
    windows = tuple((held.start_s, held.end_s) for _, held in _holdings(debrief.legs, what))
    return Panel(
        title=TITLES[what],
        unit=skill.standard.unit,
        time_s=time_s[kept],
        values=shown[kept],
        is_scored=windows,
        limit=skill.standard.limit,
        stop=stop,
        sides=sides,
        worst=(skill.worst_at_s, skill.worst),
        told=tell_held(debrief, TITLES[what], skill, sides),
    )


def tell_held(debrief: Debrief, title: str, skill: Skill, sides: tuple[str, str]) -> str:
    """Return how a quantity was held in one sentence with its figures."""
    unit = UNITS.get(skill.standard.unit, skill.standard.unit)
    side = "" if abs(skill.worst) < 0.05 else f" {sides[0] if skill.worst > 0.0 else sides[1]}"
    return (
        f"{title} over time: measured for {skill.seconds:.0f} s, {render_share(skill.within_share)} of them "
        f"inside the standard ({skill.standard.text}); root mean square {skill.spread:.1f}, at worst "
        f"{abs(skill.worst):.1f} {unit}{side} at "
        f"{debrief.render_utc(skill.worst_at_s).rpartition('T')[2]}, leg {skill.worst_leg_n}."
    )
