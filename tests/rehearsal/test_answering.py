"""The simulated pilot answers and calls out with his card before him; whole drills by keys in each mode."""

from __future__ import annotations

import pytest

from coach.rehearsal.answering import Answering, Practice, spoken_answer
from coach.rehearsal.card import print_card
from coach.rehearsal.learners import Learner, LearnerKind, Traits
from coach.rehearsal.rehearse import Conditions, Rehearsal, rehearse
from coach.rehearsal.summary import encode_rehearsal, render_rehearsal
from coach.rehearsal.talker import Word
from coach.session.actions import Tone
from coach.session.answers import Answer, Direction, Kind, heading, parse_answer
from coach.session.callouts import ALL_TS
from coach.session.mastery import Element, Mastery, Step
from coach.session.recall import TEXTS, Question
from coach.session.surprised import Surprises
from coach.session.surprises import Limits, SurpriseKind, plan_surprises
from coach.session.teacher import Mode
from coach.settings import Settings
from tests.session.dialogue import TABLE, eight_spoke

PLAN = eight_spoke(spokes=2)
PERFECT = Traits(kind=LearnerKind.KNOWS, known=1.0, answers_after_s=2.0)


def pilot(mode: Mode, traits: Traits = PERFECT) -> Answering:
    practice = Practice(mode=mode, learner=Learner(traits, session=1, seed="a"), order=ALL_TS)
    return Answering(print_card(PLAN), practice, only_keys=False)


def words(answering: Answering, until_s: float) -> list[Word]:
    found = (answering.find_word(tenth / 10) for tenth in range(round(until_s * 10)))
    return [word for word in found if word is not None]


def flown(mode: Mode, *, step: Step | None = None, traits: Traits = PERFECT) -> Rehearsal:
    known = (
        () if step is None else tuple(Mastery(element=e, step=step, known=0.9, answers=12) for e in Element)
    )
    learner = Learner(traits, session=1, seed="a")
    conditions = Conditions(
        table=TABLE, settings=Settings(mode=mode), typed=True, learner=learner, known=known
    )
    return rehearse(PLAN, conditions)


@pytest.mark.parametrize(
    ("question", "leg_i", "said"),
    [
        (Question.TURN, 0, "left 195"),
        (Question.STATION_TURN, 3, "left 015"),
        (Question.SPOKE, 4, "2"),
        (Question.RADIAL, 3, "radial 240"),
        (Question.COURSE, 1, "course 060"),
    ],
)
def test_one_who_knows_answers_from_his_card(question: Question, leg_i: int, said: str):
    answering = pilot(Mode.RECALL)
    answering.begin_leg(leg_i, 0.0)
    answering.hear_prompt(TEXTS[question], 20.0)
    assert {word.phrase for word in words(answering, 40.0)} == {said}


def test_an_answer_without_an_echo_is_given_once_more():
    for hear, times in ((None, 2), (Tone.HEARD, 1), (Tone.LOW, 2)):
        answering = pilot(Mode.RECALL)
        answering.begin_leg(0, 0.0)
        answering.hear_prompt(TEXTS[Question.TURN], 20.0)
        said = words(answering, 26.0)
        if hear is not None:
            answering.hear_tone(hear)
        assert len(said + words(answering, 60.0)) == times


def test_seconds_to_go_are_those_when_he_says_them():
    answering = pilot(Mode.RECALL)
    answering.begin_leg(0, 0.0)
    answering.hear_prompt(TEXTS[Question.SECONDS], 20.0)
    word = words(answering, 40.0)[0]
    assert abs(int(word.phrase) - (60 - word.at_s)) <= 1.0


def test_who_does_not_find_an_answer_says_nothing():
    answering = pilot(Mode.RECALL, Traits(kind=LearnerKind.SLOW, known=1.0, answers_after_s=60.0))
    answering.begin_leg(0, 0.0)
    answering.hear_prompt(TEXTS[Question.TURN], 20.0)
    assert words(answering, 60.0) == []


