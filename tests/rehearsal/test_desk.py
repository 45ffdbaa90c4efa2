"""Sessions at the desk: the real session, its pilot on time by the plan."""

from __future__ import annotations

from coach.rehearsal.desk import Desk, DeskSession
from coach.rehearsal.learners import Learner, LearnerKind, Traits
from coach.session.machine import Options
from coach.session.mastery import Element, Mastery, Step
from coach.session.teacher import Mode
from tests.session.dialogue import TABLE, eight_spoke

PLAN = eight_spoke(spokes=2)


def flown(known: float, mastery: tuple[Mastery, ...] = (), mode: Mode = Mode.RECALL) -> DeskSession:
    learner = Learner(Traits(kind=LearnerKind.KNOWS, known=known), session=1, seed="a")
    return Desk(PLAN, TABLE, Options(mode=mode, known=mastery), learner).fly()


def known(session: DeskSession) -> dict[Element, Mastery]:
    return {mastery.element: mastery for mastery in session.known}


def test_one_who_knows_everything_is_seen_to():
    session = flown(1.0)
    assert session.questions >= 5
    assert known(session)[Element.HEADING].known == 1.0
    assert known(session)[Element.SIDE].step == Step.SHORT


def test_one_who_knows_nothing_is_seen_to():
    session = flown(0.0)
    assert known(session)[Element.NEXT].known < 0.6
    assert known(session)[Element.NEXT].step == Step.FULL
    assert session.words > flown(1.0).words


def test_what_is_known_is_said_less():
    silent = tuple(Mastery(element=element, known=1.0, answers=60, step=3) for element in Element)
    assert flown(1.0, silent).words < flown(1.0).words / 2


def test_told_asks_nothing_and_learns_nothing():
    session = flown(1.0, mode=Mode.TOLD)
    assert session.questions == 0
    assert {mastery.answers for mastery in session.known} == {0}
