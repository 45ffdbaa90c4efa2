"""Conversion by forms: what each takes, and how a value that does not fit is told."""

from __future__ import annotations

import pytest

from coach.drill.conversion import parse_number, read_value
from coach.drill.findings import MOST_PROBLEMS, Findings, find_nearest
from coach.drill.forms import Entries, Form, Key, ListOf, Number, OneOf, Record, Text
from coach.drill.leg_language import NEVER_SAID, WORDS
from coach.drill.source import Node
from coach.errors import DrillError
from coach.session import prompts
from coach.store.documents import parse_document
from coach.store.phrases import read_phrases

WHOLE = Number(low=1, high=360, is_whole=True)
TENTHS = Number(low=-1.5, high=1.5)


def tree(text: str) -> Node:
    return parse_document(text, DrillError, name="x", file="x.yaml").root


def problems(text: str, form: Form) -> list[str]:
    findings = Findings(file="x.yaml", error=DrillError)
    read_value(tree(text), "here", form, findings)
    return [str(problem) for _, problem in findings.found]


@pytest.mark.parametrize(("text", "value"), [("1", 1), ("360", 360), ("045", 45), ("+5", 5)])
def test_whole_number_is_read_as_written(text: str, value: int) -> None:
    assert parse_number(text, WHOLE) == value


@pytest.mark.parametrize(
    "text", ["0", "361", "1.0", "1e2", "0x10", "1_0", "", " 1", "-1", "nan", "inf", "１", "9" * 5000, "1:30"]
)
def test_what_is_no_whole_number_in_range_is_refused(text: str) -> None:
    assert parse_number(text, WHOLE) is None


@pytest.mark.parametrize(("text", "value"), [("-1.5", -1.5), ("0.25", 0.25), ("1", 1.0), ("-0", 0.0)])
def test_number_is_read_as_written(text: str, value: float) -> None:
    assert parse_number(text, TENTHS) == value


@pytest.mark.parametrize("text", ["1.51", ".5", "1.", "1,5", "1e0", "-inf", "--1"])
def test_what_is_no_number_in_range_is_refused(text: str) -> None:
    assert parse_number(text, TENTHS) is None


@pytest.mark.parametrize(
    ("text", "form", "expected"),
    [
        ("[1]", WHOLE, "expected a whole number from 1 to 360, got a list"),
        ("a: 1", WHOLE, "expected a whole number from 1 to 360, got a mapping"),
        ("''", WHOLE, "expected a whole number from 1 to 360, got nothing"),
        ("rigth", OneOf(values={"left": 1, "right": 2}),
         "expected one of left, right (nearest: 'right'), got 'rigth'"),
        ("x", ListOf(form=WHOLE), "expected a list, got 'x'"),
        ("[]", ListOf(form=WHOLE, most=3), "expected a list of 1 to 3, got 0"),
        ("x", Entries(form=WHOLE), "expected a mapping, got 'x'"),
        ("{a: 1, b: 2}", Entries(form=WHOLE, most=1), "expected at most 1 entries, got 2"),
        ('"a\\tb"', Text(), "expected a text of 1 to 2000 printable characters, got 'a\\tb'"),
        ('"\\e[31mred"', Text(), "expected a text of 1 to 2000 printable characters, got '\\x1b[31mred'"),
    ],
)  # fmt: skip
def test_value_that_does_not_fit_is_told_in_one_line(text: str, form: Form, expected: str) -> None:
    assert problems(text, form) == [f"x.yaml:1:1: here: {expected}"]


@pytest.mark.parametrize("barred", NEVER_SAID)
def test_text_for_a_prompt_is_refused_whatever_the_case(barred: str) -> None:
    form = Text(refused=NEVER_SAID)
    assert len(problems(f"say {barred.upper()}, now", form)) == 1
    assert problems(f"say {barred}er now", form) == []


def test_what_the_coach_never_says_no_drill_may_make_it_say() -> None:
    assert set(prompts.NEVER_SAID) <= set(NEVER_SAID)


def test_list_items_are_counted_from_one() -> None:
    assert problems("[1, 0, 2, x]", ListOf(form=WHOLE)) == [
        "x.yaml:1:5: here[2]: expected a whole number from 1 to 360, got '0'",
        "x.yaml:1:11: here[4]: expected a whole number from 1 to 360, got 'x'",
    ]


def test_record_is_made_only_of_values_without_problems() -> None:
    made: list[dict[str, object]] = []
    key = Key(name="n", form=WHOLE, means="A number.", is_required=True)
    record = Record(of="a thing", keys=(key,), make=lambda **values: made.append(values))
    assert problems("{n: 0}", record) == [
        "x.yaml:1:5: here.n: expected a whole number from 1 to 360, got '0'"
    ]
    assert made == []
    assert problems("{n: 7}", record) == []
    assert [values["n"] for values in made] == [7]


def test_problems_stop_at_a_hundred() -> None:
    findings = Findings(file="x.yaml", error=DrillError)
    with pytest.raises(DrillError) as raised:
        read_value(tree(f"[{'0,' * 500}]"), "", ListOf(form=WHOLE, most=500), findings)
    assert len(raised.value.problems) == MOST_PROBLEMS


@pytest.mark.parametrize(("name", "nearest"), [("leg_sec", "leg_s"), ("LEG_S", None), ("x" * 10_000, None)])
def test_nearest_name_is_offered_only_where_one_is_alike(name: str, nearest: str | None) -> None:
    assert find_nearest(name, ["leg_s", "offset_leg_s", "spokes"]) == nearest


@pytest.mark.parametrize("way", [way for phrase in read_phrases("en").phrases for way in phrase.ways])
def test_no_drill_can_put_a_word_of_the_pilots_into_a_prompt(way: str) -> None:
    assert problems(f"Then {way} once", WORDS)
