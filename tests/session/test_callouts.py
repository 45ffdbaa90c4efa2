"""The five Ts as a pilot says them, good and bad: what is found, and when.

The leg is the offset of spoke 1: left 195, the clock runs on, course 060 (worked by hand from 240).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest

from coach.drill.model import Leg, T, TimerFrom, Turn
from coach.session.answers import Answer, Direction, Kind, heading
from coach.session.callouts import (
    ALL_TS,
    Callout,
    Piece,
    Wrong,
    callout_evidence,
    check_callout,
    needed_ts,
    render_callout,
)
from coach.session.mastery import Element
from tests.session.dialogue import eight_spoke

PLAN = eight_spoke()
OUTBOUND, OFFSET, REVERSAL, INBOUND = (planned.leg for planned in PLAN.legs[:4])
BEGUN_S = 100.0
LEFT_195 = heading(195, Direction.LEFT)
COURSE_060 = Answer(kind=Kind.COURSE, digits="060")
VALUES = {T.TURN: LEFT_195, T.TWIST: COURSE_060}


def pieces(*said: tuple[T, float]) -> list[Piece]:
    return [Piece(t=t, onset_s=BEGUN_S + after_s, answer=VALUES.get(t)) for t, after_s in said]


def good() -> list[Piece]:
    return pieces((T.TURN, 0.5), (T.TIME, 3.0), (T.TWIST, 5.0), (T.THROTTLE, 8.0), (T.TALK, 9.2))


def check(
    said: list[Piece], after_s: float = 16.0, leg: Leg = OFFSET, order: tuple[T, ...] = ALL_TS
) -> Callout:
    needed = needed_ts(leg, None, order, TimerFrom.TURN)
    return check_callout(leg, needed, said, begun_s=BEGUN_S, at_s=BEGUN_S + after_s)


def found(callout: Callout) -> list[str]:
    return [str(finding) for finding in callout.findings]


def test_a_good_callout_has_no_finding():
    callout = check(good())
    assert found(callout) == []
    assert callout.lasted_s == pytest.approx(9.2)
    assert render_callout(callout) == "callout complete in 9.2 s"


@pytest.mark.parametrize("left_out", list(ALL_TS))
def test_whatever_is_left_out_is_missing(left_out: T):
    callout = check([piece for piece in good() if piece.t is not left_out])
    assert found(callout) == [f"{left_out} missing"]
    assert not callout.is_complete


@pytest.mark.parametrize(
    ("after_s", "missing"),
    [
        (4.9, []),
        (5.0, ["turn missing", "time missing"]),
        (14.9, ["turn missing", "time missing"]),
        (15.0, [f"{t} missing" for t in ALL_TS]),
    ],
)
def test_turn_and_time_are_missed_after_five_seconds_the_rest_after_fifteen(
    after_s: float, missing: list[str]
):
    assert found(check([], after_s)) == missing


@pytest.mark.parametrize(
    ("t", "after_s", "late"),
    [(T.TURN, 5.1, True), (T.TIME, 5.1, True), (T.TALK, 14.9, False), (T.TALK, 15.1, True)],
)
def test_late_is_told_from_missing(t: T, after_s: float, late: bool):
    said = [piece for piece in good() if piece.t is not t] + pieces((t, after_s))
    assert check(said, 20.0).has(t, Wrong.LATE) is late
    assert not check(said, 20.0).has(t, Wrong.MISSING)


def test_a_wrong_heading_and_a_wrong_course_are_found():
    turn = Piece(t=T.TURN, onset_s=BEGUN_S, answer=heading(195, Direction.RIGHT))
    twist = Piece(t=T.TWIST, onset_s=BEGUN_S + 4, answer=Answer(kind=Kind.COURSE, digits="240"))
    assert found(check([turn, twist], 4.5)) == ["turn wrong", "twist wrong"]


def test_a_turn_without_its_heading_is_wrong():
    assert check([Piece(t=T.TURN, onset_s=BEGUN_S)], 1.0).has(T.TURN, Wrong.VALUE)


def test_who_corrects_himself_is_right():
    wrong = Piece(t=T.TURN, onset_s=BEGUN_S, answer=heading(15, Direction.LEFT))
    assert found(check([wrong, *good()])) == []


@pytest.mark.parametrize("order", list(permutations(ALL_TS))[::7])
def test_every_other_order_than_the_drills_is_found(order: tuple[T, ...]):
    said = pieces(*((t, 0.5 + 0.9 * place) for place, t in enumerate(order)))
    is_out = any(finding.wrong is Wrong.ORDER for finding in check(said).findings)
    assert is_out is (order != ALL_TS)


def test_some_schools_put_time_first():
    order = (T.TIME, T.TURN, T.TWIST, T.THROTTLE, T.TALK)
    said = pieces((T.TIME, 0.0), (T.TURN, 1.0), (T.TWIST, 4.0), (T.THROTTLE, 6.0), (T.TALK, 7.0))
    assert found(check(said, order=order)) == []
    assert found(check(said)) == ["turn out of order"]


def test_a_turn_called_as_it_begins_counts_and_one_of_the_leg_before_does_not():
    early = pieces((T.TURN, -3.0), (T.TIME, 1.0), (T.TWIST, 3.0), (T.THROTTLE, 5.0), (T.TALK, 6.0))
    assert found(check(early)) == []
    assert check(pieces((T.TURN, -30.0))).has(T.TURN, Wrong.MISSING)


@pytest.mark.parametrize(
    ("leg", "before", "timing", "needed"),
    [
        (OUTBOUND, None, TimerFrom.TURN, ALL_TS),
        (OFFSET, OUTBOUND, TimerFrom.TURN, ALL_TS),
        (OFFSET, OUTBOUND, TimerFrom.LEVEL, (T.TURN, T.TWIST, T.THROTTLE, T.TALK)),
        (replace(OFFSET, sets_course=False), OUTBOUND, TimerFrom.TURN, (T.TURN, T.TIME)),
        (replace(OUTBOUND, turn=Turn.NONE), None, TimerFrom.TURN, (T.TIME, T.TWIST, T.THROTTLE, T.TALK)),
        (REVERSAL, OFFSET, TimerFrom.TURN, (T.TURN,)),
        (INBOUND, REVERSAL, TimerFrom.TURN, ()),
    ],
)
def test_what_each_leg_needs(leg: Leg, before: Leg | None, timing: TimerFrom, needed: tuple[T, ...]):
    assert needed_ts(leg, before, ALL_TS, timing) == needed


def test_the_idle_ts_may_be_said_all_the_same():
    said = [
        Piece(t=T.TURN, onset_s=BEGUN_S, answer=heading(15, Direction.RIGHT)),
        *pieces((T.TIME, 2), (T.TALK, 3)),
    ]
    assert found(check(said, leg=REVERSAL)) == []


def test_a_callout_tells_of_each_element():
    assert callout_evidence(OFFSET, check(good())) == (
        (Element.SIDE, 1.0),
        (Element.HEADING, 1.0),
        (Element.NEXT, 1.0),
        (Element.TIMER, 1.0),
        (Element.COURSE, 1.0),
    )
    nothing = callout_evidence(OFFSET, check([]))
    assert {worth for _, worth in nothing} == {0.0}
    assert len(nothing) == 5
    late = callout_evidence(OFFSET, check(pieces((T.TIME, 7.0))))
    assert (Element.TIMER, 0.5) in late


def test_the_journal_line_names_what_was_wrong():
    said = [piece for piece in good() if piece.t is not T.TALK]
    assert render_callout(check(said)) == "callout: talk missing"
