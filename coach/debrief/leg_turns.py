"""Which turn of the track belongs to which leg; what was skipped, repeated or flown the wrong way is said.

Never stretches a leg to a turn: one that is not there is not there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coach.debrief.alignment import SAME_WAY, SMALLEST_TURN_DEG
from coach.debrief.journal_legs import Entry
from coach.debrief.model import How, TurnFlown
from coach.drill.model import Ending, Leg, Turn
from coach.drill.plan import Plan

EARLY_S = 12.0
"""A turn may begin so long before its checkpoint; our own choice."""

LATE_S = 60.0
"""A turn later than this is another's."""

INTERCEPT_LATE_S = 180.0
"""After the needle is alive the last turn may be long in coming (78 s in 25 kt of wind, simulated)."""

NEXT_FROM = 0.75
"""From this share of a leg on a turn is the next one's."""

LEAST_SHARE = 0.4
"""A turn smaller than this share of the planned one is a correction."""

FUSED = "Its turn is one with that of the leg before."


@dataclass(frozen=True, slots=True, kw_only=True)
class LegOnTrack:
    """One leg with its seconds on the track's clock and the turn it began with."""

    leg: Leg
    before: Leg | None
    """The leg before it in the drill."""

    begun_s: float
    ended_s: float
    due_s: float | None
    how: How
    told: str
    turn: TurnFlown | None
    is_fused: bool
    """Its turn is one with that of the leg before."""

    level_s: float
    """When the wings are level: after its own turn, or one that goes on into it; else its beginning."""

    entry: Entry

    @property
    def is_after_intercept(self) -> bool:
        """Whether its turn begins when the needle says so, not at its checkpoint."""
        return self.before is not None and self.before.ends_on is Ending.INTERCEPT


def lay_legs(
    plan: Plan, entries: Sequence[Entry], turns: Sequence[TurnFlown], *, shift_s: float, end_s: float
) -> tuple[LegOnTrack, ...]:
    """Return the legs begun, in order; `shift_s` added to the session clock gives the track's.

    `end_s`: the last second of the track. The last turn of an intercept comes when the needle says so: it is
    looked for among those that no other leg claims.
    """
    slots = list(_slots(plan, entries, shift_s))
    found: dict[int, Found] = {}
    used: set[TurnFlown] = set()
    for is_after_intercept in (False, True):
        for k, slot in enumerate(slots):
            if slot.is_after_intercept is is_after_intercept:
                found[k] = _find_turn(slot, turns, used)
                used |= {turn for turn in found[k][:1] if turn is not None}
    return tuple(
        _laid(slot, found[k], turns, end_s, is_repeated=any(slot.leg == other.leg for other in slots[:k]))
        for k, slot in enumerate(slots)
    )


Found = tuple[TurnFlown | None, How, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Slot:
    """A leg that was begun, before its turn is looked for."""

    leg: Leg
    before: Leg | None
    begun_s: float
    following_s: float | None
    entry: Entry
    shift_s: float

    @property
    def is_after_intercept(self) -> bool:
        return self.before is not None and self.before.ends_on is Ending.INTERCEPT

    @property
    def latest_s(self) -> float:
        """The last moment at which a turn can be this leg's rather than the next one's."""
        if self.is_after_intercept:
            latest_s = self.begun_s + INTERCEPT_LATE_S
            return latest_s if self.following_s is None else min(latest_s, self.following_s - EARLY_S)
        latest_s = self.begun_s + LATE_S
        if self.following_s is None:
            return latest_s
        return min(latest_s, self.begun_s + NEXT_FROM * (self.following_s - self.begun_s))


def _slots(plan: Plan, entries: Sequence[Entry], shift_s: float) -> Iterator[_Slot]:
    known = {planned.leg.n: i for i, planned in enumerate(plan.legs)}
    for k, entry in enumerate(entries):
        i = known.get(entry.leg_n)
        if i is None:
            continue
        yield _Slot(
            leg=plan.legs[i].leg,
            before=plan.legs[i - 1].leg if i else None,
            begun_s=entry.begun_s + shift_s,
            following_s=entries[k + 1].begun_s + shift_s if k + 1 < len(entries) else None,
            entry=entry,
            shift_s=shift_s,
        )


def _laid(
    slot: _Slot, found: Found, turns: Sequence[TurnFlown], end_s: float, *, is_repeated: bool
) -> LegOnTrack:
    turn, how, told = found
    going_on = _find_going_on(slot, turns)
    level_s = max([slot.begun_s, *(one.end_s for one in (turn, going_on) if one is not None)])
    entry = slot.entry
    is_fused = told == FUSED
    if is_repeated and how == "flown":
        how, told = "repeated", "This leg was flown before."
    if slot.begun_s < -EARLY_S or slot.begun_s > end_s:
        turn, how, told = None, "not on track", "The track does not cover this leg."
    elif entry.is_interrupted or entry.ended_s is None:
        how, told = "broken off", "The drill was interrupted on this leg." + (f" {told}" if told else "")
    return LegOnTrack(
        leg=slot.leg,
        before=slot.before,
        begun_s=slot.begun_s,
        ended_s=end_s if entry.ended_s is None else entry.ended_s + slot.shift_s,
        due_s=None if entry.due_s is None else entry.due_s + slot.shift_s,
        how=how,
        told=told,
        turn=turn,
        is_fused=is_fused,
        level_s=level_s,
        entry=entry,
    )


def skipped(plan: Plan, entries: Sequence[Entry]) -> tuple[Leg, ...]:
    """Return the legs passed over: a later one was begun, these never were."""
    begun = {entry.leg_n for entry in entries}
    last = max(begun, default=0)
    first = min(begun, default=0)
    return tuple(
        planned.leg for planned in plan.legs if first < planned.leg.n < last and planned.leg.n not in begun
    )


def _find_going_on(slot: _Slot, turns: Sequence[TurnFlown]) -> TurnFlown | None:
    """The turn that was on when the leg began."""
    return next((turn for turn in turns if turn.start_s < slot.begun_s < turn.end_s), None)


def _find_turn(slot: _Slot, turns: Sequence[TurnFlown], used: set[TurnFlown]) -> Found:
    leg = slot.leg
    if leg.turn is Turn.NONE or leg.turn_deg < SMALLEST_TURN_DEG:
        return None, "flown", ""
    near = [
        turn
        for turn in turns
        if turn not in used
        and slot.begun_s - EARLY_S <= turn.start_s <= slot.latest_s
        and abs(turn.turn_deg) >= LEAST_SHARE * leg.turn_deg
    ]
    right_way = [turn for turn in near if turn.turn_deg * SAME_WAY[leg.turn] > 0.0]
    if right_way:
        return min(right_way, key=lambda turn: abs(turn.start_s - slot.begun_s)), "flown", ""
    going_on = _find_going_on(slot, turns)
    if going_on is not None and going_on.turn_deg * SAME_WAY[leg.turn] > 0.0:
        return None, "flown", FUSED
    if near:
        turn = min(near, key=lambda turn: abs(turn.start_s - slot.begun_s))
        side = "right" if turn.turn_deg > 0.0 else "left"
        told = f"Turned {side} by {abs(turn.turn_deg):.0f} degrees, {leg.turn} was planned."
        return turn, "wrong way", told
    told = f"A turn {leg.turn} by {leg.turn_deg} degrees was planned, the track shows none."
    return None, "no turn seen", told
