"""What came of a rehearsal's feed, for two readers: the JSON of the command and the lines a person reads.

Every figure is measured against the simulated aircraft itself. Never prints.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from coach.rehearsal.feed import FlownFeed, SeenPassage, TrackCall


def encode_feed(feed: FlownFeed) -> dict[str, Any]:
    """A feed as one JSON object; all times are seconds on the session clock."""
    return {
        "form": feed.conditions.form,
        "by_socket": feed.conditions.is_by_socket,
        "fixes_sent": feed.sent,
        "fixes_lost": feed.lost,
        "fixes_taken": feed.fixes,
        "passages": [_encode_passage(passage) for passage in feed.passages],
        "passages_invented": feed.extra,
        "track_calls": [_encode_call(call) for call in feed.track_calls],
        "seen": [{"onset_s": round(record.onset_s, 2), "what": record.what} for record in feed.records],
    }


def render_feed(feed: FlownFeed) -> Iterator[str]:
    """What a person wants to know, a line each."""
    way = "through UDP on loopback" if feed.conditions.is_by_socket else "in the process"
    form = {"nmea": "NMEA", "gdl90": "GDL 90"}[feed.conditions.form]
    yield f"Feed: {feed.fixes} fixes taken of {feed.sent + feed.lost} sent, {form} {way}, {feed.lost} lost"
    seen = [passage for passage in feed.passages if passage.event_s is not None]
    invented = f"{feed.extra or 'none'} invented"
    yield f"Passages: {len(seen)} of {len(feed.passages)} seen, {invented}{_render_times(seen)}"
    yield f"Track: {len(feed.track_calls) or 'no'} calls about the needle"
    winds = [record.what for record in feed.records if record.what.startswith("planned anew")]
    yield f"Wind: {winds[-1] if winds else 'none found that differs from the plan'}"


def _encode_call(call: TrackCall) -> dict[str, Any]:
    return {
        "at_s": round(call.at_s, 2),
        "what": call.what,
        "leg_n": call.moment.leg_n,
        "straight": call.moment.is_straight,
        "distance_nm": round(call.moment.distance_nm, 2),
    }


def _encode_passage(passage: SeenPassage) -> dict[str, Any]:
    return {
        "truth_s": round(passage.truth_s, 2),
        "distance_nm": round(passage.distance_nm, 3),
        "event_s": None if passage.event_s is None else round(passage.event_s, 2),
        "spoken_s": None if passage.spoken_s is None else round(passage.spoken_s, 2),
    }


def _render_times(seen: list[SeenPassage]) -> str:
    errors_s = [passage.event_s - passage.truth_s for passage in seen if passage.event_s is not None]
    after_s = [passage.spoken_s - passage.truth_s for passage in seen if passage.spoken_s is not None]
    dated = f"; dated {min(errors_s):+.1f} to {max(errors_s):+.1f} s from the flag" if errors_s else ""
    return dated + (f", spoken {min(after_s):.1f} to {max(after_s):.1f} s after it" if after_s else "")
