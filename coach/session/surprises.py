"""Surprises: what may happen to a pilot who has the drill in hand, planned by a number so that it repeats.

Each is opened with "Simulated" and cancelled by "unable". All are told on the way inbound with the wings
level, long before the station, and bear on the spoke that follows. Never below an altitude or beyond a
distance set beforehand; failures only in a simulator or under an instructor. Pure: nothing is said here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from hashlib import blake2b

from coach.drill.model import Ending
from coach.drill.plan import Plan
from coach.errors import DrillError
from coach.session.altered_plan import (
    has_reversals,
    with_hold,
    with_radial,
    with_reversals_swapped,
)
from coach.session.spoken import heading_words

SIMULATED = "Simulated"
TURNED_DEG = (-20, -15, -10, 10, 15, 20)
"""How far a radial may be changed; our own choice."""


class SurpriseKind(StrEnum):
    """What can happen."""

    RADIAL = "radial"
    """The next spoke goes out on another radial."""

    REVERSALS = "reversals"
    """From the next spoke on the reversals go the other way round."""

    HOLD = "hold"
    """Once round a hold at the station before the next spoke."""

    TIMER = "timer"
    """The timer has failed: no time is called on the next spoke."""

    PANEL = "panel"
    """The heading indicator has failed: partial panel."""


FAILURES = (SurpriseKind.TIMER, SurpriseKind.PANEL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What is set beforehand."""

    lowest_ft: float
    """Never below this altitude, as the feed tells it."""

    farthest_nm: float
    """Never where the drill would go farther from the station."""

    is_simulator: bool = False
    has_instructor: bool = False
    """An instructor commands the page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surprise:
    """One of them."""

    kind: SurpriseKind
    leg_i: int
    """The index of the inbound leg on which it is told."""

    radial_mag_deg: int | None = None
    """The new one, 1-360; None with the other kinds."""

    @property
    def text(self) -> str:
        """What is said."""
        told = {
            SurpriseKind.RADIAL: f"New radial, {heading_words(self.radial_mag_deg or 360)}",
            SurpriseKind.REVERSALS: "Reversals the other way",
            SurpriseKind.HOLD: "Hold at the station",
            SurpriseKind.TIMER: "Timer failed",
            SurpriseKind.PANEL: "Heading indicator failed",
        }
        return f"{SIMULATED}. {told[self.kind]}"


def plan_surprises(
    plan: Plan, kinds: tuple[SurpriseKind, ...], limits: Limits, *, seed: int, most: int = 3
) -> tuple[Surprise, ...]:
    """At most so many surprises in the order they are told, no two on spokes that follow each other.

    The same plan, kinds, limits and seed give the same. Empty where the drill has no spokes for any.
    """
    places = [i for i in _inbound_legs(plan) if i + 1 < len(plan.legs)]
    allowed = [kind for kind in kinds if kind not in FAILURES or limits.is_simulator or limits.has_instructor]
    found: list[Surprise] = []
    for leg_i in sorted(places, key=lambda i: _draw(seed, f"place {i}")):
        is_near = any(abs(plan.legs[leg_i].leg.n - plan.legs[one.leg_i].leg.n) <= 4 for one in found)
        if len(found) < most and not is_near:
            found += _one(plan, leg_i, allowed, limits, seed)
    return tuple(sorted(found, key=lambda surprise: surprise.leg_i))


def _one(
    plan: Plan, leg_i: int, kinds: list[SurpriseKind], limits: Limits, seed: int
) -> tuple[Surprise, ...]:
    """The first one drawn that this place can bear; empty: none."""
    for kind in sorted(kinds, key=lambda kind: _draw(seed, f"{leg_i} {kind}")):
        surprise = Surprise(kind=kind, leg_i=leg_i, radial_mag_deg=_find_radial(plan, leg_i, kind, seed))
        altered = find_altered(plan, surprise)
        if altered is not None and altered.reach_nm <= limits.farthest_nm:
            return (surprise,)
    return ()


def find_altered(plan: Plan, surprise: Surprise) -> Plan | None:
    """The plan as it goes on; the same for a failure, None where the drill cannot bear it."""
    try:
        match surprise.kind:
            case SurpriseKind.RADIAL:
                return with_radial(plan, surprise.leg_i, surprise.radial_mag_deg or 360)
            case SurpriseKind.REVERSALS:
                return with_reversals_swapped(plan, surprise.leg_i)
            case SurpriseKind.HOLD:
                return with_hold(plan, surprise.leg_i)
    except DrillError:
        return None
    return plan


def moved_to(plan: Plan, surprise: Surprise, leg_i: int) -> Surprise | None:
    """The same surprise on another leg, a radial turned as far; None where it is no place for one."""
    if leg_i not in _inbound_legs(plan):
        return None
    radial = surprise.radial_mag_deg
    if radial is None:
        return replace(surprise, leg_i=leg_i)
    by_deg = radial - (plan.legs[surprise.leg_i + 1].leg.course_mag_deg or 360)
    there_deg = (plan.legs[leg_i + 1].leg.course_mag_deg or 360) + by_deg
    return replace(surprise, leg_i=leg_i, radial_mag_deg=there_deg % 360 or 360)


def find_refusal(limits: Limits, *, altitude_ft: float | None, distance_nm: float | None) -> str | None:
    """Why a surprise may not be opened now; None: it may.

    What is not known is no licence, but where an instructor commands he knows it himself.
    """
    is_watched = limits.has_instructor or limits.is_simulator
    if altitude_ft is None or distance_nm is None:
        return None if is_watched else "altitude and distance are not known"
    if altitude_ft < limits.lowest_ft:
        return f"below {limits.lowest_ft:.0f} ft"
    return f"beyond {limits.farthest_nm:g} NM" if distance_nm > limits.farthest_nm else None


def _inbound_legs(plan: Plan) -> Iterator[int]:
    for i, planned in enumerate(plan.legs):
        if planned.leg.ends_on is Ending.PASSAGE and planned.leg.tracks and has_reversals(plan, i):
            yield i


def _find_radial(plan: Plan, leg_i: int, kind: SurpriseKind, seed: int) -> int | None:
    if kind is not SurpriseKind.RADIAL:
        return None
    by_deg = TURNED_DEG[_draw(seed, f"{leg_i} turned") % len(TURNED_DEG)]
    planned_deg = plan.legs[leg_i + 1].leg.course_mag_deg or 360
    return (planned_deg + by_deg) % 360 or 360


def _draw(seed: int, of: str) -> int:
    """A number that looks drawn: the same everywhere and in every version."""
    return int.from_bytes(blake2b(f"{seed} {of}".encode(), digest_size=8).digest(), "big")
