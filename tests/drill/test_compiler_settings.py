"""What each setting of the eight-spoke drill does, and the warnings that come of it."""

from __future__ import annotations

import pytest

from coach.drill.compiler import compile_drill, find_shortest_offset_s
from coach.drill.model import Drill, T, TimerFrom, Turn
from coach.errors import DrillError
from coach.store.drills import read_source

SOURCE = read_source("eight-spoke")


def compile_eight(**settings: str) -> Drill:
    return compile_drill(SOURCE, {"first_outbound": "240", **settings})


def offsets(drill: Drill) -> list[Turn]:
    return [leg.turn for leg in drill.legs if leg.leg == "offset"]


def test_defaults_are_eight_spokes_of_four_legs_timed_from_the_turn() -> None:
    drill = compile_drill(SOURCE, {})
    assert (drill.spokes, len(drill.legs), drill.timer_from) == (8, 32, TimerFrom.TURN)
    assert [leg.leg for leg in drill.legs[:4]] == ["outbound", "offset", "reversal", "inbound"]
    assert [leg.leg_s for leg in drill.legs[:4]] == [60.0, 60.0, None, None]
    assert drill.five_ts == (T.TURN, T.TIME, T.TWIST, T.THROTTLE, T.TALK)
    assert drill.warnings == ()


def test_first_outbound_of_the_file_is_its_own_choice() -> None:
    drill = compile_drill(SOURCE, {})
    assert drill.legs[0].heading_mag_deg == 110
    assert drill.arrive_course_mag_deg == 155


@pytest.mark.parametrize(
    ("settings", "arrive"),
    [
        pytest.param({}, 285, id="240 turned back from 45 left"),
        pytest.param({"rotation": "45 right"}, 195, id="240 turned back from 45 right"),
        pytest.param({"first_outbound": "330"}, 15, id="across north"),
        pytest.param({"arrive_course": "90"}, 90, id="as given"),
    ],
)
def test_arrive_course_makes_the_first_turn_like_the_others(settings: dict[str, str], arrive: int) -> None:
    assert compile_eight(**settings).arrive_course_mag_deg == arrive


def test_first_turn_goes_the_shorter_way_from_the_arrive_course() -> None:
    first = compile_eight(arrive_course="200").legs[0]
    assert (first.turn, first.turn_deg) == (Turn.RIGHT, 40)


def test_straight_back_goes_the_way_of_the_rotation() -> None:
    left, right = (compile_eight(arrive_course="60", rotation=way).legs[0] for way in ("45 left", "45 right"))
    assert (left.turn, left.turn_deg) == (Turn.LEFT, 180)
    assert (right.turn, right.turn_deg) == (Turn.RIGHT, 180)


def test_no_turn_where_the_heading_stays() -> None:
    first = compile_eight(arrive_course="240").legs[0]
    assert (first.turn, first.turn_deg) == (Turn.NONE, 0)


@pytest.mark.parametrize(
    ("sides", "expected"),
    [
        ("alternate", [Turn.LEFT, Turn.RIGHT, Turn.LEFT]),
        ("left", [Turn.LEFT, Turn.LEFT, Turn.LEFT]),
        ("right", [Turn.RIGHT, Turn.RIGHT, Turn.RIGHT]),
    ],
)
def test_sides_choose_the_offset(sides: str, expected: list[Turn]) -> None:
    assert offsets(compile_eight(sides=sides, spokes="3")) == expected


def test_settings_are_told_as_text_that_compiles_to_the_same_drill() -> None:
    drill = compile_eight(rotation="60 right", leg_s="72.5", sides="left", timer_from="level", spokes="3")
    assert drill.settings == (
        ("first_outbound", "240"), ("arrive_course", "180"), ("spokes", "3"), ("rotation", "60 right"),
        ("sides", "left"), ("leg_s", "72.5"), ("offset_leg_s", "60"), ("timer_from", "level"),
        ("wind_correction", "off"),
    )  # fmt: skip
    assert compile_drill(SOURCE, dict(drill.settings)) == drill


@pytest.mark.parametrize(
    ("timer_from", "shortest_s"),
    [
        # R13: 2 / w = 38.20 s straight, any speed (geometry); 15 s of turn before it (U1).
        pytest.param("turn", 53.2, id="from the start of the turn"),
        pytest.param("level", 38.2, id="from wings level"),
    ],
)
def test_shortest_offset_leg_is_that_of_the_geometry(timer_from: str, shortest_s: float) -> None:
    drill = compile_eight(timer_from=timer_from)
    found_s = find_shortest_offset_s(drill.legs[1], drill.timer_from)
    assert found_s == pytest.approx(shortest_s, abs=0.05)


@pytest.mark.parametrize(
    ("settings", "warnings"),
    [
        ({"offset_leg_s": "53.2"}, ()),
        (
            {"offset_leg_s": "53"},
            ("The offset leg of 53 s from the start of the turn leaves no room to lead the turn inbound: "
             "the shortest is 53.2 s.",),
        ),
        ({"offset_leg_s": "38.2", "timer_from": "level"}, ()),
        (
            {"offset_leg_s": "38", "timer_from": "level"},
            ("The offset leg of 38 s from wings level leaves no room to lead the turn inbound: "
             "the shortest is 38.2 s.",),
        ),
    ],
)  # fmt: skip
def test_author_is_warned_once_of_what_flies_badly(
    settings: dict[str, str], warnings: tuple[str, ...]
) -> None:
    assert compile_eight(**settings).warnings == warnings


def test_every_wrong_setting_is_told_at_once() -> None:
    with pytest.raises(DrillError) as raised:
        compile_drill(
            SOURCE,
            {
                "offset_leg": "45", "first_outbound": "400", "spokes": "0", "rotation": "45 up",
                "sides": "lft", "leg_s": "nan", "timer_from": "",
            },
        )  # fmt: skip
    assert str(raised.value).splitlines() == [
        "--set: expected a setting of this drill (nearest: 'offset_leg_s'), got 'offset_leg'",
        "--set first_outbound: expected a whole number from 1 to 360 deg magnetic, got '400'",
        "--set spokes: expected a whole number from 1 to 16, got '0'",
        "--set rotation: expected degrees 0 to 180 and left or right, like '45 left', got '45 up'",
        "--set sides: expected one of alternate, left, right (nearest: 'left'), got 'lft'",
        "--set leg_s: expected a number from 10 to 600 s, got 'nan'",
        "--set timer_from: expected one of turn, level, got nothing",
    ]


@pytest.mark.parametrize("spokes", ["0", "17", "-1", "8.0", "eight", "1e1", "８"])
def test_spokes_are_1_to_16_in_digits(spokes: str) -> None:
    with pytest.raises(DrillError, match="--set spokes: expected a whole number from 1 to 16"):
        compile_eight(spokes=spokes)


@pytest.mark.parametrize("spokes", ["1", "16"])
def test_fewest_and_most_spokes_compile(spokes: str) -> None:
    assert compile_eight(spokes=spokes).spokes == int(spokes)
