"""The drill from above for the page: the shapes of the card, each leg's track by itself, the scale.

Plain lists for JSON; the page makes SVG elements of them. Never draws and never works a track out.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from coach.drill.card_view import LABEL_ROOM, TRACK_EVERY_S, Scale, draw_view
from coach.drill.plan import Plan, PlannedLeg
from coach.drill.shapes import Box, Circle, Filled, Point, Shape, Stroke, Text
from coach.nav.path import sampled

SIDE = 340.0
"""The picture's width and height, its own units."""

CHARACTER_WIDE = 0.6
"""How wide a character is, a share of the text's size: the browser has the typeface, not the coach."""


def measure_roughly(text: str, size: float, is_bold: bool) -> float:
    """How wide a text is at most, about."""
    return len(text) * size * (CHARACTER_WIDE + 0.05 * is_bold)


def scale_of(plan: Plan) -> Scale:
    """From miles to the picture."""
    return Scale(center=(SIDE / 2.0, SIDE / 2.0), points_per_nm=(SIDE / 2.0 - LABEL_ROOM) / plan.reach_nm)


def draw_picture(plan: Plan) -> dict[str, Any]:
    """Side, shapes in the order they are drawn, and the track of each leg by its number."""
    box = Box(left=0.0, top=0.0, width=SIDE, height=SIDE)
    return {
        "side": SIDE,
        "shapes": [_encode(shape) for shape in draw_view(plan, box, measure_roughly)],
        "legs": {str(leg.leg.n): _round(_track(leg, scale_of(plan))) for leg in plan.legs},
    }


def _track(leg: PlannedLeg, scale: Scale) -> Iterator[Point]:
    return (scale.place(aircraft) for _, aircraft in sampled(leg.path, TRACK_EVERY_S))


def _encode(shape: Shape) -> dict[str, Any]:
    match shape:
        case Text():
            return {
                "is": "text",
                "at": _round([shape.at])[0],
                "text": shape.text,
                "size": shape.size,
                "bold": shape.is_bold,
                "align": shape.align.value,
                "tone": shape.tone.value,
            }
        case Stroke():
            return {
                "is": "line",
                "points": _round(shape.points),
                "width": shape.width,
                "tone": shape.tone.value,
            }
        case Filled():
            return {"is": "area", "points": _round(shape.points), "tone": shape.tone.value}
        case Circle():
            at = _round([shape.at])[0]
            return {
                "is": "circle",
                "at": at,
                "radius": shape.radius,
                "width": shape.width,
                "tone": shape.tone.value,
            }


def _round(points: Iterator[Point] | tuple[Point, ...] | list[Point]) -> list[list[float]]:
    return [[round(x, 1), round(y, 1)] for x, y in points]
