"""The briefing of a plan: its legs as plain values for JSON and as words for a table.

Never draws and never works anything out: every figure is the plan's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from coach.drill.cautions import CAUTIONS
from coach.drill.model import Drill, Ending, Leg, Turn
from coach.drill.plan import Plan, PlannedLeg
from coach.nav.wind import render_wind

COLUMNS = ("n", "spoke", "leg", "turn", "heading", "steer", "course", "time", "ends on", "start")
"""The columns of the table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Briefing:
    """A plan in words, for a terminal or a sheet."""

    title: str
    facts: tuple[str, ...]
    """What the plan was worked out for and what comes of it, one line each."""

    rows: tuple[tuple[str, ...], ...]
    """One row a leg, a text for each of `COLUMNS`."""

    warnings: tuple[str, ...]
    cautions: tuple[str, ...]


def encode_briefing(plan: Plan) -> dict[str, Any]:
    """A plan as one JSON object: drill, legs, total_s, reach_nm, warnings."""
    return {
        "drill": plan.drill.name,
        "legs": list(briefing_rows(plan)),
        "total_s": round(plan.total_s, 1),
        "reach_nm": round(plan.reach_nm, 2),
        "warnings": list(plan.warnings),
    }


def briefing_rows(plan: Plan) -> tuple[dict[str, Any], ...]:
    """Each leg as the JSON of a briefing has it.

    Headings and courses are whole degrees 1-360 or None, times are seconds from the first passage.
    """
    return tuple(_encode_leg(planned) for planned in plan.legs)


def _encode_leg(planned: PlannedLeg) -> dict[str, Any]:
    leg = planned.leg
    return {
        "n": leg.n,
        "spoke": leg.spoke,
        "leg": leg.leg,
        "turn": leg.turn.value,
        "heading_mag_deg": leg.heading_mag_deg,
        "steer_mag_deg": planned.steer_mag_deg,
        "course_mag_deg": leg.course_mag_deg,
        "leg_s": None if leg.leg_s is None else round(leg.leg_s, 1),
        "ends_on": leg.ends_on.value,
        "start_s": round(planned.start_s, 1),
    }


def brief_plan(plan: Plan) -> Briefing:
    """A plan in words."""
    return Briefing(
        title=plan.drill.title,
        facts=_render_facts(plan),
        rows=tuple(_render_row(planned) for planned in plan.legs),
        warnings=plan.warnings,
        cautions=tuple(caution.text for caution in CAUTIONS),
    )


def _render_facts(plan: Plan) -> tuple[str, ...]:
    drill = plan.drill
    chosen = ", ".join(f"{name} {value}" for name, value in drill.settings)
    return (
        f"Source: {drill.source}",
        f"Settings: {chosen}",
        f"{_render_arrival(drill)}, TAS {plan.tas_kt:g} kt, wind {render_wind(plan.wind)}",
        f"{_render_span(drill)}: {render_time(plan.total_s)}. {_render_reach(plan)}",
        *_render_intercepts(plan),
        *([] if drill.entry is None else [f"Entry: {drill.entry}"]),
    )


def _render_arrival(drill: Drill) -> str:
    if drill.begins_on is Ending.PASSAGE:
        return f"Arrive on course {drill.arrive_course_mag_deg:03d}"
    start = drill.start
    where = "" if start is None else f" at {start.distance_nm:g} NM on the {start.radial_mag_deg:03d} radial"
    return f"Begin on heading {drill.arrive_course_mag_deg:03d}{where}"


def _render_span(drill: Drill) -> str:
    begins = "the first passage" if drill.begins_on is Ending.PASSAGE else "the pilot's word"
    if drill.legs[-1].ends_on is not Ending.PASSAGE:
        return f"From {begins} to the end"
    return f"From {begins} to {'the last' if drill.begins_on is Ending.PASSAGE else 'the passage'}"


def _render_reach(plan: Plan) -> str:
    if plan.drill.begins_on is not Ending.PASSAGE and plan.drill.start is None:
        return f"Reach {plan.reach_nm:.1f} NM from where it begins"
    return f"Reach {plan.reach_nm:.1f} NM, on the {plan.reach_radial_mag_deg:03d} radial"


def _render_row(planned: PlannedLeg) -> tuple[str, ...]:
    leg = planned.leg
    return (
        str(leg.n),
        str(leg.spoke or leg.lap or ""),
        leg.leg,
        _render_turn(leg),
        _render_deg(leg.heading_mag_deg),
        _render_deg(planned.steer_mag_deg),
        _render_course(leg),
        "" if leg.leg_s is None else f"{round(leg.leg_s, 1):g} s",
        _render_ending(leg),
        render_time(planned.start_s),
    )


def _render_ending(leg: Leg) -> str:
    if leg.distance_nm is not None:
        return f"{leg.ends_on} {leg.distance_nm:g} NM"
    if leg.climb_ft is not None and leg.rate_ft_min is not None:
        return f"{leg.ends_on} {leg.climb_ft:+.0f} ft, {leg.rate_ft_min:g} ft/min"
    return leg.ends_on.value


def _render_turn(leg: Leg) -> str:
    return "none" if leg.turn is Turn.NONE else f"{leg.turn} {leg.turn_deg}"


def _render_deg(mag_deg: int | None) -> str:
    return "" if mag_deg is None else f"{mag_deg:03d}"


def _render_course(leg: Leg) -> str:
    return f"set {_render_deg(leg.course_mag_deg)}" if leg.sets_course else _render_deg(leg.course_mag_deg)


def _render_intercepts(plan: Plan) -> Iterator[str]:
    """What the wind makes of the turns inbound, the spokes that fare the same together."""
    spokes: dict[str, list[int]] = {}
    for planned in plan.legs:
        if planned.intercept_s is not None and planned.leg.spoke is not None:
            spokes.setdefault(_render_intercept(planned), []).append(planned.leg.spoke)
    for fate, alike in spokes.items():
        yield f"{'Spoke' if len(alike) == 1 else 'Spokes'} {', '.join(map(str, alike))}: {fate}"


def _render_intercept(planned: PlannedLeg) -> str:
    if planned.goes_through:
        return "through the course before roll-out"
    return f"{planned.intercept_s:.0f} s on the intercept heading"


def render_time(seconds: float) -> str:
    """Minutes and seconds, `41:54`; the nearest whole second."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"
