"""The plan against published shapes and the figures worked out for the eight-spoke drill."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from coach.drill.model import Drill, Ending, Leg, TimerFrom, Turn
from coach.drill.plan import Plan, PlannedLeg, plan_drill
from coach.errors import DrillError
from coach.nav.course import course_in_wind
from coach.nav.path import aircraft_at
from coach.nav.vor import receive
from coach.nav.wind import CALM, Reference, Wind, parse_wind
from tests.drill.eight_spoke import eight_spoke, leg

LEFT, RIGHT, NONE = Turn.LEFT, Turn.RIGHT, Turn.NONE
NM_PER_S = 90 / 3600
"""One second of flight at the tests' speed."""


def drill_of(*legs: Leg, timer_from: TimerFrom = TimerFrom.TURN) -> Drill:
    """A drill that arrives northbound and is on course 360 at time 0."""
    return replace(eight_spoke(), arrive_course_mag_deg=360, timer_from=timer_from, legs=legs)


def named(plan: Plan, name: str) -> list[PlannedLeg]:
    return [planned for planned in plan.legs if planned.leg.leg == name]


# ---------------------------------------------------------------- the eight-spoke drill in nil wind


def test_first_spokes_begin_when_the_clock_says() -> None:
    # procedure.md, "The eight-spoke drill, exactly": passage, one minute, two minutes, needle.
    plan = plan_drill(eight_spoke())
    assert [round(planned.start_s, 1) for planned in plan.legs[:5]] == [0, 60, 120, 186.8, 313.5]
    assert [planned.steer_mag_deg for planned in plan.legs[:4]] == [240, 195, 15, 60]


def test_every_leg_begins_where_and_when_the_one_before_ends() -> None:
    plan = plan_drill(eight_spoke(), wind=parse_wind("250/20"))
    for before, after in pairwise(plan.legs):
        assert after.start_s == before.end_s
        assert after.path[0].start == before.path[-1].end
    assert plan.total_s == plan.legs[-1].end_s


@pytest.mark.parametrize(
    ("timer_from", "shortest_min", "longest_min"),
    [(TimerFrom.TURN, 41.7, 41.95), (TimerFrom.LEVEL, 50.0, 52.0)],
)
def test_the_drill_lasts_as_long_as_was_worked_out(
    timer_from: TimerFrom, shortest_min: float, longest_min: float
) -> None:
    # procedure.md, "Duration": 41.9 min with turn, 50-52 with level (simulated); here 41.80 and 51.57.
    plan = plan_drill(eight_spoke(timer_from=timer_from))
    assert shortest_min <= plan.total_s / 60 <= longest_min


@pytest.mark.parametrize(("tas_kt", "reach_nm"), [(80, 3.1), (90, 3.5), (120, 4.6)])
def test_reach_counts_the_bulge_of_the_turn(tas_kt: float, reach_nm: float) -> None:
    # procedure.md, "Reach" (simulated).
    assert plan_drill(eight_spoke(), tas_kt=tas_kt).reach_nm == pytest.approx(reach_nm, abs=0.051)


def test_reach_is_on_the_radial_it_names() -> None:
    plan = plan_drill(eight_spoke(spokes=1))
    distances = [
        (math.hypot(there.east_nm, there.north_nm), there.radial_mag_deg)
        for planned in plan.legs
        for there in (aircraft_at(planned.path, t / 10) for t in range(int(planned.duration_s * 10)))
    ]
    farthest_nm, radial = max(distances)
    assert plan.reach_nm == pytest.approx(farthest_nm, abs=0.001)
    assert plan.reach_radial_mag_deg == pytest.approx(radial, abs=1)


def test_the_needle_comes_alive_45_degrees_before_roll_out_in_nil_wind() -> None:
    # procedure.md, "At the second leg time" (simulated): 45 degrees are 15 s of the 60 s turn.
    for reversal in named(plan_drill(eight_spoke()), "reversal"):
        assert reversal.needle_alive_s is not None
        assert reversal.needle_alive_s - reversal.start_s == pytest.approx(60 - 15, abs=0.3)


