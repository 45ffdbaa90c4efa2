"""What is told of a hold: its entries, its times, the lap that closes in the wind."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.drill.hold_notes import find_hold, find_lap, hold_notes
from coach.drill.plan import Plan, plan_drill
from coach.nav.holding import Hold
from coach.nav.wind import parse_wind
from tests.drill.eight_spoke import eight_spoke
from tests.drill.other_shapes import hold


def plan_of(wind: str = "360/0", arrive: int = 290) -> Plan:
    return plan_drill(replace(hold(), arrive_course_mag_deg=arrive), wind=parse_wind(wind))


def test_the_hold_is_found_by_its_outbound_leg() -> None:
    assert find_hold(plan_of()) == Hold(inbound_mag_deg=290, is_right=True)
    assert find_hold(plan_drill(eight_spoke())) is None
    assert hold_notes(plan_drill(eight_spoke())) == ()


@pytest.mark.parametrize(
    ("arrive", "told"),
    [
        # R26 and R27: AIM 5-3-8j, with the 110 and 180 degree sectors from memory. Inbound 290, right turns.
        (290, "Entry direct (AIM 5-3-8j)"),
        (80, "Entry teardrop (AIM 5-3-8j)"),
        (155, "Entry parallel (AIM 5-3-8j)"),
        (38, "Entry direct, or teardrop: within 5 degrees of the line (AIM 5-3-8j)"),
    ],
)
def test_either_entry_is_told_near_a_sectors_line(arrive: int, told: str) -> None:
    assert hold_notes(plan_of(arrive=arrive))[0] == told


def test_times_are_those_of_the_manual() -> None:
    # R22, R23: AIM 5-3-8j4.
    assert hold_notes(plan_of())[1] == (
        "Inbound 60 s at or below 14,000 ft, 90 s above; "
        "outbound timed from over or abeam the fix, whichever is later (AIM 5-3-8j4)"
    )


@pytest.mark.parametrize(
    ("wind", "told"),
    [
        ("360/0", "outbound heading 110, 60 s from abeam the fix, for 60 s inbound"),
        ("290/20", "outbound heading 110, 28 s from abeam the fix, for 60 s inbound"),
        ("110/20", "outbound heading 110, 111 s from abeam the fix, for 60 s inbound"),
        ("200/20", "outbound heading 146, 80 s from abeam the fix, for 60 s inbound"),
    ],
)
def test_the_lap_that_closes_is_told(wind: str, told: str) -> None:
    # Computed; in nil wind R18: FAA-H-8083-15B Fig 7-41.
    assert hold_notes(plan_of(wind))[2] == f"Exact in this wind: {told}"


def test_a_wind_in_which_no_lap_closes_is_told() -> None:
    windy = replace(plan_of(), wind=parse_wind("290/40"))
    assert hold_notes(windy)[2] == "In this wind no outbound leg closes the lap"
    assert find_lap(windy, Hold(inbound_mag_deg=290)) is None
