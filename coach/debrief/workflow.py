"""The five Ts of each heading change: which were run, how that is known, in which order and how late.

Never takes the coach's own prompt for the pilot's doing: it is told as what it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.debrief.journal_legs import JournalLegs, Word
from coach.debrief.leg_turns import LegOnTrack
from coach.debrief.model import By, HeadingChange, TDone
from coach.drill.model import Clock, Leg, T, Turn
from coach.drill.plan import Plan

BEFORE_S, AFTER_S = 6.0, 30.0
"""A T said so long before or after its checkpoint belongs to it (`session.callouts` has the same)."""

STARTS_CLOCK_S = 3.0
"""A word that begins a leg starts its timer; farther from the leg's beginning it is another word."""

LEVEL_PHRASE = "wings level"
PROMPTED = {
    T.TURN: ("left", "right"),
    T.TIME: ("time", "clock"),
    T.TWIST: ("course",),
    T.THROTTLE: ("throttle",),
    T.TALK: ("talk",),
}
"""How the coach's prompt of each T begins, or what is in it."""

DONE: tuple[By, ...] = ("called out", "seen", "confirmed")


def tell_workflow(plan: Plan, legs: Sequence[LegOnTrack], told: JournalLegs) -> tuple[HeadingChange, ...]:
    """Return one row for every heading change that was begun."""
    rows = []
    for laid in legs:
        if laid.leg.turn is Turn.NONE and not laid.leg.sets_course:
            continue
        ts = tuple(_t_done(t, laid, told) for t in plan.drill.five_ts)
        run = sorted((t for t in ts if t.by in DONE and t.late_s is not None), key=lambda t: t.late_s or 0.0)
        order = tuple(t.t for t in run)
        planned = tuple(t for t in plan.drill.five_ts if t in order)
        rows.append(
            HeadingChange(
                leg=laid.leg,
                at_s=laid.begun_s,
                ts=ts,
                order=order,
                is_in_order=None if len(order) < 2 else order == planned,
            )
        )
    return tuple(rows)


def _t_done(t: T, laid: LegOnTrack, told: JournalLegs) -> TDone:
    begun_s, shift_s = laid.entry.begun_s, laid.begun_s - laid.entry.begun_s
    called = [at_s for at_s, name in told.called if name == t and _is_near(at_s, begun_s)]
    if called:
        return TDone(t=t, by="called out", late_s=called[0] - begun_s)
    if not _is_needed(t, laid.leg):
        return TDone(t=t, by="not needed", late_s=None)
    if t is T.TURN and laid.turn is not None and laid.how != "wrong way":
        # After an intercept the turn is due when the needle says so: its checkpoint tells no lateness.
        late_s = None if laid.is_after_intercept else laid.turn.start_s - shift_s - begun_s
        return TDone(t=t, by="seen", late_s=late_s)
    if t is T.TURN and laid.is_fused:
        return TDone(t=t, by="seen", late_s=None)
    confirmed = next(_confirmed(t, laid, told.words), None)
    if confirmed is not None:
        return TDone(t=t, by="confirmed", late_s=confirmed - begun_s)
    prompted = next(_prompted(t, begun_s, told.words), None)
    if prompted is not None:
        return TDone(t=t, by="said by the coach", late_s=prompted - begun_s)
    return TDone(t=t, by="no sign", late_s=None)


def _is_near(at_s: float, begun_s: float) -> bool:
    return begun_s - BEFORE_S <= at_s <= begun_s + AFTER_S


def _is_needed(t: T, leg: Leg) -> bool:
    if t is T.TURN:
        return leg.turn is not Turn.NONE
    if t is T.TIME:
        return leg.clock is not Clock.NONE
    if t is T.TWIST:
        return leg.sets_course
    return (leg.throttle if t is T.THROTTLE else leg.talk) is not None


def _confirmed(t: T, laid: LegOnTrack, words: Sequence[Word]) -> Iterator[float]:
    """The pilot's word that started the clock, or that said the turn was done."""
    begun_s = laid.entry.begun_s
    for word in words:
        if word.who == "coach":
            continue
        starts = abs(word.at_s - begun_s) <= STARTS_CLOCK_S and word.text != LEVEL_PHRASE
        if t is T.TIME and laid.leg.clock is Clock.START and starts:
            yield word.at_s
        if (
            t is T.TURN
            and word.text == LEVEL_PHRASE
            and begun_s <= word.at_s <= laid.entry.begun_s + 2 * AFTER_S
        ):
            yield word.at_s


def _prompted(t: T, begun_s: float, words: Sequence[Word]) -> Iterator[float]:
    for word in words:
        if word.who != "coach" or not begun_s - 1.0 <= word.at_s <= begun_s + AFTER_S:
            continue
        text = word.text.lower()
        if text.startswith(PROMPTED[t]) or (t in (T.THROTTLE, T.TALK) and t.value in text):
            yield word.at_s