def test_6_8_seconds_are_flown_on_the_intercept_heading() -> None:
    # procedure.md and R15 (computed): after a 45 s straight offset leg, any speed.
    for tas_kt in (70, 90, 140):
        for reversal in named(plan_drill(eight_spoke(), tas_kt=tas_kt), "reversal"):
            assert reversal.intercept_s == pytest.approx(6.8, abs=0.02)
            assert reversal.turn_s == pytest.approx(60)
            assert not reversal.goes_through


def test_the_last_turn_begins_about_two_and_a_half_degrees_before_the_centre() -> None:
    # procedure.md (simulated): nil wind, 7.9 s or about 2.5 degrees before centre.
    inbound = named(plan_drill(eight_spoke()), "inbound")[0]
    start = inbound.path[0].start
    reading = receive(start.east_nm, start.north_nm, course_mag_deg=inbound.leg.course_mag_deg or 0)
    assert abs(reading.needle_deg) == pytest.approx(2.5, abs=0.15)


def test_a_tracked_leg_is_on_its_radial_at_leg_time_and_over_the_station_at_passage() -> None:
    plan = plan_drill(eight_spoke(), wind=parse_wind("250/20"))
    assert all(abs(planned.beside_nm or 0) < 1e-9 for planned in plan.legs if planned.leg.tracks)
    ends = [planned.path[-1].end for planned in named(plan, "inbound")]
    assert all(end.distance_nm < 1e-6 for end in ends)


def test_without_the_clock_from_the_turn_it_restarts_at_wings_level() -> None:
    # procedure.md, "Timer": level restarts when the wings are level.
    plan = plan_drill(eight_spoke(timer_from=TimerFrom.LEVEL))
    offset = named(plan, "offset")[0]
    assert (offset.turn_s, offset.duration_s) == (pytest.approx(15), pytest.approx(75))
    outbound = plan.legs[0]
    assert outbound.duration_s == pytest.approx(outbound.turn_s + 60)


def test_a_needle_that_never_pegs_is_never_alive() -> None:
    # procedure.md, "At leg time": where outbound legs near three minutes it goes to 9.5 degrees only.
    plan = plan_drill(eight_spoke(spokes=1, leg_s=200))
    assert named(plan, "reversal")[0].needle_alive_s is None


# ---------------------------------------------------------------- wind


@pytest.mark.parametrize("speed_kt", [15, 20, 25])
def test_three_of_eight_spokes_go_through_the_course(speed_kt: float) -> None:
    # procedure.md (simulated); with the wind along an offset side three, between two of them four.
    plan = plan_drill(eight_spoke(), wind=Wind(from_deg=60, speed_kt=speed_kt))
    assert sum(planned.goes_through for planned in plan.legs) == 3


@pytest.mark.parametrize("from_deg", range(5, 361, 20))
@pytest.mark.parametrize(("speed_kt", "least_s", "most_s"), [(20, 57, 64), (25, 76, 87)])
def test_the_longest_wait_on_the_intercept_heading(
    from_deg: int, speed_kt: float, least_s: float, most_s: float
) -> None:
    # procedure.md (simulated): up to 58 s in 20 kt, 78 s in 25 kt; it hangs on the direction.
    plan = plan_drill(eight_spoke(), wind=Wind(from_deg=from_deg, speed_kt=speed_kt))
    waits = [planned.intercept_s for planned in plan.legs if planned.intercept_s is not None]
    assert least_s <= max(waits) <= most_s
    assert sum(wait < 0 for wait in waits) in (3, 4)


def test_wind_of_twenty_knots_adds_most_of_a_mile_to_the_reach() -> None:
    # procedure.md (simulated): 4.4 NM at 90 kt in 20 kt; the exact pilot reaches 4.32 in the worst direction.
    reaches = [
        plan_drill(eight_spoke(), wind=Wind(from_deg=d, speed_kt=20)).reach_nm for d in range(5, 361, 5)
    ]
    assert max(reaches) == pytest.approx(4.32, abs=0.01)


