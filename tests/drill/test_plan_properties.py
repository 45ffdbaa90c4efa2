"""What holds of every plan of the eight-spoke drill, whatever its settings and the wind."""

import math
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from coach.drill.model import Drill, Ending, TimerFrom, Turn
from coach.drill.plan import plan_drill
from coach.nav.angles import as_heading, difference_deg
from coach.nav.units import FT_PER_NM
from coach.nav.wind import Wind
from tests.drill.eight_spoke import eight_spoke

SIDES = st.sampled_from([(Turn.LEFT, Turn.RIGHT), (Turn.LEFT,), (Turn.RIGHT,)])
NEAR_FT = 50.0
SHORTEST_OFFSET_S = 53.2
"""From the start of the turn: 2 / w = 38.2 s straight (R13, geometry)."""


@st.composite
def drills(draw: st.DrawFn, widest_deg: int = 90) -> Drill:
    return eight_spoke(
        first_outbound=draw(st.integers(1, 360)),
        spokes=draw(st.integers(1, 16)),
        rotation_deg=draw(st.integers(-widest_deg, widest_deg)),
        sides=draw(SIDES),
        leg_s=draw(st.floats(60, 240)),
        offset_leg_s=draw(st.floats(SHORTEST_OFFSET_S, 180)),
        timer_from=draw(st.sampled_from(TimerFrom)),
    )


WINDS = st.builds(Wind, from_deg=st.floats(1, 360), speed_kt=st.floats(0, 25))


@given(drills(), st.floats(60, 180))
@settings(deadline=None, max_examples=60)
def test_in_nil_wind_every_spoke_comes_back_over_the_station(drill: Drill, tas_kt: float) -> None:
    plan = plan_drill(drill, tas_kt=tas_kt)
    for planned in plan.legs:
        if planned.leg.ends_on is Ending.PASSAGE:
            assert planned.path[-1].end.distance_nm * FT_PER_NM <= NEAR_FT


@given(drills(widest_deg=180))
@settings(deadline=None, max_examples=60)
def test_headings_turns_and_courses_fit_together(drill: Drill) -> None:
    heading = drill.arrive_course_mag_deg
    for leg in drill.legs:
        sign = {Turn.LEFT: -1, Turn.RIGHT: 1, Turn.NONE: 0}[leg.turn]
        heading = as_heading(heading + sign * leg.turn_deg)
        assert heading == leg.heading_mag_deg
    for outbound, inbound in zip(drill.legs[0::4], drill.legs[3::4], strict=True):
        assert abs(difference_deg(outbound.course_mag_deg or 0, inbound.course_mag_deg or 0)) == 180


@given(drills(widest_deg=180))
@settings(deadline=None, max_examples=30)
def test_wide_passage_turns_are_either_closed_or_told(drill: Drill) -> None:
    plan = plan_drill(drill, tas_kt=90)
    for planned in plan.legs:
        if planned.leg.tracks and abs(planned.beside_nm or 0) > 0.1:
            assert any("beside" in warning for warning in plan.warnings)


@given(st.integers(1, 360), SIDES, WINDS)
@settings(deadline=None, max_examples=60)
def test_in_any_wind_of_25_knots_the_drill_is_planned_to_its_end(
    first: int, sides: tuple[Turn, ...], wind: Wind
) -> None:
    plan = plan_drill(eight_spoke(first_outbound=first, sides=sides), wind=wind)
    assert len(plan.legs) == 32
    assert all(planned.steer_mag_deg in range(1, 361) for planned in plan.legs)
    for before, after in pairwise(plan.legs):
        assert after.start_s == before.end_s > before.start_s
        if before.leg.ends_on is Ending.INTERCEPT:
            assert before.intercept_s is not None
            assert math.isclose(before.duration_s, before.turn_s + max(0.0, before.intercept_s))
            assert before.needle_alive_s is None or before.start_s < before.needle_alive_s <= before.end_s


@given(st.integers(1, 360), WINDS, st.integers(0, 359))
@settings(deadline=None, max_examples=30)
def test_turning_drill_and_wind_together_changes_no_time(first: int, wind: Wind, turned: int) -> None:
    here = plan_drill(eight_spoke(first_outbound=first), wind=wind)
    there = plan_drill(
        eight_spoke(first_outbound=as_heading(first + turned)),
        wind=Wind(from_deg=(wind.from_deg + turned) % 360 or 360, speed_kt=wind.speed_kt),
    )
    assert math.isclose(here.total_s, there.total_s, abs_tol=0.01)
    assert math.isclose(here.reach_nm, there.reach_nm, abs_tol=0.01)
