"""The briefing in sentences: every number as the trade says it, nothing left away."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.drill.cautions import CAUTIONS
from coach.drill.model import Ending, Turn
from coach.drill.plan import plan_drill
from coach.nav.wind import parse_wind
from coach.session.aloud import duration_words, read_briefing, say_numbers
from coach.session.spoken import Style
from coach.store.drills import Listing, list_drills, read_drill
from tests.drill.eight_spoke import eight_spoke, leg
from tests.drill.other_shapes import arc, circles, up_and_down

PLAN = plan_drill(eight_spoke(spokes=2), wind=parse_wind("250/20"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        # T-7: AIM 4-2-8d, digit by digit.
        ("10", "one zero"),
        (
            "by up to 0.25 NM (10 s of flight).",
            "by up to zero point two five miles (one zero seconds of flight).",
        ),
        ("At 2000 ft above it", "At two zero zero zero feet above it"),
        ("On legs 1, 5 the aircraft", "On legs one, five the aircraft"),
        ("45/180 reversal", "four five, one eight zero reversal"),
        ("wind 250/20", "wind two five zero, two zero"),
        ("10,000 ft", "one zero zero zero zero feet"),
        ("119.5", "one one niner point five"),
        ("no number", "no number"),
    ],
)
def test_numbers_are_said_digit_by_digit(text: str, said: str) -> None:
    assert say_numbers(text) == said


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (60, "one minute"),
        (45, "four five seconds"),
        (59.6, "one minute"),
        (90, "one minute three zero seconds"),
        (2508, "four one minutes four eight seconds"),
        (0, "zero seconds"),
    ],
)
def test_times_are_minutes_and_seconds(seconds: float, said: str) -> None:
    assert duration_words(seconds) == said


def test_the_first_spoke_is_read_leg_by_leg() -> None:
    said = read_briefing(PLAN)
    start = said.index("Spoke one.")
    assert said[start + 1 : start + 5] == (
        "Outbound, left, two four zero, steer two four two, set two four zero, one minute.",
        "Offset, left, one niner five, set zero six zero, one minute.",
        "Reversal, right, zero one five, one four seconds on the intercept heading.",
        "Inbound, right, zero six zero, steer zero five eight, to the station.",
    )


def test_wind_and_speed_are_said_in_the_style_asked_for() -> None:
    assert "True airspeed niner zero knots. Wind two five zero at two zero." in read_briefing(PLAN)
    icao = "True airspeed niner zero knots. Wind two five zero degrees two zero knots."
    assert icao in read_briefing(PLAN, style=Style.ICAO)
    calm = plan_drill(eight_spoke(spokes=1))
    assert "True airspeed niner zero knots. Wind calm." in read_briefing(calm)


def test_no_figure_is_left_for_the_voice_to_guess() -> None:
    odd = replace(PLAN, warnings=("At 2500 ft above it 0.68 NM, 27 s.",))
    for sentence in read_briefing(odd, station="Nowhere Deep"):
        assert not any(character.isdigit() for character in sentence)


def test_every_warning_and_caution_is_read() -> None:
    plan = replace(PLAN, warnings=("The drill is odd.",))
    said = read_briefing(plan)
    assert "Warning. The drill is odd." in said
    assert [text for text in said if text.startswith("Caution. ")] == [
        f"Caution. {say_numbers(caution.text)}" for caution in CAUTIONS
    ]
    assert said[-1] == "End of briefing."


def test_the_request_is_the_one_on_the_card() -> None:
    # procedure.md, "Before flight": miles of the reach and one more, minutes rounded up to five.
    request = next(text for text in read_briefing(PLAN, station="Nowhere Deep") if "request" in text)
    assert request == (
        "Your request: traffic advisories, maneuvering within six miles of Nowhere Deep VOR, "
        "at your altitude, for one five minutes."
    )


def test_a_spoke_that_goes_through_is_told() -> None:
    plan = plan_drill(eight_spoke(), wind=parse_wind("060/20"))
    assert any("through the course before roll-out" in text for text in read_briefing(plan))


@pytest.mark.parametrize("listing", list_drills(), ids=lambda listing: listing.name)
def test_every_drill_is_read_without_a_figure_left(listing: Listing) -> None:
    said = read_briefing(plan_drill(read_drill(listing.name, {}), wind=parse_wind("250/20")))
    assert not any(character.isdigit() or character == "_" for text in said for character in text)
    assert all(text[0].isupper() and text.endswith(".") for text in said)


def test_a_drill_that_begins_on_the_pilots_word_is_read_from_there() -> None:
    said = read_briefing(plan_drill(circles()))
    assert "Begin on heading three six zero." in said
    assert "From your word to the end four minutes." in said
    assert "Reach one point zero miles from where it begins." in said
    assert "Right circle, right, three six zero." in said
    assert "Lap one." in said


def test_an_arc_is_read_with_the_place_where_it_begins() -> None:
    said = read_briefing(plan_drill(arc()))
    assert "Begin on heading one four five, one zero point five miles out on radial three two five." in said


def test_a_change_of_altitude_is_up_or_down() -> None:
    said = read_briefing(plan_drill(up_and_down()))
    assert "Phase, straight on, three six zero, up five zero zero feet." in said
    assert "Phase, straight on, three six zero, down one zero zero zero feet." in said
    assert not any("climb" in text.lower() for text in said)


def test_a_leg_without_spoke_or_heading_is_read_too() -> None:
    circle = leg(1, None, "circle", Turn.LEFT, 360, None, None, tracks=False, ends_on=Ending.HEADING)
    wait = leg(2, None, "wait", Turn.NONE, 0, 360, None, tracks=False, leg_s=30, ends_on=Ending.WORD)
    plan = plan_drill(replace(eight_spoke(spokes=1), legs=(circle, wait)))
    said = read_briefing(plan)
    assert "Circle, left." in said
    assert "Wait, straight on, three six zero, three zero seconds." in said
    assert not any(text.startswith("Spoke") for text in said)
