"""Each session's figures side by side: how a skill goes from flight to flight, with its spread.

Never one number for a pilot, and no trend out of two flights: what lies inside the spread of the earlier
ones is told to be as before.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

from coach.debrief.model import Debrief
from coach.debrief.skills import Skill, gather_skills

ALL_DRILLS = "all drills"
FEWEST_EARLIER = 2
"""So many earlier sessions make a spread."""

LEAST_SPREAD = 0.02
"""Shares that differ by less are alike: one mark in fifty; our own choice."""

Direction = Literal["more often", "less often", "as before", "too few"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillFigure:
    """One skill in one session."""

    skill: str
    standard: str
    source: str
    limit: float
    unit: str
    is_held: bool
    """True: a quantity held over time. False: single marks."""

    n: int
    """Marks, or stretches of holding."""

    seconds: float
    """How long it was held; 0 for marks."""

    within_share: float
    """0 to 1."""

    mean: float | None
    """Of the marks; None where a quantity was held."""

    spread: float
    """Standard deviation of the marks; root mean square of a held quantity's deviation."""

    worst: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFigures:
    """One session."""

    session: str
    """Its journal's name."""

    began_utc: datetime
    drill: str
    is_rehearsed: bool
    """Flown by the simulated pilot: it stands apart from what a person flew."""

    minutes: float
    skills: tuple[SkillFigure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """One skill over the sessions of a drill, or of all drills; the oldest first."""

    drill: str
    skill: str
    standard: str
    points: tuple[tuple[SessionFigures, SkillFigure], ...]
    mean_share: float
    spread_share: float
    """Standard deviation of the shares; 0 for one session."""

    direction: Direction
    """The latest against the mean and the spread of those before it."""

    @property
    def latest(self) -> SkillFigure:
        """The figure of the last session."""
        return self.points[-1][1]

    @property
    def shares(self) -> tuple[float, ...]:
        """The shares within, session by session."""
        return tuple(figure.within_share for _, figure in self.points)


def summarise(debrief: Debrief, *, session: str, is_rehearsed: bool) -> SessionFigures:
    """Return what of a debrief goes into the history."""
    last_s = max((leg.ended_s or 0.0 for leg in debrief.legs), default=0.0)
    first_s = min((leg.begun_s for leg in debrief.legs if leg.begun_s is not None), default=last_s)
    return SessionFigures(
        session=session,
        began_utc=debrief.began_utc.astimezone(UTC),
        drill="track" if debrief.plan is None else debrief.plan.drill.name,
        is_rehearsed=is_rehearsed,
        minutes=max(0.0, last_s - first_s) / 60.0,
        skills=tuple(_figure(skill) for skill in gather_skills(debrief)),
    )


def _figure(skill: Skill) -> SkillFigure:
    return SkillFigure(
        skill=skill.what,
        standard=skill.standard.text,
        source=skill.standard.source,
        limit=skill.standard.limit,
        unit=skill.standard.unit,
        is_held=skill.is_held,
        n=skill.n,
        seconds=skill.seconds,
        within_share=skill.within_share,
        mean=skill.mean,
        spread=skill.spread,
        worst=skill.worst,
    )


def find_trends(sessions: Sequence[SessionFigures]) -> tuple[Trend, ...]:
    """Return each drill's trends, then each skill's over all drills where there are two or more.

    What a simulated pilot flew is a drill of its own and belongs to no person's skill.
    """
    ordered = sorted(sessions, key=lambda session: session.began_utc)
    drills = dict.fromkeys(drill_of(session) for session in ordered)
    found = [
        trend
        for drill in drills
        for trend in _trends(drill, [session for session in ordered if drill_of(session) == drill])
    ]
    flown = [session for session in ordered if not session.is_rehearsed]
    if len({session.drill for session in flown}) > 1:
        found += _trends(ALL_DRILLS, flown)
    return tuple(found)


def drill_of(session: SessionFigures) -> str:
    """The drill that a session counts for."""
    return f"{session.drill} (rehearsed)" if session.is_rehearsed else session.drill


def _trends(drill: str, sessions: Sequence[SessionFigures]) -> Iterator[Trend]:
    grouped: dict[tuple[str, str], list[tuple[SessionFigures, SkillFigure]]] = {}
    for session in sessions:
        for figure in session.skills:
            grouped.setdefault((figure.skill, figure.standard), []).append((session, figure))
    for (skill, standard), points in grouped.items():
        shares = [figure.within_share for _, figure in points]
        mean, spread = _mean_and_spread(shares)
        yield Trend(
            drill=drill,
            skill=skill,
            standard=standard,
            points=tuple(points),
            mean_share=mean,
            spread_share=spread,
            direction=_direction(shares),
        )


def _direction(shares: Sequence[float]) -> Direction:
    *earlier, latest = shares
    if len(earlier) < FEWEST_EARLIER:
        return "too few"
    mean, spread = _mean_and_spread(earlier)
    apart = latest - mean
    if abs(apart) <= max(spread, LEAST_SPREAD) + 1e-12:
        return "as before"
    return "more often" if apart > 0.0 else "less often"


def _mean_and_spread(values: Sequence[float]) -> tuple[float, float]:
    mean = sum(values) / len(values)
    return mean, math.sqrt(sum((value - mean) ** 2 for value in values) / len(values))