def test_only_tracked_legs_are_corrected_for_wind() -> None:
    plan = plan_drill(eight_spoke(), wind=parse_wind("330/20"))
    outbound, offset, reversal, inbound = plan.legs[:4]
    assert outbound.correction_deg == pytest.approx(math.degrees(math.asin(20 / 90)))
    assert [p.steer_mag_deg for p in (outbound, offset, reversal, inbound)] == [253, 195, 15, 47]
    assert offset.correction_deg is reversal.correction_deg is None
    assert outbound.ground_speed_kt == pytest.approx(math.hypot(90, 20) * 90 / math.hypot(90, 20), abs=3)


def test_a_spoke_that_goes_through_cuts_back_twenty_degrees_from_the_other_side() -> None:
    # P10: Instrument Flying Handbook FAA-H-8083-15A p. 7-14; procedure.md, "Needle through the centre".
    plan = plan_drill(eight_spoke(), wind=parse_wind("060/20"))
    through = next(i for i, planned in enumerate(plan.legs) if planned.goes_through)
    reversal, inbound = plan.legs[through], plan.legs[through + 1]
    assert reversal.duration_s == reversal.turn_s == pytest.approx(60)
    course = course_in_wind(inbound.leg.course_mag_deg or 0, 90, plan.wind)
    cut_deg = inbound.path[1].start.heading_mag_deg - course.heading_mag_deg
    assert abs((cut_deg + 180) % 360 - 180) == pytest.approx(20)
    first = 1.0 if inbound.leg.turn is RIGHT else -1.0
    assert [piece.turn_deg_s for piece in inbound.path] == [3 * first, 0, -3 * first, 0]


def test_a_true_wind_is_turned_by_the_stations_declination() -> None:
    true = Wind(from_deg=262, speed_kt=20, reference=Reference.TRUE)
    plan = plan_drill(eight_spoke(), wind=true, declination_deg=12)
    assert plan == plan_drill(eight_spoke(), wind=parse_wind("250/20"))


def test_a_true_wind_without_declination_is_taken_as_magnetic_and_told() -> None:
    plan = plan_drill(eight_spoke(), wind=parse_wind("250T/20"), height_ft=1000)
    assert plan.warnings == ("The wind is true and no declination is given: it is taken as magnetic.",)
    assert plan.legs == plan_drill(eight_spoke(), wind=parse_wind("250/20")).legs


@pytest.mark.parametrize("wind", ["250/90", "250/120"])
def test_wind_as_strong_as_the_aircraft_is_refused(wind: str) -> None:
    with pytest.raises(DrillError) as caught:
        plan_drill(eight_spoke(), wind=parse_wind(wind))
    assert str(caught.value) == f"wind: expected a wind weaker than 90 kt TAS, got {wind}"
    assert caught.value.exit_status == 2


@pytest.mark.parametrize("speed_kt", [45, 60, 75, 89.9])
@pytest.mark.parametrize("from_deg", [60, 82, 240, 360])
def test_wind_in_which_a_spoke_cannot_be_closed_is_refused(speed_kt: float, from_deg: float) -> None:
    with pytest.raises(
        DrillError,
        match=r"^(spoke \d (reversal|inbound): expected a leg that ends|wind: expected a wind in which)",
    ):
        plan_drill(eight_spoke(), wind=Wind(from_deg=from_deg, speed_kt=speed_kt))


def test_no_speed_is_refused() -> None:
    with pytest.raises(DrillError, match=r"^TAS: expected more than 0 kt, got 0$"):
        plan_drill(eight_spoke(), tas_kt=0)


# ---------------------------------------------------------------- warnings


CONE = (
    "half the cone of ambiguity lasts {} s, over a third of the outbound leg: choose lower or a longer leg."
)


@pytest.mark.parametrize(
    ("height_ft", "leg_s", "half_s"), [(2500, 60, None), (3000, 60, 24), (3000, 75, None), (6000, 90, 47)]
)
def test_a_cone_over_a_third_of_the_outbound_leg_is_told(
    height_ft: float, leg_s: float, half_s: int | None
) -> None:
    # V15 (computed): half the cone's time at 90 kt is 7.85 s for each 1,000 ft.
    plan = plan_drill(eight_spoke(leg_s=leg_s), height_ft=height_ft)
    told = (f"At {height_ft} ft above the station {CONE.format(half_s)}",)
    assert plan.warnings == (() if half_s is None else told)


