"""Compiling the eight-spoke drill against headings worked by hand, and its settings."""

from __future__ import annotations

import pytest

from coach.drill.compiler import compile_drill
from coach.drill.model import Clock, Drill, Ending, Leg, Turn
from coach.store.drills import read_source

SOURCE = read_source("eight-spoke")


def compile_eight(**settings: str) -> Drill:
    return compile_drill(SOURCE, {"first_outbound": "240", **settings})


def headings(drill: Drill, spoke: int) -> list[int | None]:
    return [leg.heading_mag_deg for leg in drill.legs if leg.spoke == spoke]


def test_outbounds_come_round_as_worked_by_hand() -> None:
    # Common practice, no source; worked by hand.
    legs = compile_eight().legs
    outbounds = [leg.heading_mag_deg for leg in legs if leg.leg == "outbound"]
    assert outbounds == [240, 15, 150, 285, 60, 195, 330, 105]


@pytest.mark.parametrize(
    ("spoke", "expected"),
    [
        pytest.param(1, [240, 195, 15, 60], id="first, offset left"),
        pytest.param(2, [15, 60, 240, 195], id="second, offset right"),
        pytest.param(3, [150, 105, 285, 330], id="third, offset left"),
    ],
)
def test_spoke_flies_the_headings_worked_by_hand(spoke: int, expected: list[int]) -> None:
    # Common practice, no source; worked by hand.
    assert headings(compile_eight(), spoke) == expected


def test_second_spoke_is_compiled_leg_by_leg() -> None:
    assert compile_eight().legs[4:8] == (
        Leg(
            n=5, spoke=2, leg="outbound", turn=Turn.LEFT, turn_deg=45, heading_mag_deg=15, course_mag_deg=15,
            sets_course=True, tracks=True, clock=Clock.START, leg_s=60.0, ends_on=Ending.TIME,
            throttle=None, talk=None,
        ),
        Leg(
            n=6, spoke=2, leg="offset", turn=Turn.RIGHT, turn_deg=45, heading_mag_deg=60, course_mag_deg=195,
            sets_course=True, tracks=False, clock=Clock.RUN, leg_s=60.0, ends_on=Ending.TIME,
            throttle=None, talk=None,
        ),
        Leg(
            n=7, spoke=2, leg="reversal", turn=Turn.LEFT, turn_deg=180, heading_mag_deg=240,
            course_mag_deg=195, sets_course=False, tracks=False, clock=Clock.STOP, leg_s=None,
            ends_on=Ending.INTERCEPT, throttle=None, talk=None,
        ),
        Leg(
            n=8, spoke=2, leg="inbound", turn=Turn.LEFT, turn_deg=45, heading_mag_deg=195, course_mag_deg=195,
            sets_course=False, tracks=True, clock=Clock.NONE, leg_s=None, ends_on=Ending.PASSAGE,
            throttle=None, talk=None,
        ),
    )  # fmt: skip
