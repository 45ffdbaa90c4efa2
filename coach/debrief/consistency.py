"""The same thing from spoke to spoke: each figure of the legs of one name beside the others.

Never judges the mean alone: the spread is what consistency is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from coach.debrief.model import Consistency, HeadingChange, LegFlown
from coach.drill.model import Leg

FEWEST = 2
FIGURES = (
    "turn begins",
    "turn rate",
    "roll-out",
    "leg time",
    "intercept angle",
    "lead",
    "overshoot",
    "call to word",
)


def compare_spokes(legs: Sequence[LegFlown], workflow: Sequence[HeadingChange]) -> tuple[Consistency, ...]:
    """Return each figure that at least two legs of one name have."""
    return (*_of_marks(legs), *_of_ts(workflow))


def _of_marks(legs: Sequence[LegFlown]) -> Iterator[Consistency]:
    grouped: dict[tuple[str, str], list[tuple[int, float]]] = {}
    units: dict[tuple[str, str], str] = {}
    for flown in legs:
        for mark in flown.marks:
            if mark.what in FIGURES:
                key = flown.leg.leg, mark.what
                grouped.setdefault(key, []).append((_round_of(flown.leg), mark.value))
                units[key] = mark.unit
    for (leg, what), values in grouped.items():
        yield from _consistency(f"{leg}: {what}", units[leg, what], values)


def _of_ts(workflow: Sequence[HeadingChange]) -> Iterator[Consistency]:
    grouped: dict[tuple[str, str], list[tuple[int, float]]] = {}
    for change in workflow:
        for done in change.ts:
            if done.late_s is not None and done.by != "said by the coach":
                grouped.setdefault((change.leg.leg, done.t), []).append((_round_of(change.leg), done.late_s))
    for (leg, t), values in grouped.items():
        yield from _consistency(f"{leg}: {t} after the checkpoint", "s", values)


def _consistency(what: str, unit: str, values: list[tuple[int, float]]) -> Iterator[Consistency]:
    if len(values) < FEWEST:
        return
    figures = np.array([value for _, value in values])
    yield Consistency(
        what=what,
        unit=unit,
        values=tuple(values),
        mean=float(figures.mean()),
        spread=float(figures.std()),
    )


def _round_of(leg: Leg) -> int:
    """Its spoke, its lap, else its number."""
    return leg.spoke or leg.lap or leg.n