def test_a_passage_turn_of_135_degrees_is_27_seconds_of_flight_beside_the_radial() -> None:
    # procedure.md, "Shortest offset leg": 27 s of flight at leg time (simulated).
    plan = plan_drill(eight_spoke(rotation_deg=-135, spokes=2), height_ft=1000)
    assert abs(plan.legs[0].beside_nm or 0) / NM_PER_S == pytest.approx(27, abs=0.05)
    assert plan.warnings == (
        "On legs 1, 5 the aircraft is still beside its radial at leg time, "
        "by up to 0.68 NM (27 s of flight).",
    )


def test_warnings_of_the_drill_come_first() -> None:
    plan = plan_drill(replace(eight_spoke(), warnings=("The drill is odd.",)), height_ft=3000)
    assert plan.warnings[0] == "The drill is odd."
    assert len(plan.warnings) == 2


def test_a_station_that_goes_by_beside_is_told() -> None:
    far = leg(1, None, "past", RIGHT, 90, 90, 360, tracks=False, leg_s=30, ends_on=Ending.TIME)
    turn_in = leg(2, None, "in", RIGHT, 90, 180, 180, tracks=True, ends_on=Ending.PASSAGE)
    plan = plan_drill(drill_of(far, turn_in), height_ft=0)
    assert plan.warnings == (
        "On leg 2 the aircraft is beside the station when it goes by, by up to 0.95 NM (38 s of flight).",
    )


# ---------------------------------------------------------------- published shapes


def reversal_45_180(offset_s: float, timer_from: TimerFrom = TimerFrom.TURN) -> Drill:
    return drill_of(
        leg(1, None, "offset", LEFT, 45, 315, 180, leg_s=offset_s, ends_on=Ending.TIME),
        leg(2, None, "reversal", RIGHT, 180, 135, 180),
        leg(3, None, "in", RIGHT, 45, 180, 180, tracks=True, ends_on=Ending.ESTABLISHED),
        timer_from=timer_from,
    )


@pytest.mark.parametrize("tas_kt", [60, 90, 120])
@pytest.mark.parametrize(
    ("offset_s", "timer_from", "straight_s", "total_s"),
    [
        (60, TimerFrom.TURN, 6.8, 141.8),
        (45, TimerFrom.LEVEL, 6.8, 141.8),
        (75, TimerFrom.TURN, 21.8, 171.8),
        (60, TimerFrom.LEVEL, 21.8, 171.8),
    ],
)
def test_the_45_180_reversal_alone(
    offset_s: float, timer_from: TimerFrom, straight_s: float, total_s: float, tas_kt: float
) -> None:
    # R15: computed from the published shape (ICAO Doc 8168 Vol I), 45 s and 60 s straight.
    plan = plan_drill(reversal_45_180(offset_s, timer_from), tas_kt=tas_kt)
    assert plan.legs[1].intercept_s == pytest.approx(straight_s, abs=0.05)
    assert plan.total_s == pytest.approx(total_s, abs=0.05)


@pytest.mark.parametrize(("straight_s", "is_late"), [(38.15, True), (38.25, False)])
def test_the_shortest_offset_leg_that_leaves_room_for_the_lead(straight_s: float, is_late: bool) -> None:
    # R13 (geometry): 2 / w = 38.20 s straight, any speed; 53.2 s from the start of the turn.
    for tas_kt in (70, 110):
        plan = plan_drill(reversal_45_180(15 + straight_s), tas_kt=tas_kt)
        assert plan.legs[1].goes_through is is_late


def beside_s(plan: Plan) -> float:
    """How far right of course 180 the last leg ends, in seconds of flight."""
    end = plan.legs[-1].path[-1].end
    return course_in_wind(180, plan.tas_kt, CALM).across_nm(end) / (plan.tas_kt / 3600)


