"""Where the drill stands: one immutable value, so that undoing a step is putting the old one back.

Holds when the leg began and where its clock runs from. Never says anything, never waits.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from coach.drill.model import Clock, Ending, Leg, TimerFrom
from coach.drill.plan import Plan, PlannedLeg
from coach.nav.turn import turn_time_s

EARLY_SHARE = 0.5
"""A word that would end a leg before this share of its planned time is early."""

OVERDUE_SHARE = 1.25
"""Passage is asked for once when this share of its planned time has gone."""


class State(StrEnum):
    """What is going on."""

    ARRIVING = "arriving"
    """Flying to the station: the next passage begins a spoke."""

    FLYING = "flying"
    COMPLETE = "complete"


class Hush(StrEnum):
    """Whether the coach may speak."""

    NONE = "none"
    STANDING_BY = "standing by"
    """Speech stops, the timer runs, due calls are dropped."""

    SUSPENDED = "suspended"
    """Silence until "resume drill"; nothing moves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Where the drill stands."""

    state: State
    hush: Hush = Hush.NONE
    leg_i: int = 0
    """Index of the present leg, or while arriving of the leg that the next passage begins."""

    is_rejoin: bool = False
    """True while arriving after an interruption: the turn at passage is not known."""

    begun_s: float = 0.0
    """When the leg began, on the session clock."""

    clock_from_s: float | None = None
    """When the leg timer was started; None: stopped."""

    clock_reads_s: float = 0.0
    """What the clock reads when this leg's time is up."""

    level_s: float | None = None
    """When the pilot said "wings level" on this leg; None: not said."""

    established_s: float | None = None
    waits_for_word: bool = False
    """True where the leg time ran out in an interruption: the pilot's word moves on."""

    by_timer: bool = False
    """True where the leg began because the time of the one before was up."""

    issued: frozenset[str] = frozenset()
    """The calls of this leg that have been made or dropped."""


def leg_of(plan: Plan, progress: Progress) -> Leg:
    """The present leg."""
    return planned(plan, progress).leg


def planned(plan: Plan, progress: Progress) -> PlannedLeg:
    """The present leg as planned."""
    return plan.legs[progress.leg_i]


def find_following(plan: Plan, progress: Progress) -> Leg | None:
    """The leg after the present one."""
    i = progress.leg_i + 1
    return plan.legs[i].leg if i < len(plan.legs) else None


def enter(plan: Plan, before: Progress, leg_i: int, *, onset_s: float, by_timer: bool = False) -> Progress:
    """The leg of that index begins at `onset_s`; past the last leg the drill is complete."""
    if leg_i >= len(plan.legs):
        return replace(before, state=State.COMPLETE, begun_s=onset_s, clock_from_s=None, issued=frozenset())
    leg = plan.legs[leg_i].leg
    fresh = Progress(
        state=State.FLYING,
        hush=before.hush,
        leg_i=leg_i,
        is_rejoin=before.is_rejoin and before.state is State.ARRIVING,
        begun_s=onset_s,
        by_timer=by_timer,
        issued=frozenset({"opened"}) if by_timer and "turn" in before.issued else frozenset(),
    )
    return _with_clock(fresh, before, leg)


def _with_clock(fresh: Progress, before: Progress, leg: Leg) -> Progress:
    if leg.clock is Clock.RUN and before.clock_from_s is not None:
        reads_s = before.clock_reads_s + (leg.leg_s or 0.0)
        return replace(fresh, clock_from_s=before.clock_from_s, clock_reads_s=reads_s)
    if leg.clock in (Clock.START, Clock.RUN):
        return replace(fresh, clock_from_s=fresh.begun_s, clock_reads_s=leg.leg_s or 0.0)
    return fresh


def ends_at_s(plan: Plan, progress: Progress) -> float | None:
    """When the leg time is up, on the session clock; None where the leg is not timed."""
    leg = leg_of(plan, progress)
    if progress.state is not State.FLYING or leg.ends_on is not Ending.TIME or leg.leg_s is None:
        return None
    if plan.drill.timer_from is TimerFrom.LEVEL:
        return level_s(plan, progress) + leg.leg_s
    return None if progress.clock_from_s is None else progress.clock_from_s + progress.clock_reads_s


def level_s(plan: Plan, progress: Progress) -> float:
    """When the wings were level: as said, else after the turn's standard-rate time."""
    if progress.level_s is not None:
        return progress.level_s
    return progress.begun_s + turn_time_s(leg_of(plan, progress).turn_deg)


def timer_from_s(plan: Plan, progress: Progress) -> float | None:
    """When the timer that the pilot reads was started; None: stopped."""
    if plan.drill.timer_from is TimerFrom.TURN or progress.clock_from_s is None:
        return progress.clock_from_s
    return level_s(plan, progress)


def expected_s(plan: Plan, progress: Progress) -> float:
    """How long the plan gives the present leg, from its checkpoint to the next, in seconds."""
    return checkpoint_s(plan, progress.leg_i) - (
        checkpoint_s(plan, progress.leg_i - 1) if progress.leg_i else 0.0
    )


def checkpoint_s(plan: Plan, leg_i: int) -> float:
    """When the leg of that index ends as planned; the first passage is 0."""
    leg = plan.legs[leg_i]
    if leg.needle_alive_s is not None:
        return leg.needle_alive_s
    following = leg_i + 1
    return plan.legs[following].start_s if following < len(plan.legs) else plan.total_s


def accepts_from_s(plan: Plan, progress: Progress) -> float:
    """From when a word may end the present leg without being early.

    Half the leg's planned time; for an intercept half-way round the turn.
    """
    if progress.state is not State.FLYING:
        return progress.begun_s
    leg = planned(plan, progress)
    share_s = (
        leg.turn_s / 2 if leg.leg.ends_on is Ending.INTERCEPT else expected_s(plan, progress) * EARLY_SHARE
    )
    return progress.begun_s + share_s
