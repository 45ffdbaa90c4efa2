"""The figures of one skill over a whole flight: how often within its standard, the mean, the spread.

Never one grade: each skill stands for itself, and a figure without a standard is no skill.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from coach.debrief.model import Debrief, Held, LegFlown, Mark, Standard
from coach.nav.turn import STANDARD_RATE_DEG_S

AIMS = {"turn rate": STANDARD_RATE_DEG_S}
"""What a mark is to be where that is not 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """One thing that a pilot does, over a flight."""

    what: str
    """The name of the marks, or of what was held."""

    standard: Standard
    is_held: bool
    """True: a quantity held over time. False: single marks."""

    n: int
    """Marks, or stretches of holding."""

    n_within: int | None
    """Of the marks; None where a quantity was held."""

    seconds: float
    """How long it was held; 0 for marks."""

    within_share: float
    """Of the seconds, or of the marks; 0 to 1."""

    mean: float | None
    """Of the marks; None where a quantity was held: a mean would hide that it went to both sides."""

    spread: float
    """Marks: standard deviation. Held: root mean square of the deviation."""

    worst: float
    """Farthest from its aim, signed: a mark as it stands, a held quantity's deviation."""

    worst_at_s: float
    worst_leg_n: int

    used: float
    """Root mean square of the deviation from the aim, a share of the limit."""


def gather_skills(debrief: Debrief) -> tuple[Skill, ...]:
    """Return every skill of a flight, in the order they first appear."""
    marks: dict[tuple[str, str], list[tuple[Mark, Standard, LegFlown]]] = {}
    held: dict[tuple[str, str], list[tuple[Held, LegFlown]]] = {}
    order: dict[tuple[str, str], None] = {}
    for flown in debrief.legs:
        for mark in flown.marks:
            if mark.standard is not None:
                key = mark.what, mark.standard.text
                marks.setdefault(key, []).append((mark, mark.standard, flown))
                order[key] = None
        for one in flown.held:
            key = one.what, one.standard.text
            held.setdefault(key, []).append((one, flown))
            order[key] = None
    return tuple(_of_marks(marks[key]) if key in marks else _of_held(held[key]) for key in order)


def _of_marks(marks: Sequence[tuple[Mark, Standard, LegFlown]]) -> Skill:
    first, standard, _ = marks[0]
    aim = AIMS.get(first.what, 0.0)
    values = np.array([mark.value for mark, _, _ in marks])
    worst, _, leg = marks[int(np.argmax(np.abs(values - aim)))]
    n_within = sum(mark.is_within is True for mark, _, _ in marks)
    return Skill(
        what=first.what,
        standard=standard,
        is_held=False,
        n=len(marks),
        n_within=n_within,
        seconds=0.0,
        within_share=n_within / len(marks),
        mean=float(values.mean()),
        spread=float(values.std()),
        worst=worst.value,
        worst_at_s=worst.start_s,
        worst_leg_n=leg.leg.n,
        used=_rms(values - aim) / standard.limit,
    )


def _of_held(held: Sequence[tuple[Held, LegFlown]]) -> Skill:
    worst, leg = max(held, key=lambda pair: abs(pair[0].worst))
    seconds = sum(one.seconds for one, _ in held)
    rms = math.sqrt(sum(one.rms**2 * one.seconds for one, _ in held) / seconds)
    return Skill(
        what=worst.what,
        standard=worst.standard,
        is_held=True,
        n=len(held),
        n_within=None,
        seconds=seconds,
        within_share=sum(one.within_share * one.seconds for one, _ in held) / seconds,
        mean=None,
        spread=rms,
        worst=worst.worst,
        worst_at_s=worst.worst_at_s,
        worst_leg_n=leg.leg.n,
        used=rms / worst.standard.limit,
    )


def find_skill(skills: Iterable[Skill], what: str) -> Skill | None:
    """Return the first skill of a name."""
    return next((skill for skill in skills if skill.what == what), None)


def _rms(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    return float(np.sqrt((values**2).mean()))
