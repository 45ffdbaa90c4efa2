"""A debrief as plain values for JSON, in the form that stays stable.

Never rounds away what a check needs: hundredths of a degree, thousandths of a mile, tenths of a second.
"""

from __future__ import annotations

from collections.abc import Mapping

from coach.debrief.model import (
    Alignment,
    ArcFlown,
    Bookmark,
    Consistency,
    Debrief,
    HeadingChange,
    Held,
    LegFlown,
    Mark,
    PassageFlown,
    RadialFlown,
    Standard,
    TurnFlown,
)
from coach.nav.angles import wrap_deg
from coach.nav.station import render_station

Plain = dict[str, object]


def encode_debrief(debrief: Debrief) -> Plain:
    """Return the debrief's JSON object."""
    flight = debrief.flight
    wind = None if flight is None or flight.wind is None else flight.wind.mean
    return {
        "drill": None if debrief.plan is None else debrief.plan.drill.name,
        "station": None if flight is None else render_station(flight.station),
        "track": None
        if flight is None
        else {
            "form": flight.track.form,
            "fixes": len(flight.track),
            "start_utc": debrief.render_utc(0.0),
            "end_utc": debrief.render_utc(float(flight.time_s[-1])),
            "heading_by": flight.heading_by,
            "wind_from_mag_deg": None if wind is None else _angle(wind.from_deg),
            "wind_kt": None if wind is None else round(wind.speed_kt, 1),
        },
        "passages": [_passage(debrief, passage) for passage in debrief.passages],
        "radials": [_radial(debrief, radial) for radial in debrief.radials],
        "arcs": [_arc(debrief, arc) for arc in debrief.arcs],
        "turns": [_turn(debrief, turn) for turn in debrief.turns],
        "alignment": None if debrief.alignment is None else _alignment(debrief.alignment),
        "legs": [_leg(debrief, leg) for leg in debrief.legs],
        "workflow": [_change(debrief, change) for change in debrief.workflow],
        "consistency": [_consistency(one) for one in debrief.consistency],
        "bookmarks": [_bookmark(debrief, bookmark) for bookmark in debrief.bookmarks],
        "notes": list(debrief.notes),
    }


def _passage(debrief: Debrief, passage: PassageFlown) -> Plain:
    return {
        "utc": debrief.render_utc(passage.at_s),
        "distance_nm": round(passage.distance_nm, 3),
        "inbound_radial_mag_deg": _angle(passage.inbound_radial_mag_deg),
        "outbound_radial_mag_deg": _angle(passage.outbound_radial_mag_deg),
    }


def _radial(debrief: Debrief, radial: RadialFlown) -> Plain:
    return {
        **_span(debrief, radial.start_s, radial.end_s),
        "direction": radial.direction,
        "radial_mag_deg": _angle(radial.radial_mag_deg),
        "spread_deg": round(radial.spread_deg, 3),
        "from_nm": round(radial.from_nm, 3),
        "to_nm": round(radial.to_nm, 3),
    }


def _arc(debrief: Debrief, arc: ArcFlown) -> Plain:
    return {
        **_span(debrief, arc.start_s, arc.end_s),
        "direction": arc.direction,
        "radius_nm": round(arc.radius_nm, 3),
        "spread_nm": round(arc.spread_nm, 3),
        "from_radial_mag_deg": _angle(arc.from_radial_mag_deg),
        "to_radial_mag_deg": _angle(arc.to_radial_mag_deg),
        "sweep_deg": round(arc.sweep_deg, 1),
    }


def _turn(debrief: Debrief, turn: TurnFlown) -> Plain:
    return {
        **_span(debrief, turn.start_s, turn.end_s),
        "turn_deg": round(turn.turn_deg, 1),
        "rate_deg_s": round(turn.rate_deg_s, 2),
        "before_mag_deg": _angle(turn.before_mag_deg),
        "after_mag_deg": _angle(turn.after_mag_deg),
        "by": turn.by,
    }


def _leg(debrief: Debrief, flown: LegFlown) -> Plain:
    leg = flown.leg
    return {
        "n": leg.n,
        "spoke": leg.spoke,
        "leg": leg.leg,
        "how": flown.how,
        "told": flown.told,
        "begun_utc": None if flown.begun_s is None else debrief.render_utc(flown.begun_s),
        "ended_utc": None if flown.ended_s is None else debrief.render_utc(flown.ended_s),
        "turn": None if flown.turn is None else _turn(debrief, flown.turn),
        "marks": [_mark(debrief, mark) for mark in flown.marks],
        "held": [_held(debrief, held) for held in flown.held],
    }


def _mark(debrief: Debrief, mark: Mark) -> Plain:
    return {
        "what": mark.what,
        "value": round(mark.value, 2),
        "unit": mark.unit,
        "standard": None if mark.standard is None else _standard(mark.standard),
        "is_within": mark.is_within,
        "reason": mark.reason,
        **_span(debrief, mark.start_s, mark.end_s),
    }


def _held(debrief: Debrief, held: Held) -> Plain:
    return {
        "what": held.what,
        "aim": None if held.aim is None else round(held.aim, 2),
        "unit": held.standard.unit,
        "standard": _standard(held.standard),
        "seconds": round(held.seconds, 1),
        "within_share": round(held.within_share, 4),
        "worst": round(held.worst, 2),
        "worst_utc": debrief.render_utc(held.worst_at_s),
        "rms": round(held.rms, 3),
        "reason": held.reason,
        **_span(debrief, held.start_s, held.end_s),
    }


def _standard(standard: Standard) -> Mapping[str, object]:
    return {"text": standard.text, "limit": standard.limit, "source": standard.source}


def _change(debrief: Debrief, change: HeadingChange) -> Plain:
    return {
        "n": change.leg.n,
        "spoke": change.leg.spoke,
        "leg": change.leg.leg,
        "utc": debrief.render_utc(change.at_s),
        "ts": {
            str(done.t): {"by": done.by, "late_s": None if done.late_s is None else round(done.late_s, 1)}
            for done in change.ts
        },
        "order": [str(t) for t in change.order],
        "is_in_order": change.is_in_order,
    }


def _consistency(one: Consistency) -> Plain:
    return {
        "what": one.what,
        "unit": one.unit,
        "values": [[spoke, round(value, 2)] for spoke, value in one.values],
        "mean": round(one.mean, 2),
        "spread": round(one.spread, 2),
    }


def _bookmark(debrief: Debrief, bookmark: Bookmark) -> Plain:
    return {
        "utc": debrief.render_utc(bookmark.at_s),
        "what": bookmark.what,
        "around": [[debrief.render_utc(at_s), text] for at_s, text in bookmark.around],
    }


def _alignment(alignment: Alignment) -> Plain:
    return {
        "offset_s": round(alignment.offset_s, 2),
        "residual_s": round(alignment.residual_s, 2),
        "turns": alignment.n_turns,
        "told": alignment.told,
    }


def _span(debrief: Debrief, start_s: float, end_s: float) -> Plain:
    return {"start_utc": debrief.render_utc(start_s), "end_utc": debrief.render_utc(end_s)}


def _angle(angle_deg: float | None) -> float | None:
    """Hundredths of a degree, above 0 up to 360."""
    return None if angle_deg is None else wrap_deg(round(angle_deg, 2))