def test_what_is_told_first_is_not_answered_any_more():
    answering = pilot(Mode.RECALL)
    answering.begin_leg(0, 0.0)
    answering.hear_prompt(TEXTS[Question.TURN], 20.0)
    answering.hear_prompt("Ten seconds. Left, one niner five", 20.5)
    assert words(answering, 60.0) == []


def test_the_five_ts_are_called_one_by_one():
    answering = pilot(Mode.CALLOUT)
    answering.begin_leg(1, 0.0)
    said = words(answering, 30.0)
    assert [word.spoken or word.phrase for word in said] == [
        "turn left one niner five",
        "time",
        "twist zero six zero",
        "throttle",
        "talk",
    ]
    assert said[1].at_s < 5.0
    assert said[-1].at_s < 15.0


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (heading(195, Direction.LEFT), "left one niner five"),
        (Answer(kind=Kind.COURSE, digits="060"), "course zero six zero"),
        (Answer(kind=Kind.RADIAL, digits="240"), "radial two four zero"),
        (Answer(kind=Kind.NUMBER, digits="47"), "four seven"),
    ],
)
def test_an_answer_is_said_as_the_grammar_has_it(answer: Answer, said: str):
    assert spoken_answer(answer) == said
    assert parse_answer(said, answer.kind) == answer


def test_a_drill_in_recall_is_asked_answered_and_flown():
    flight = flown(Mode.RECALL)
    judged = [what for _, what in flight.judged]
    assert len(flight.legs) == len(PLAN.legs)
    assert len(judged) >= 5
    assert all(what.endswith(", right") for what in judged)
    assert any(
        line.startswith(f"Recall: {len(judged)} questions, {len(judged)} right")
        for line in render_rehearsal(flight)
    )
    assert encode_rehearsal(flight)["mode"] == "recall"
    assert {mastery.step for mastery in flight.mastery if mastery.answers > 2} == {1}


def test_a_drill_in_callouts_is_flown_almost_in_silence():
    flight = flown(Mode.CALLOUT)
    assert len(flight.legs) == len(PLAN.legs)
    assert [what for _, what in flight.judged if not what.startswith("callout complete")] == []
    assert [call.what for call in flight.calls if call.what.startswith(("Left", "Right", "Course"))] == []


def test_one_who_knows_nothing_is_told_in_callouts():
    flight = flown(Mode.CALLOUT, traits=Traits(kind=LearnerKind.GUESSES, known=0.0))
    assert [call.what for call in flight.calls if call.what.startswith(("Left", "Right"))]


def test_the_aircraft_turns_in_time_where_nothing_is_said():
    flight = flown(Mode.RECALL, step=Step.SILENCE)
    told = flown(Mode.TOLD)
    for quiet, loud in zip(flight.legs[1:3], told.legs[1:3], strict=True):
        assert abs(quiet.start_s - loud.start_s) < 3.0


def test_the_told_mode_judges_nothing():
    flight = flown(Mode.TOLD)
    assert flight.judged == ()
    assert encode_rehearsal(flight)["judged"] == []


@pytest.mark.parametrize(
    ("kind", "legs", "first"),
    [("hold", 14, "hold_outbound"), ("radial", 12, "outbound"), ("timer", 12, "outbound")],
)
def test_a_surprise_is_heard_and_flown(kind: str, legs: int, first: str):
    plan = eight_spoke(spokes=3)
    limits = Limits(lowest_ft=0.0, farthest_nm=9.0, is_simulator=True)
    planned = plan_surprises(plan, (SurpriseKind(kind),), limits, seed=1)
    conditions = Conditions(table=TABLE, typed=True, surprises=Surprises(planned=planned, limits=limits))
    flight = rehearse(plan, conditions)
    assert len(flight.legs) == len(flight.plan.legs) == legs
    assert flight.plan.legs[planned[0].leg_i + 1].leg.leg == first
    assert [call.what for call in flight.calls if call.what.startswith("Simulated")] == [planned[0].text]
    assert "disregard" not in [said.phrase for said in flight.said]
