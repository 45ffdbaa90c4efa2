"""The values a drill's settings take: courses, turns, times, counts and choices of words.

Never reads more than one value; what belongs together is the compiler's to check.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from coach.drill.forms import Form, Number, OneOf, Worded


class Side(StrEnum):
    """A side as a drill file names it: fixed, or by the spoke's own side."""

    LEFT = "left"
    RIGHT = "right"
    SIDE = "side"
    """The side on which this spoke's offset leg lies."""

    OTHER_SIDE = "other side"


class LegTurn(StrEnum):
    """Which way a leg begins, as a drill file says it."""

    LEFT = "left"
    RIGHT = "right"
    SIDE = "side"
    OTHER_SIDE = "other side"
    SHORTER = "shorter"
    """The way with the fewer degrees; straight back goes the way of the rotation."""

    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """So many degrees to a side."""

    degrees: int
    """0 to 360."""

    side: Side

    def __str__(self) -> str:
        return f"{self.degrees} {self.side}"


def parse_turned(text: str) -> Turned | None:
    """Degrees and a side, such as `45 left` or `180 other side`."""
    match = re.fullmatch(r"([0-9]{1,3}) (left|right|side|other side)", text)
    if match is None or int(match[1]) > 360:
        return None
    return Turned(degrees=int(match[1]), side=Side(match[2]))


def parse_rotation(text: str) -> Turned | None:
    """Degrees up to 180 and left or right."""
    turned = parse_turned(text)
    is_fixed = turned is not None and turned.side in (Side.LEFT, Side.RIGHT) and turned.degrees <= 180
    return turned if is_fixed else None


TURNED = Worded(
    expected="degrees 0 to 360 and left, right, side or other side, like '45 side'",
    pattern=r"^[0-9]{1,3} (left|right|side|other side)$",
    parse=parse_turned,
)
ROTATION = Worded(
    expected="degrees 0 to 180 and left or right, like '45 left'",
    pattern=r"^[0-9]{1,3} (left|right)$",
    parse=parse_rotation,
)


def signed_deg(turned: Turned) -> int:
    """The change of heading of a turn to a fixed side: right positive."""
    return turned.degrees if turned.side is Side.RIGHT else -turned.degrees


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What a setting's value is: its unit, its widest range and how it is written."""

    unit: str
    """The only unit it can have; empty: none."""

    low: float
    high: float
    """The widest range a drill file may give it; both 0 where it has no range."""

    form: Callable[[float, float, tuple[str, ...]], Form]
    """The form of a value, from a range and the choices."""

    render: Callable[[Any], str]
    """The value as text, so that it reads back the same."""


def _whole_form(unit: str) -> Callable[[float, float, tuple[str, ...]], Form]:
    return lambda low, high, _choices: Number(low=low, high=high, unit=unit, is_whole=True)


ALTITUDE = Number(low=50, high=10_000, unit="ft")
RATE = Number(low=100, high=3000, unit="ft/min")
DISTANCE = Number(low=0.5, high=100, unit="NM")
LATITUDE = Number(low=0, high=70, unit="deg north")


def _measured(widest: Number) -> Kind:
    """A setting that is a number with a unit."""
    return Kind(
        unit=widest.unit,
        low=widest.low,
        high=widest.high,
        form=lambda low, high, _choices: Number(low=low, high=high, unit=widest.unit),
        render=lambda value: f"{value:g}",
    )


KINDS: dict[str, Kind] = {
    "course": Kind(
        unit="deg magnetic",
        low=1,
        high=360,
        form=_whole_form("deg magnetic"),
        render=lambda value: f"{value:03d}",
    ),
    "count": Kind(unit="", low=1, high=100, form=_whole_form(""), render=str),
    "time": Kind(
        unit="s",
        low=1,
        high=3600,
        form=lambda low, high, _choices: Number(low=low, high=high, unit="s"),
        render=lambda value: f"{value:g}",
    ),
    "altitude": _measured(ALTITUDE),
    "rate": _measured(RATE),
    "distance": _measured(DISTANCE),
    "latitude": _measured(LATITUDE),
    "turn": Kind(unit="deg", low=0, high=0, form=lambda *_: ROTATION, render=str),
    "choice": Kind(
        unit="",
        low=0,
        high=0,
        form=lambda _low, _high, choices: OneOf(values={word: word for word in choices}),
        render=str,
    ),
}
"""Every kind of setting. A new kind is one entry here."""
