"""Spoken answers: every way of saying parses back, and nothing else does."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.session.answer_tree import follow_answer
from coach.session.answer_words import ENGLISH, VOCABULARIES, Vocabulary
from coach.session.answers import (
    Answer,
    Direction,
    Kind,
    confusions_of,
    direction_ways,
    heading,
    parse_answer,
    ways_of,
)
from coach.session.spoken import digit_words, heading_words

SIDES = (None, Direction.LEFT, Direction.RIGHT)
LANGUAGES = sorted(VOCABULARIES)
numbers = st.text("0123456789", min_size=1, max_size=12).map(lambda d: Answer(kind=Kind.NUMBER, digits=d))
directions = st.builds(
    lambda kind, value: Answer(kind=kind, digits=f"{value:03}"),
    st.sampled_from([Kind.HEADING, Kind.COURSE, Kind.RADIAL]),
    st.integers(1, 360),
)
turns = st.builds(heading, st.integers(0, 360), st.sampled_from(SIDES))
answers = numbers | directions | turns


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_heading_in_every_way_of_saying_parses_back(language: str) -> None:
    words = VOCABULARIES[language]
    for value_deg in range(1, 361):
        for way in ways_of(heading(value_deg), words):
            assert parse_answer(way, Kind.HEADING, words) == heading(value_deg), way


@pytest.mark.parametrize("language", LANGUAGES)
@given(answer=answers, asked=st.data())
def test_every_answer_in_every_way_of_saying_parses_back(language: str, answer: Answer, asked) -> None:
    words = VOCABULARIES[language]
    way = asked.draw(st.sampled_from(ways_of(answer, words)))
    assert parse_answer(way, answer.kind, words) == answer
    assert parse_answer(way.title(), answer.kind, words) == answer


@given(answer=answers, pick=st.data())
def test_every_way_of_saying_can_be_followed_word_by_word(answer: Answer, pick) -> None:
    said = tuple(pick.draw(st.sampled_from(ways_of(answer))).split())
    for place, word in enumerate((*said, None)):
        assert word in follow_answer(said[:place], answer.kind)


@given(asked=st.sampled_from(Kind), pick=st.data())
def test_whatever_can_be_followed_to_its_end_is_an_answer(asked: Kind, pick) -> None:
    said: tuple[str, ...] = ()
    while (word := pick.draw(st.sampled_from(sorted(follow_answer(said, asked), key=str)))) is not None:
        said = (*said, word)
    assert parse_answer(" ".join(said), asked) is not None


@given(value_deg=st.integers(1, 360))
def test_what_the_coach_says_is_understood_by_the_grammar(value_deg: int) -> None:
    assert parse_answer(heading_words(value_deg), Kind.HEADING) == heading(value_deg)
    digits = str(value_deg)
    assert parse_answer(digit_words(digits), Kind.NUMBER) == Answer(kind=Kind.NUMBER, digits=digits)


COURSE_360 = Answer(kind=Kind.COURSE, digits="360")
SAID = {
    # AIM 4-2-10 (T-11), radio digits AIM 4-2-7 (T-2), Doc 9432 (T-18).
    "zero zero five": heading(5),
    "three six zero": heading(360),
    "heading one zero zero": heading(100),
    "heading zero eight zero": heading(80),
    "heading zero niner zero": heading(90),
    "course tree six zero": COURSE_360,
    "tree fife niner": heading(359),
    # Common practice, no source.
    "three fifteen": heading(315),
    "one eighty": heading(180),
    "two seventy": heading(270),
    "ninety": heading(90),
    "fifteen": heading(15),
    "one oh five": heading(105),
    "one hundred and eighty": heading(180),
    "three hundred": heading(300),
    "zero zero zero": heading(360),
    "zero nine zero degrees": heading(90),
    "left three one five": heading(315, Direction.LEFT),
    "turn right heading two seventy": heading(270, Direction.RIGHT),
    "right turn to zero-four-five": heading(45, Direction.RIGHT),
}
NO_HEADING = [
    "", "left", "heading", "three", "three one", "one eight", "three six one", "four zero zero",
    "niner niner", "three one five five", "left right three one five", "heading left three one five",
    "left course three one five", "three fifteen five", "three one five please", "degrees",
    "station passage", "zero", "hundred",
]  # fmt: skip


@pytest.mark.parametrize(("said", "answer"), SAID.items(), ids=list(SAID))
def test_answer_to_a_question_for_a_heading(said: str, answer: Answer) -> None:
    assert parse_answer(said, Kind.HEADING) == answer


@pytest.mark.parametrize("said", NO_HEADING, ids=lambda said: said or "nothing")
def test_anything_else_is_no_heading(said: str) -> None:
    assert parse_answer(said, Kind.HEADING) is None


@pytest.mark.parametrize(
    ("said", "digits"),
    [("four", "4"), ("oh fife", "05"), ("fifteen", "15"), ("one two zero", "120"), ("forty-five", "45")],
)
def test_answer_to_a_question_for_a_number(said: str, digits: str) -> None:
    assert parse_answer(said, Kind.NUMBER) == Answer(kind=Kind.NUMBER, digits=digits)


@pytest.mark.parametrize("said", ["", "heading four", "four four " * 7, "fifteen four", "left"])
def test_anything_else_is_no_number(said: str) -> None:
    assert parse_answer(said, Kind.NUMBER) is None


def test_digits_alone_are_of_the_kind_that_was_asked_for() -> None:
    for kind in (Kind.HEADING, Kind.COURSE, Kind.RADIAL):
        assert parse_answer("zero niner zero", kind) == Answer(kind=kind, digits="090")
    assert parse_answer("course zero niner zero", Kind.RADIAL) == Answer(kind=Kind.COURSE, digits="090")


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_way_of_saying_has_two_meanings(language: str) -> None:
    words = VOCABULARIES[language]
    seen: dict[tuple[str, ...], str] = {}
    for way, digits in direction_ways(words).items():
        assert seen.setdefault(way, digits) == digits
    assert set(seen.values()) == {f"{value:03}" for value in range(1, 361)}


@pytest.mark.parametrize(
    "answer",
    [
        {"kind": Kind.HEADING, "digits": "000"},
        {"kind": Kind.HEADING, "digits": "361"},
        {"kind": Kind.COURSE, "digits": "90"},
        {"kind": Kind.NUMBER, "digits": ""},
        {"kind": Kind.NUMBER, "digits": "1" * 13},
        {"kind": Kind.COURSE, "digits": "090", "direction": Direction.LEFT},
    ],
    ids=str,
)
def test_answer_that_cannot_be_is_a_bug(answer: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="is no answer"):
        Answer(**answer)


@given(answer=answers)
def test_confusions_are_other_answers_each_once(answer: Answer) -> None:
    found = confusions_of(answer)
    assert answer not in found
    assert len(set(found)) == len(found)
    assert all(other.kind is answer.kind for other in found)


def test_confusions_of_a_turn() -> None:
    turn = heading(130, Direction.LEFT)
    digits = {other.digits for other in confusions_of(turn) if other.direction is Direction.LEFT}
    named = {"310", "125", "135", "120", "140", "030", "230", "330", "103", "031"}
    assert digits >= named
    tens = {f"1{n}0" for n in range(10)}
    ones = {f"13{n}" for n in range(10)}
    assert digits == (named | tens | ones | {"310"}) - {"130"}
    assert heading(130, Direction.RIGHT) in confusions_of(turn)
    assert {other.digits for other in confusions_of(heading(130))} == digits


def test_confusions_of_a_number() -> None:
    found = {other.digits for other in confusions_of(Answer(kind=Kind.NUMBER, digits="15"))}
    assert found == {f"{n}5" for n in "023456789"} | {f"1{n}" for n in "012346789"} | {
        "51",
        "1",
        "5",
        "115",
        "155",
    }


def test_answer_reads_in_a_few_characters() -> None:
    texts = [
        str(a) for a in (heading(5), heading(315, Direction.LEFT), Answer(kind=Kind.NUMBER, digits="04"))
    ]
    assert texts == ["heading 005", "left 315", "04"]


def test_radio_forms_are_those_of_the_manual() -> None:
    # AIM 4-2-7 (T-2): TREE, FOW-ER, FIFE, NIN-ER.
    assert [said[-1] for said in ENGLISH.digits if len(said) > 1][1:] == ["tree", "fower", "fife", "niner"]
    assert isinstance(ENGLISH, Vocabulary)


def test_twist_begins_a_course_only_where_a_course_is_asked_for() -> None:
    course = Answer(kind=Kind.COURSE, digits="360")
    assert parse_answer("twist three six zero", Kind.COURSE) == course
    assert "twist three six zero" in ways_of(course)
    assert parse_answer("twist three six zero", Kind.HEADING) is None
