"""Questions, their right answers, and what becomes of any other."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from coach.drill.plan import Plan
from coach.session import recall
from coach.session.answers import Answer, Direction, Kind, heading
from coach.session.floor import WORD_S
from coach.session.mastery import Element
from coach.session.progress import Progress, State, enter
from coach.session.prompts import NEVER_SAID, count_of_words
from coach.session.recall import Fault, Judgement, Question, Verdict, evidence, find_expected, judge
from tests.session.dialogue import TABLE, eight_spoke

LEFT_195 = heading(195, Direction.LEFT)
PLAN = eight_spoke()


def on_leg(plan: Plan, leg_i: int, begun_s: float = 100.0) -> Progress:
    progress = Progress(state=State.ARRIVING)
    for i in range(leg_i + 1):
        progress = enter(plan, progress, i, onset_s=begun_s)
    return progress


def number(digits: str) -> Answer:
    return Answer(kind=Kind.NUMBER, digits=digits)


@pytest.mark.parametrize(
    ("heard", "verdict", "fault"),
    [
        (LEFT_195, Verdict.RIGHT, None),
        (heading(200, Direction.LEFT), Verdict.NEARLY, Fault.NEAR),
        (heading(190, Direction.LEFT), Verdict.NEARLY, Fault.NEAR),
        (heading(201, Direction.LEFT), Verdict.WRONG, None),
        (heading(195, Direction.RIGHT), Verdict.NEARLY, Fault.OTHER_SIDE),
        (heading(15, Direction.LEFT), Verdict.NEARLY, Fault.RECIPROCAL),
        (heading(195), Verdict.NEARLY, Fault.NO_SIDE),
        (heading(15, Direction.RIGHT), Verdict.WRONG, None),
        (heading(200), Verdict.WRONG, None),
        (Answer(kind=Kind.COURSE, digits="195"), Verdict.WRONG, None),
    ],
    ids=str,
)
def test_a_turn_is_right_or_has_one_fault_or_is_wrong(heard: Answer, verdict: Verdict, fault: Fault | None):
    assert judge(Question.TURN, LEFT_195, heard) == Judgement(verdict=verdict, fault=fault)


def test_north_is_five_degrees_from_three_five_five():
    heard = heading(355, Direction.LEFT)
    judgement = judge(Question.TURN, heading(360, Direction.LEFT), heard)
    assert judgement == Judgement(verdict=Verdict.NEARLY, fault=Fault.NEAR)


@pytest.mark.parametrize(
    ("question", "heard", "verdict"),
    [
        (Question.SECONDS, "40", Verdict.RIGHT),
        (Question.SECONDS, "35", Verdict.RIGHT),
        (Question.SECONDS, "50", Verdict.NEARLY),
        (Question.SECONDS, "51", Verdict.WRONG),
        (Question.SPOKE, "41", Verdict.WRONG),
    ],
)
def test_seconds_may_be_off_and_a_spoke_may_not(question: Question, heard: str, verdict: Verdict):
    assert judge(question, number("40"), number(heard)).verdict is verdict


class TestExpected:
    """The spokes of the procedure, worked by hand from 240: left 195, right 015, inbound 060; then 015."""

    @pytest.mark.parametrize(
        ("question", "leg_i", "expected"),
        [
            (Question.TURN, 0, "left 195"),
            (Question.TURN, 1, "right 015"),
            (Question.TURN, 2, None),
            (Question.TURN, 3, None),
            (Question.STATION_TURN, 3, "left 015"),
            (Question.STATION_TURN, 0, None),
            (Question.STATION_TURN, 31, None),
            (Question.SPOKE, 4, "2"),
            (Question.RADIAL, 3, "radial 240"),
            (Question.RADIAL, 0, None),
            (Question.COURSE, 0, "course 240"),
            (Question.COURSE, 1, "course 060"),
            (Question.SECONDS, 0, "40"),
            (Question.SECONDS, 3, None),
        ],
    )
    def test_what_is_right_on_each_leg(self, question: Question, leg_i: int, expected: str | None):
        found = find_expected(question, PLAN, on_leg(PLAN, leg_i), 120.0)
        assert (None if found is None else str(found)) == expected

    @pytest.mark.parametrize("question", list(Question))
    def test_nothing_can_be_asked_before_the_station_and_after_the_drill(self, question: Question):
        for state in (State.ARRIVING, State.COMPLETE):
            assert find_expected(question, PLAN, Progress(state=state), 0.0) is None

    def test_no_seconds_are_asked_after_the_leg_time(self):
        assert find_expected(Question.SECONDS, PLAN, on_leg(PLAN, 0), 161.0) is None

    def test_a_drill_of_one_spoke_is_not_asked_for_it(self):
        plan = eight_spoke(spokes=1)
        assert find_expected(Question.SPOKE, plan, on_leg(plan, 0), 120.0) is None


@pytest.mark.parametrize(
    ("heard", "worth"),
    [
        (LEFT_195, (1.0, 1.0, 1.0)),
        (heading(200, Direction.LEFT), (1.0, 0.5, 0.5)),
        (heading(195, Direction.RIGHT), (0.0, 1.0, 0.5)),
        (heading(15, Direction.LEFT), (1.0, 0.0, 0.5)),
        (heading(300, Direction.LEFT), (1.0, 0.0, 0.0)),
        (None, (0.0, 0.0, 0.0)),
    ],
    ids=str,
)
def test_a_turn_tells_of_side_heading_and_next_leg(heard: Answer | None, worth: tuple[float, ...]):
    elements = (Element.SIDE, Element.HEADING, Element.NEXT)
    assert evidence(Question.TURN, LEFT_195, heard) == tuple(zip(elements, worth, strict=True))


def test_a_side_that_was_not_heard_tells_nothing_of_it():
    told = evidence(Question.TURN, LEFT_195, heading(195))
    assert told == ((Element.HEADING, 1.0), (Element.NEXT, 0.5))


def test_a_heading_without_a_turn_tells_nothing_of_a_side():
    told = evidence(Question.TURN, heading(195), heading(195))
    assert told == ((Element.HEADING, 1.0), (Element.NEXT, 1.0))


def test_a_course_tells_of_the_course_alone():
    expected = Answer(kind=Kind.COURSE, digits="060")
    assert evidence(Question.COURSE, expected, expected) == ((Element.COURSE, 1.0),)
    assert evidence(Question.COURSE, expected, replace(expected, digits="240")) == ((Element.COURSE, 0.5),)


def corrections() -> list[str]:
    """Everything that can be said to any answer in the whole drill."""
    texts = list(recall.TEXTS.values())
    for leg_i in range(len(PLAN.legs)):
        for question in Question:
            expected = find_expected(question, PLAN, on_leg(PLAN, leg_i), 120.0)
            if expected is not None:
                texts.append(recall.told(question, expected))
                for fault in (None, *Fault):
                    judgement = Judgement(verdict=Verdict.NEARLY if fault else Verdict.WRONG, fault=fault)
                    texts.append(recall.correction(question, expected, judgement))
    return texts


def test_each_fault_is_named():
    said = [
        recall.correction(Question.TURN, LEFT_195, Judgement(verdict=Verdict.NEARLY, fault=fault))
        for fault in Fault
    ]
    assert said == [
        "Near. Coming left, one niner five",
        "Other side. Coming left, one niner five",
        "Reciprocal. Coming left, one niner five",
        "Coming left, one niner five",
    ]
    wrong = recall.correction(Question.TURN, LEFT_195, Judgement(verdict=Verdict.WRONG))
    assert wrong == "No. Coming left, one niner five"


def test_no_question_or_correction_holds_a_phrase_of_the_pilot_or_of_air_traffic_control():
    forbidden = [way.lower() for phrase in TABLE.phrases for way in phrase.ways] + list(NEVER_SAID)
    assert len(corrections()) > 200
    assert [
        (text, way)
        for text in set(corrections())
        for way in forbidden
        if re.search(rf"\b{way}\b", text.lower())
    ] == []


def test_no_correction_has_the_form_of_an_order_to_turn():
    assert [text for text in corrections() if re.match(r"(Left|Right|Inbound|Outbound)\b", text)] == []


def test_a_correction_is_said_in_four_seconds():
    assert max(count_of_words(text) for text in corrections()) * WORD_S <= 4.0
