"""The five Ts: which are known to be run, how, and in which order."""

from __future__ import annotations

from coach.debrief.journal_legs import Entry, JournalLegs, Word
from coach.debrief.leg_turns import LegOnTrack
from coach.debrief.model import HeadingChange, TDone, TurnFlown
from coach.debrief.workflow import tell_workflow
from coach.drill.model import T
from tests.session.dialogue import eight_spoke

PLAN = eight_spoke(spokes=1)


def turned(at_s: float) -> TurnFlown:
    return TurnFlown(
        start_s=at_s,
        end_s=at_s + 15.0,
        turn_deg=-45.0,
        rate_deg_s=3.0,
        before_mag_deg=285.0,
        after_mag_deg=240.0,
        by="heading",
    )


def row(
    n: int,
    *,
    turn: TurnFlown | None = None,
    words: tuple[Word, ...] = (),
    called: tuple[tuple[float, str], ...] = (),
) -> HeadingChange:
    leg = PLAN.legs[n - 1].leg
    laid = LegOnTrack(
        leg=leg,
        before=None,
        begun_s=1100.0,
        ended_s=1160.0,
        due_s=None,
        how="flown",
        told="",
        turn=turn,
        is_fused=False,
        level_s=1115.0,
        entry=Entry(leg_n=n, begun_s=100.0),
    )
    told = JournalLegs(entries=(laid.entry,), words=words, called=called, bookmarks=(), ended_s=200.0)
    (change,) = tell_workflow(PLAN, (laid,), told)
    return change


def done(change: HeadingChange, t: T) -> TDone:
    (found,) = [one for one in change.ts if one.t is t]
    return found


def test_a_turn_in_the_feed_is_seen_and_the_word_that_began_the_leg_confirms_the_time():
    change = row(1, turn=turned(1102.5), words=(Word(at_s=101.2, text="station passage", who="pilot"),))
    assert done(change, T.TURN).by == "seen"
    assert done(change, T.TURN).late_s == 2.5
    assert done(change, T.TIME).by == "confirmed"
    assert round(done(change, T.TIME).late_s or 0.0, 1) == 1.2
    assert (change.order, change.is_in_order) == ((T.TIME, T.TURN), False)


def test_a_callout_tells_each_t_and_its_order():
    called = ((100.5, "turn"), (102.0, "time"), (104.0, "twist"), (106.0, "throttle"), (107.0, "talk"))
    change = row(1, called=called)
    assert {one.by for one in change.ts} == {"called out"}
    assert change.order == PLAN.drill.five_ts
    assert change.is_in_order is True


def test_a_t_that_only_the_coach_said_is_told_as_that():
    change = row(2, words=(Word(at_s=107.0, text="Course zero six zero", who="coach"),))
    assert done(change, T.TWIST) == TDone(t=T.TWIST, by="said by the coach", late_s=7.0)
    assert T.TWIST not in change.order


def test_what_nothing_shows_has_no_sign_and_what_is_not_asked_is_not_needed():
    change = row(2)
    assert done(change, T.TURN).by == "no sign"
    assert done(change, T.TWIST).by == "no sign"
    assert done(change, T.THROTTLE).by == "not needed"
    assert change.is_in_order is None


def test_wings_level_confirms_a_turn_that_no_feed_saw():
    change = row(2, words=(Word(at_s=116.0, text="wings level", who="pilot"),))
    assert done(change, T.TURN) == TDone(t=T.TURN, by="confirmed", late_s=16.0)