@pytest.mark.parametrize(("straight_s", "short_s"), [(38.20, 0.0), (40, 1.27), (45, 4.81), (60, 15.42)])
def test_the_45_225_turn_ends_beside_its_line(straight_s: float, short_s: float) -> None:
    # R13 and R14: geometry of the shape in FAA-H-8083-15A Fig 5-42; the leg time of 40 s is from memory.
    plan = plan_drill(
        drill_of(
            leg(
                1, None, "off", LEFT, 45, 315, None, tracks=False, leg_s=15 + straight_s, ends_on=Ending.TIME
            ),
            leg(2, None, "back", RIGHT, 225, 180, None, tracks=False, ends_on=Ending.HEADING),
        )
    )
    assert beside_s(plan) == pytest.approx(short_s, abs=0.01)
    assert plan.total_s == pytest.approx(15 + straight_s + 75)


@pytest.mark.parametrize(
    ("out_deg", "time_s", "turn_deg", "beside", "total_s"),
    [(30, 60, 210, -3.08, 140.0), (20, 120, 200, 5.15, 193.3), (10, 180, 190, -6.36, 246.7)],
)
def test_the_teardrops_of_the_handbook(
    out_deg: int, time_s: float, turn_deg: int, beside: float, total_s: float
) -> None:
    # R17: FAA-H-8083-15A p. 5-31/32; offsets and times computed, past the line negative here.
    plan = plan_drill(
        drill_of(
            leg(
                1,
                None,
                "out",
                LEFT,
                out_deg,
                360 - out_deg,
                None,
                tracks=False,
                leg_s=time_s,
                ends_on=Ending.TIME,
            ),
            leg(2, None, "back", RIGHT, turn_deg, 180, None, tracks=False, ends_on=Ending.HEADING),
            timer_from=TimerFrom.LEVEL,
        )
    )
    assert beside_s(plan) == pytest.approx(beside, abs=0.01)
    assert plan.total_s == pytest.approx(total_s, abs=0.05)


@pytest.mark.parametrize(("out_deg", "back_deg", "past_s"), [(80, 260, 6.63), (90, 270, 0.0)])
def test_the_80_260_ends_past_its_line_and_90_270_on_it(out_deg: int, back_deg: int, past_s: float) -> None:
    # R16: FAA-H-8083-15A p. 5-31; the distance past the line computed.
    plan = plan_drill(
        drill_of(
            leg(1, None, "out", LEFT, out_deg, 360 - out_deg, None, tracks=False, ends_on=Ending.HEADING),
            leg(2, None, "back", RIGHT, back_deg, 180, None, tracks=False, ends_on=Ending.HEADING),
        )
    )
    assert beside_s(plan) == pytest.approx(-past_s, abs=0.01)
    assert plan.total_s == pytest.approx((out_deg + back_deg) / 3)


def test_the_racetrack_closes_in_four_minutes() -> None:
    # R18: FAA-H-8083-15B Fig 7-41; 240 s and closing computed.
    half = {"tracks": False, "leg_s": 60.0, "ends_on": Ending.TIME}
    plan = plan_drill(
        drill_of(
            leg(1, None, "out", RIGHT, 180, 180, None, **half),
            leg(2, None, "in", RIGHT, 180, 360, None, **half),
            timer_from=TimerFrom.LEVEL,
        )
    )
    assert plan.total_s == pytest.approx(240)
    assert plan.legs[-1].path[-1].end.distance_nm == pytest.approx(0, abs=1e-9)


# ---------------------------------------------------------------- other endings and legs


def test_a_leg_that_turns_a_whole_circle_ends_on_its_heading() -> None:
    # U1: FAA-H-8083-15A p. 5-21, 360 degrees in two minutes.
    plan = plan_drill(
        drill_of(leg(1, None, "circle", LEFT, 360, 360, None, tracks=False, ends_on=Ending.HEADING))
    )
    assert plan.total_s == pytest.approx(120)
    assert plan.legs[0].path[0].turn_deg_s == -3.0


