"""Where the drill stands: one immutable value, so that undoing a step is putting the old one back.

Holds when the leg began and where its clock runs from. Never says anything, never waits.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import takewhile

from coach.drill.lap_times import settle_s
from coach.drill.model import Clock, Ending, Leg, TimerFrom
from coach.drill.plan import Plan, PlannedLeg
from coach.nav.holding import next_outbound_s
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

    outbound_s: float | None = None
    """How long the last leg that is corrected lap by lap was flown with the wings level; None: none was."""

    next_s: float | None = None
    """The time that such a leg has in the next lap; None: as planned."""

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
        said = frozenset({"opened"}) if by_timer and "turn" in before.issued else frozenset()
        return replace(before, state=State.COMPLETE, begun_s=onset_s, clock_from_s=None, issued=said)
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
    return _with_clock(_corrected(plan, before, fresh), before, leg)


def _corrected(plan: Plan, before: Progress, fresh: Progress) -> Progress:
    """What the leg just flown means for a time that is corrected lap by lap."""
    if before.state is not State.FLYING:
        return fresh
    fresh = replace(fresh, outbound_s=before.outbound_s, next_s=before.next_s)
    flown = leg_of(plan, before)
    straight_s = max(0.0, fresh.begun_s - before.begun_s - turn_time_s(flown.turn_deg))
    if flown.corrects_for is not None:
        return replace(fresh, outbound_s=straight_s)
    outbound = find_corrected(plan, before.leg_i)
    if outbound is None or before.outbound_s is None:
        return fresh
    next_s = next_outbound_s(before.outbound_s, straight_s, wanted_s=wanted_s(plan, outbound)).exact
    return replace(fresh, next_s=settle_s(next_s, before.next_s))


def find_corrected(plan: Plan, leg_i: int) -> Leg | None:
    """The leg of the same lap whose time the leg of that index corrects."""
    measured = plan.legs[leg_i].leg
    legs = (planned.leg for planned in plan.legs[first_of_round(plan, leg_i) : leg_i])
    return next((leg for leg in legs if leg.corrects_for == measured.leg), None)


def wanted_s(plan: Plan, outbound: Leg) -> float:
    """How long the leg inbound is to last: as long as the first leg outbound was published to."""
    published = next(leg for leg in plan.drill.legs if leg.leg == outbound.leg and leg.corrects_for)
    return published.leg_s or 0.0


def _with_clock(fresh: Progress, before: Progress, leg: Leg) -> Progress:
    if leg.clock is Clock.RUN and before.clock_from_s is not None:
        reads_s = before.clock_reads_s + (leg.leg_s or 0.0)
        return replace(fresh, clock_from_s=before.clock_from_s, clock_reads_s=reads_s)
    if leg.clock in (Clock.START, Clock.RUN) or leg.ends_on is Ending.TIME:
        return replace(fresh, clock_from_s=fresh.begun_s, clock_reads_s=leg.leg_s or 0.0)
    return fresh


def ends_at_s(plan: Plan, progress: Progress) -> float | None:
    """When the leg time is up, on the session clock; None where the leg is not timed."""
    leg = leg_of(plan, progress)
    lasts_s = progress.next_s if leg.corrects_for is not None and progress.next_s else leg.leg_s
    if progress.state is not State.FLYING or leg.ends_on is not Ending.TIME or lasts_s is None:
        return None
    if timing_of(plan, leg) is not TimerFrom.TURN:
        return level_s(plan, progress) + lasts_s
    return None if progress.clock_from_s is None else progress.clock_from_s + progress.clock_reads_s


def timing_of(plan: Plan, leg: Leg) -> TimerFrom:
    """Where the time of a leg is counted from."""
    return leg.timed_from or plan.drill.timer_from


def level_s(plan: Plan, progress: Progress) -> float:
    """When the wings were level (or the fix abeam): as said, else after the turn's standard-rate time."""
    if progress.level_s is not None:
        return progress.level_s
    return progress.begun_s + turn_time_s(leg_of(plan, progress).turn_deg)


def timer_from_s(plan: Plan, progress: Progress) -> float | None:
    """When the timer that the pilot reads was started; None: stopped."""
    if timing_of(plan, leg_of(plan, progress)) is TimerFrom.TURN or progress.clock_from_s is None:
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

    Half the leg's planned time; for an intercept half-way round the turn. A leg that ends on the pilot's own
    word is as long as he makes it.
    """
    leg = planned(plan, progress)
    if progress.state is not State.FLYING or leg.leg.ends_on is Ending.WORD:
        return progress.begun_s
    is_by_turn = leg.leg.ends_on is Ending.INTERCEPT and leg.leg.arc_nm is None
    share_s = leg.turn_s / 2 if is_by_turn else expected_s(plan, progress) * EARLY_SHARE
    return progress.begun_s + share_s


def awaits(plan: Plan, leg_i: int) -> Ending:
    """What begins the leg of that index for one who arrives for it: passage, or the pilot's word."""
    before = plan.drill.begins_on if leg_i == 0 else plan.legs[leg_i - 1].leg.ends_on
    return Ending.PASSAGE if before is Ending.PASSAGE else Ending.WORD


def start_mag_deg(plan: Plan, leg_i: int) -> int | None:
    """The heading on which the pilot's word begins the leg of that index; None where a passage does."""
    if awaits(plan, leg_i) is Ending.PASSAGE:
        return None
    headings = (leg.leg.heading_mag_deg for leg in reversed(plan.legs[:leg_i]))
    return next((mag_deg for mag_deg in headings if mag_deg), plan.drill.arrive_course_mag_deg)


def round_of(leg: Leg) -> tuple[int | None, int | None]:
    """The spoke or lap that a leg belongs to; both None for one flown once."""
    return leg.spoke, leg.lap


def first_of_round(plan: Plan, leg_i: int) -> int:
    """The index of the first leg of the spoke or lap that a leg belongs to; of a drill without, the first."""
    while leg_i and round_of(plan.legs[leg_i - 1].leg) == round_of(plan.legs[leg_i].leg):
        leg_i -= 1
    return leg_i


def legs_in_round(plan: Plan, leg_i: int) -> int:
    """How many legs that spoke or lap has."""
    first = first_of_round(plan, leg_i)
    wanted = round_of(plan.legs[first].leg)
    return sum(1 for _ in takewhile(lambda leg: round_of(leg.leg) == wanted, plan.legs[first:]))
