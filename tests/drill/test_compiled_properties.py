"""What holds of the eight-spoke drill as compiled from its file, whatever its settings."""

from __future__ import annotations

import os
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coach.drill.compiler import compile_drill, find_shortest_offset_s
from coach.drill.model import Drill, Ending, Turn
from coach.drill.plan import BESIDE_NM, plan_drill
from coach.errors import DrillError
from coach.nav.units import FT_PER_NM
from coach.store.drills import read_source

SOURCE = read_source("eight-spoke")
NEAR_FT = 50.0
EXAMPLES = 3000 if os.environ.get("COACH_LONG") else 60

FIRSTS = st.integers(1, 360)
SPOKES = st.integers(1, 16)
SIDES = st.sampled_from(["alternate", "left", "right"])
TIMERS = st.sampled_from(["turn", "level"])
WAYS = st.sampled_from(["left", "right"])


def compiled(
    first: int,
    spokes: int = 2,
    sides: str = "alternate",
    rotation: str = "45 left",
    timer_from: str = "turn",
    leg_s: float = 60,
    offset_leg_s: float = 60,
) -> Drill:
    values = {
        "first_outbound": str(first),
        "spokes": str(spokes),
        "sides": sides,
        "rotation": rotation,
        "timer_from": timer_from,
        "leg_s": f"{leg_s:g}",
        "offset_leg_s": f"{offset_leg_s:g}",
    }
    return compile_drill(SOURCE, values)


def passage_turns_deg(drill: Drill) -> list[int]:
    return [leg.turn_deg for leg in drill.legs if leg.leg == "outbound"]


@given(FIRSTS, SPOKES, SIDES, st.integers(0, 180), WAYS)
@settings(deadline=None, max_examples=EXAMPLES)
def test_headings_are_1_to_360_and_every_spoke_comes_back_on_the_reciprocal(
    first: int, spokes: int, sides: str, rotation_deg: int, way: str
) -> None:
    drill = compiled(first, spokes, sides, f"{rotation_deg} {way}")
    assert drill.spokes == spokes
    for leg in drill.legs:
        assert leg.heading_mag_deg in range(1, 361)
        assert leg.course_mag_deg in range(1, 361)
    for outbound, inbound in zip(drill.legs[0::4], drill.legs[3::4], strict=True):
        assert (inbound.course_mag_deg or 0) % 360 == ((outbound.course_mag_deg or 0) + 180) % 360
        assert inbound.heading_mag_deg == inbound.course_mag_deg


@given(FIRSTS, SPOKES, SIDES, st.integers(0, 180), WAYS)
@settings(deadline=None, max_examples=EXAMPLES)
def test_the_turns_add_up_to_the_headings_modulo_360(
    first: int, spokes: int, sides: str, rotation_deg: int, way: str
) -> None:
    drill = compiled(first, spokes, sides, f"{rotation_deg} {way}")
    sign = {Turn.LEFT: -1, Turn.RIGHT: 1, Turn.NONE: 0}
    turned = [sign[leg.turn] * leg.turn_deg for leg in drill.legs]
    headings = [drill.arrive_course_mag_deg, *(leg.heading_mag_deg or 0 for leg in drill.legs)]
    for turn_deg, (before, after) in zip(turned, pairwise(headings), strict=True):
        assert (before + turn_deg - after) % 360 == 0
    assert (headings[0] + sum(turned) - headings[-1]) % 360 == 0


@given(FIRSTS, SIDES, st.integers(0, 90), WAYS, TIMERS, st.floats(60, 240), st.floats(0.1, 120))
@example(1, "alternate", 65, "left", "turn", 60.0, 0.5)
@settings(deadline=None, max_examples=EXAMPLES)
def test_in_nil_wind_it_returns_over_the_station_within_50_feet(
    first: int, sides: str, rotation_deg: int, way: str, timer_from: str, leg_s: float, spare_s: float
) -> None:
    shortest_s = 53.2 if timer_from == "turn" else 38.2
    drill = compiled(first, 2, sides, f"{rotation_deg} {way}", timer_from, leg_s, shortest_s + spare_s)
    assert drill.warnings == ()
    assert max(passage_turns_deg(drill)) <= 90
    plan = plan_drill(drill, height_ft=500)
    for planned in plan.legs:
        if planned.leg.ends_on is Ending.PASSAGE:
            assert planned.path[-1].end.distance_nm * FT_PER_NM <= NEAR_FT
    # A minute is not long enough to be established on the radial after a turn of 60 degrees and more (65 left
    # ends it a foot beside and 1.5 degrees off its heading): such a spoke may go through its course. It comes
    # back over the station all the same.
    for outbound, reversal in zip(plan.legs[0::4], plan.legs[2::4], strict=True):
        assert not reversal.goes_through or outbound.established_s is None


@given(FIRSTS, SIDES, TIMERS, st.floats(10, 53))
@settings(deadline=None, max_examples=EXAMPLES)
def test_a_shorter_offset_leg_is_told_and_goes_through_the_course(
    first: int, sides: str, timer_from: str, offset_leg_s: float
) -> None:
    drill = compiled(first, 1, sides, timer_from=timer_from, offset_leg_s=offset_leg_s)
    shortest_s = find_shortest_offset_s(drill.legs[1], drill.timer_from) or 0.0
    told = any("leaves no room to lead the turn inbound" in warning for warning in drill.warnings)
    assert told == (drill.legs[1].leg_s is not None and drill.legs[1].leg_s < shortest_s)
    reversal = plan_drill(drill, height_ft=500).legs[2]
    if abs((drill.legs[1].leg_s or 0) - shortest_s) > 0.01:
        assert reversal.goes_through == told


@given(FIRSTS, SIDES, st.integers(91, 175), WAYS)
@settings(deadline=None, max_examples=EXAMPLES)
def test_a_passage_turn_over_90_degrees_is_told_where_it_is_displaced(
    first: int, sides: str, rotation_deg: int, way: str
) -> None:
    plan = plan_drill(compiled(first, 2, sides, f"{rotation_deg} {way}"), height_ft=500)
    beside = [abs(leg.beside_nm or 0.0) for leg in plan.legs if leg.leg.leg == "outbound"]
    told = any("still beside its radial at leg time" in warning for warning in plan.warnings)
    assert told == (max(beside) > BESIDE_NM)
    assert told or rotation_deg <= 92


@pytest.mark.parametrize("first", [1, 240, 360])
def test_spokes_turned_right_round_over_the_station_are_refused(first: int) -> None:
    # Offset left after a turn left by 180, a spoke is too far beside its radial to come back within a minute.
    with pytest.raises(DrillError, match="expected a leg that ends on passage, got one that never does"):
        plan_drill(compiled(first, 2, "alternate", "180 left"))