def test_half_the_rate_takes_twice_the_time() -> None:
    # U2: FAA-H-8083-15A p. 5-21, 90 degrees in 60 s.
    turn = leg(1, None, "turn", RIGHT, 90, None, None, tracks=False, ends_on=Ending.HEADING)
    assert plan_drill(drill_of(turn), rate_deg_s=1.5).total_s == pytest.approx(60)


def test_a_leg_on_a_heading_ends_on_a_radial() -> None:
    # P11 uses radials like this: north for 2 minutes, then east until the 045 radial.
    plan = plan_drill(
        drill_of(
            leg(1, None, "north", NONE, 0, 360, None, tracks=False, leg_s=120, ends_on=Ending.TIME),
            leg(2, None, "east", RIGHT, 90, 90, 45, tracks=False, ends_on=Ending.RADIAL),
        )
    )
    end = plan.legs[-1].path[-1].end
    assert end.radial_mag_deg == pytest.approx(45)
    assert end.east_nm == pytest.approx(3 + plan.tas_kt / 188.5, abs=0.001)


def test_a_leg_on_a_heading_ends_abeam_the_station() -> None:
    plan = plan_drill(
        drill_of(
            leg(1, None, "north", NONE, 0, 360, None, tracks=False, leg_s=120, ends_on=Ending.TIME),
            leg(2, None, "back", RIGHT, 180, 180, 180, tracks=False, ends_on=Ending.PASSAGE),
        )
    )
    assert plan.legs[-1].duration_s == pytest.approx(60 + 120)


@pytest.mark.parametrize("ends_on", [Ending.WORD, Ending.ALTITUDE, Ending.DISTANCE])
def test_an_ending_without_a_position_takes_the_drills_leg_time(ends_on: Ending) -> None:
    plan = plan_drill(
        drill_of(leg(1, None, "on", NONE, 0, 360, None, tracks=False, leg_s=75, ends_on=ends_on))
    )
    assert plan.total_s == 75


UNPLANNABLE = [
    (leg(1, None, "up", NONE, 0, 360, None, tracks=False, ends_on=Ending.ALTITUDE),),
    (leg(1, None, "away", NONE, 0, 360, 360, tracks=False, ends_on=Ending.PASSAGE),),
    (leg(1, None, "beside", RIGHT, 90, 90, 270, tracks=False, ends_on=Ending.RADIAL),),
    (
        leg(1, None, "north", NONE, 0, 360, None, tracks=False, leg_s=120, ends_on=Ending.TIME),
        leg(2, None, "other side", RIGHT, 90, 90, 225, tracks=False, ends_on=Ending.RADIAL),
    ),
    (leg(1, None, "alone", RIGHT, 90, 90, 360, tracks=False, ends_on=Ending.INTERCEPT),),
    (leg(1, None, "lost", NONE, 0, 360, None, tracks=True, leg_s=60, ends_on=Ending.TIME),),
    (
        leg(1, None, "along", RIGHT, 180, 180, 360, tracks=False, ends_on=Ending.INTERCEPT),
        leg(2, None, "in", NONE, 0, 180, 180, tracks=True, ends_on=Ending.PASSAGE),
    ),
]
REASONS = [
    "leg 1 up: expected a leg time to plan with, got none, and it ends on altitude",
    "leg 1 away: expected a leg that ends on passage, got one that never does, wind 360/0 at 90 kt TAS",
    "leg 1 beside: expected a leg that ends on radial, got one that never does, wind 360/0 at 90 kt TAS",
    "leg 2 other side: expected a leg that ends on radial, got one that never does, wind 360/0 at 90 kt TAS",
    "leg 1 alone: expected a leg that tracks a course after it, got none, and it ends on intercept",
    "leg 1 lost: expected a course, got none, and it ends on time",
    "leg 1 along: expected a leg that ends on intercept, got one that never does, wind 360/0 at 90 kt TAS",
]


@pytest.mark.parametrize(("legs", "reason"), list(zip(UNPLANNABLE, REASONS, strict=True)))
def test_a_leg_that_cannot_be_planned_is_one_clear_line(legs: tuple[Leg, ...], reason: str) -> None:
    with pytest.raises(DrillError) as caught:
        plan_drill(drill_of(*legs))
    assert str(caught.value) == reason
