"""Each drill's legs against the published figures; the source stands beside each.

A leg is written as its turn, the heading after it, its time in seconds and what ends it. Everything begins on
360 but where a figure gives another heading.
"""

from __future__ import annotations

import pytest

from coach.drill.model import Drill, Ending, Leg, Turn
from coach.drill.plan import Plan, plan_drill
from coach.nav.intercept import intercept_angle_deg
from coach.nav.turn import STANDARD_RATE_DEG_S
from coach.store.drills import list_drills, read_drill

TAS_KT = 120.0
NM_A_SECOND = TAS_KT / 3600.0


def legs(name: str, **settings: str) -> list[tuple[str, int | None, float | None, str]]:
    return [written(leg) for leg in read_drill(name, settings).legs]


def written(leg: Leg) -> tuple[str, int | None, float | None, str]:
    turn = "none" if leg.turn is Turn.NONE else f"{leg.turn} {leg.turn_deg}"
    return turn, leg.heading_mag_deg, None if leg.leg_s is None else round(leg.leg_s, 1), leg.ends_on.value


def planned(name: str, **settings: str) -> Plan:
    return plan_drill(read_drill(name, settings), tas_kt=TAS_KT)


def test_standard_rate_circle_is_120_seconds_with_a_tone_each_30_degrees() -> None:
    # U1: 360 degrees in 2 minutes; U3: check the heading every 10 s, expect 30 (FAA-H-8083-15A p. 5-21).
    right, _, left, _ = read_drill("standard-rate", {}).legs
    assert written(right) == ("right 360", 360, 120.0, "time")
    assert written(left) == ("left 360", 360, 120.0, "time")
    assert right.tone_every_s == left.tone_every_s == 10
    assert right.tone_every_s * STANDARD_RATE_DEG_S == 30.0


def test_timed_turns_last_a_third_of_a_second_a_degree() -> None:
    # U17: heading change / 3 s, 75 degrees in 25 s (CNATRA P-1285, secondary copy).
    assert legs("timed-turns", laps="1") == [
        ("right 75", 75, 25.0, "time"),
        ("none", 75, 30.0, "time"),
        ("left 180", 255, 60.0, "time"),
        ("none", 255, 30.0, "time"),
    ]


def test_turns_to_headings_end_on_the_pilots_word() -> None:
    # U12 gives the roll-out lead only; the headings are common practice, no source.
    found = legs("turns-to-headings", laps="1")
    assert [leg for leg in found if leg[3] == "heading"] == [
        ("right 90", 90, None, "heading"),
        ("left 135", 315, None, "heading"),
    ]


def test_icao_45_180_times_the_minute_from_the_start_of_the_turn() -> None:
    # R5: 45 degrees, 1 min from the start of the turn, 180 opposite, intercept (Doc 8168, secondary).
    assert legs("45-180", outbound_course="360") == [
        ("none", 360, 120.0, "time"),
        ("left 45", 315, 60.0, "time"),
        ("right 180", 135, None, "intercept"),
        ("right 45", 180, None, "passage"),
    ]


@pytest.mark.parametrize(("offset_leg_s", "expected_s"), [("60", 141.8), ("75", 171.8)])
def test_icao_45_180_lasts_as_computed_from_its_published_shape(offset_leg_s: str, expected_s: float) -> None:
    # R15: 45 s straight: 15 + 45 + 60 + 6.8 + 15 = 141.8 s; 60 s straight: 171.8 s (computed, nil wind).
    plan = planned("45-180", offset_leg_s=offset_leg_s)
    last_turn_s = 45.0 / STANDARD_RATE_DEG_S
    flown_s = plan.legs[3].start_s + last_turn_s - plan.legs[1].start_s
    assert flown_s == pytest.approx(expected_s, abs=0.1)


def test_faa_45_180_of_2001_lasts_195_seconds_from_b() -> None:
    # R11: 2 min A-B, 45, 1 min after roll-out, 180, 45 s, 45 to the reciprocal (FAA-H-8083-15).
    assert legs("45-180-level") == [
        ("none", 360, 120.0, "time"),
        ("left 45", 315, 60.0, "time"),
        ("right 180", 135, 45.0, "time"),
        ("right 45", 180, None, "heading"),
    ]
    plan = planned("45-180-level")
    assert plan.total_s - plan.legs[1].start_s == pytest.approx(195.0, abs=0.1)
    # It ends 16.4 s of flight beyond the outbound line (computed).
    assert plan.legs[-1].path[-1].end.east_nm / NM_A_SECOND == pytest.approx(16.4, abs=0.1)


def test_faa_45_225_ends_on_the_reciprocal() -> None:
    # R12: 2 min on 360, left 45 to 315, right 225 to 180 (FAA-H-8083-15A Fig 5-42); 40 s from memory.
    assert legs("45-225") == [
        ("none", 360, 120.0, "time"),
        ("left 45", 315, 40.0, "time"),
        ("right 225", 180, None, "heading"),
    ]


@pytest.mark.parametrize(("leg_s", "offset_s"), [(38.2, 0.0), (40.0, -1.3), (45.0, -4.81), (60.0, -15.42)])
def test_45_225_ends_beside_the_line_as_geometry_has_it(leg_s: float, offset_s: float) -> None:
    # R13: 2 / w = 38.20 s aligns exactly; R14: the others in seconds of flight, minus short of the line.
    end = planned("45-225", offset_leg_s=f"{leg_s}").legs[-1].path[-1].end
    assert end.east_nm / NM_A_SECOND == pytest.approx(offset_s, abs=0.1)


def test_faa_80_260_ends_just_past_the_line() -> None:
    # R16: 2 min on 360, left 80 to 280, at once right 260 to 180 (FAA-H-8083-15A p. 5-31); R6: 113.3 s.
    assert legs("80-260") == [
        ("none", 360, 120.0, "time"),
        ("left 80", 280, 26.7, "time"),
        ("right 260", 180, None, "heading"),
    ]
    plan = planned("80-260")
    assert plan.total_s - plan.legs[1].start_s == pytest.approx(113.3, abs=0.1)
    assert plan.legs[-1].path[-1].end.east_nm == pytest.approx(0.221, abs=0.005)


@pytest.mark.parametrize(
    ("name", "away", "leg_s", "back", "total_s", "offset_s"),
    [
        ("teardrop-30", 330, 60.0, 210, 140.0, 3.08),
        ("teardrop-20", 340, 120.0, 200, 193.3, -5.15),
        ("teardrop-10", 350, 180.0, 190, 246.7, 6.36),
    ],
)
def test_faa_teardrops_end_beside_the_line_as_geometry_has_it(
    name: str, away: int, leg_s: float, back: int, total_s: float, offset_s: float
) -> None:
    # R17: 30 / 1 then 210, 20 / 2 then 200, 10 / 3 then 190 (FAA-H-8083-15A pp. 5-31, 5-32).
    found = legs(name)
    assert found[0][1:3] == (away, leg_s)
    assert found[1] == (f"right {back}", 180, None, "heading")
    plan = planned(name)
    assert plan.total_s == pytest.approx(total_s, abs=0.1)
    assert plan.legs[-1].path[-1].end.east_nm / NM_A_SECOND == pytest.approx(offset_s, abs=0.1)


def test_faa_racetrack_closes_after_240_seconds() -> None:
    # R18: A-B 3 min, right 180, 1 min, right 180, 1 min (FAA-H-8083-15B Fig 7-41, secondary copy).
    assert legs("racetrack", laps="1") == [
        ("none", 360, 180.0, "time"),
        ("right 180", 180, 60.0, "time"),
        ("right 180", 360, 60.0, "time"),
    ]
    plan = planned("racetrack", laps="1")
    begin, end = plan.legs[1].path[0].start, plan.legs[-1].path[-1].end
    assert plan.total_s - plan.legs[1].start_s == pytest.approx(240.0, abs=0.1)
    assert (end.east_nm, end.north_nm) == pytest.approx((begin.east_nm, begin.north_nm), abs=0.001)


@pytest.mark.parametrize(
    ("sides", "arriving", "entry"),
    [
        # R26, inbound 360 (derived from AIM FIG 5-3-4).
        ("right", 150, "teardrop"),
        ("right", 225, "parallel"),
        ("right", 90, "direct"),
        ("right", 300, "direct"),
        ("left", 210, "teardrop"),
        ("left", 135, "parallel"),
        ("left", 270, "direct"),
    ],
)
def test_hold_is_entered_by_its_sector(sides: str, arriving: int, entry: str) -> None:
    given = {"sides": sides, "arrive_course": str(arriving)}
    over_station = read_drill("hold-station", {**given, "inbound_course": "360"})
    at_fix = read_drill("hold-dme", {**given, "hold_radial": "180"})
    assert over_station.entry == at_fix.entry == entry


def test_parallel_entry_is_a_minute_out_then_more_than_180_degrees_toward_the_hold() -> None:
    # R24: 1 min outbound on the non-holding side, then more than 180 degrees toward (AIM 5-3-8j3).
    given = {"inbound_course": "360", "arrive_course": "225", "laps": "1"}
    assert legs("hold-station", **given)[:3] == [
        ("left 45", 180, 60.0, "time"),
        ("left 225", 315, None, "intercept"),
        ("right 45", 360, None, "passage"),
    ]


def test_teardrop_entry_is_30_degrees_and_a_minute() -> None:
    # R24: 30 degrees, 1 min (AIM 5-3-8j3); R26: inbound 360, right turns: heading 150.
    given = {"inbound_course": "360", "arrive_course": "170", "laps": "1"}
    assert legs("hold-station", **given)[:2] == [
        ("left 20", 150, 60.0, "time"),
        ("right 210", 360, None, "passage"),
    ]


@pytest.mark.parametrize("name", ["hold-station", "hold-dme"])
def test_hold_is_timed_inbound_and_abeam_and_corrects_threefold(name: str) -> None:
    # R22: inbound 1 min, later outbound legs adjusted; R23: timed abeam; R28: triple drift (AIM 5-3-8j4, j8).
    outbound, inbound = read_drill(name, {"laps": "1"}).legs
    assert (outbound.leg_s, outbound.timed_from, outbound.drift) == (60.0, "abeam", 3)
    assert outbound.corrects_for == inbound.leg == "inbound"
    assert outbound.turn is inbound.turn is Turn.RIGHT


def test_orientation_asks_for_the_radial_and_flies_its_reciprocal() -> None:
    # V18: TO/FROM for the selected course, whatever the heading (FAA-H-8083-15A p. 7-11).
    drill = read_drill("orientation", {"start_radial": "235"})
    assert [(leg.ends_on, leg.course_mag_deg) for leg in drill.legs] == [
        (Ending.WORD, 55), (Ending.WORD, 55), (Ending.PASSAGE, 55),
    ]  # fmt: skip


@pytest.mark.parametrize(("start", "angle"), [(100, 20), (80, 60), (60, 90), (105, 20)])
def test_intercept_angle_is_double_the_difference(start: int, angle: int) -> None:
    # P11: double the difference of the radials, 20 to 90 degrees: 10 -> 20, 30 -> 60, 50 -> 90.
    assert intercept_angle_deg(start, 110) == angle
    inbound = read_drill("intercept-inbound", {"start_radial": str(start), "wanted_radial": "110"}).legs
    outbound = read_drill("intercept-outbound", {"start_radial": str(start), "wanted_radial": "110"}).legs
    assert inbound[0].heading_mag_deg == 290 - angle
    assert outbound[0].heading_mag_deg == 110 + angle
    assert (inbound[1].heading_mag_deg, outbound[1].heading_mag_deg) == (290, 110)


def test_handbook_example_intercepts_at_90_degrees() -> None:
    # P12: on 300 TO (radial 120), 350 inbound wanted (radial 170): 90 degrees, not 100.
    first = read_drill("intercept-inbound", {"start_radial": "120", "wanted_radial": "170"}).legs[0]
    assert first.heading_mag_deg == 260
    assert first.course_mag_deg == 350


def test_bracketing_tracks_in_and_out_and_says_the_cuts() -> None:
    # P10: first cut 20 degrees toward the needle, then half, and half again (FAA-H-8083-15A p. 7-14).
    inbound, outbound = read_drill("bracketing", {}).legs
    assert inbound.reminds == "Cut twenty, then ten, then five"
    assert inbound.tracks
    assert outbound.tracks
    assert (inbound.ends_on, outbound.ends_on) == (Ending.PASSAGE, Ending.TIME)


def test_time_to_station_takes_ten_degrees_of_bearing_on_the_wing_tip() -> None:
    # V44: heading 270, R-360 to R-350; V42: minutes to the station = seconds / degrees (FAA test bank, PHAK).
    bearing, inbound = read_drill("time-to-station", {}).legs
    assert (bearing.heading_mag_deg, bearing.course_mag_deg, bearing.ends_on) == (270, 350, Ending.RADIAL)
    assert inbound.heading_mag_deg == 170
    plan = plan_drill(read_drill("time-to-station", {}), tas_kt=90)
    rule_min = plan.legs[0].duration_s / 10.0
    flown_min = plan.legs[1].duration_s / 60.0
    assert rule_min == pytest.approx(flown_min, rel=0.06)


def test_dme_arc_is_the_handbooks_example() -> None:
    # R31: inbound on R-325, 10 DME arc: turn at 10.5 DME, roll out on 055 (FAA-H-8083-15A p. 7-18).
    inbound, arc, final = read_drill("dme-arc", {}).legs
    # On R-025 clockwise the tangent is 115: right 90 to 205 (geometry).
    assert (final.turn, final.turn_deg, final.heading_mag_deg) == (Turn.RIGHT, 90, 205)
    assert (inbound.heading_mag_deg, inbound.distance_nm) == (145, 10.5)
    assert (arc.turn, arc.turn_deg, arc.heading_mag_deg, arc.arc_nm) == (Turn.LEFT, 90, 55, 10.0)
    plan = plan_drill(read_drill("dme-arc", {}), tas_kt=90)
    along = [piece.end.distance_nm for piece in plan.legs[1].path[1:]]
    assert min(along) > 9.9
    assert max(along) < 10.1


def test_constant_rate_phase_lasts_its_altitude_at_its_rate() -> None:
    # P9 gives the lead of the level-off; 1,000 ft at 500 ft/min are 2 minutes (arithmetic).
    up, _, down, _ = read_drill("constant-rate", {"laps": "1"}).legs
    assert (up.climb_ft, down.climb_ft) == (1000.0, -1000.0)
    assert up.altitude_s == down.altitude_s == 120.0


@pytest.mark.parametrize(
    ("leg", "heading", "reading"),
    [
        # P15, latitude 30, bank 15: north from east 037, from west 323; south from east 203 (IFH-15A, 15B).
        ("north", 360, 37),
        ("south", 180, 203),
        ("north_again", 360, 323),
    ],
)
def test_compass_turns_roll_out_by_the_rule(leg: str, heading: int, reading: int) -> None:
    # The lead of half the bank is 7.5 degrees; the handbook gives whole ones.
    found = next(each for each in read_drill("compass-turns", {}).legs if each.leg == leg)
    assert found.heading_mag_deg == heading
    assert found.compass_mag_deg == pytest.approx(reading, abs=1)


VERTICAL_FT = [way * feet for feet in (1000.0, 800.0, 600.0, 400.0, 200.0) for way in (1, -1)]

L, R, NONE = Turn.LEFT, Turn.RIGHT, Turn.NONE


@pytest.mark.parametrize(
    ("name", "turns"),
    [
        # P6: A constant heading; B one way; C as B, reversed at each descent; D reversed at every change.
        ("vertical-s", [NONE] * 10),
        ("vertical-s-turning", [L] * 10),
        ("vertical-s-down-reversed", [L, R, R, L, L, R, R, L, L, R]),
        ("vertical-s-reversed", [L, R] * 5),
    ],
)
def test_vertical_s_is_the_published_series(name: str, turns: list[Turn]) -> None:
    # P4: 1,000, 800, 600, 400, 200 ft up and down at 500 ft/min, 12 minutes (magazine, Feb 2000).
    drill = read_drill(name, {})
    assert [leg.climb_ft for leg in drill.legs] == VERTICAL_FT
    assert {leg.rate_ft_min for leg in drill.legs} == {500.0}
    assert [leg.turn for leg in drill.legs] == turns
    assert plan_drill(drill, tas_kt=90).total_s == pytest.approx(720.0, abs=0.1)


def test_vertical_s_never_says_which_altitude_to_fly() -> None:
    says = {leg.says for leg in read_drill("vertical-s", {}).legs}
    assert says == {"Up phase", "Down phase"}


@pytest.mark.parametrize(
    ("settings", "outbounds"),
    [
        # Common practice, no source; worked by hand: the reciprocal turned by the rotation.
        ({}, [110, 245, 20, 155, 290, 65, 200, 335]),
        ({"rotation": "45 right"}, [110, 335, 200, 65, 290, 155, 20, 245]),
        ({"spokes": "4", "rotation": "90 left"}, [110, 200, 290, 20]),
        ({"spokes": "3", "sides": "right", "timer_from": "level"}, [110, 245, 20]),
    ],
)
def test_eight_spoke_variations_come_round(settings: dict[str, str], outbounds: list[int]) -> None:
    drill = read_drill("eight-spoke", settings)
    assert [leg.heading_mag_deg for leg in drill.legs if leg.leg == "outbound"] == outbounds
    assert all(leg.duration_s > 0.0 for leg in plan_drill(drill, tas_kt=90).legs)


ALL = [listing.name for listing in list_drills()]


@pytest.mark.parametrize("name", ALL)
def test_every_drill_names_a_source(name: str) -> None:
    source = read_drill(name, {}).source
    assert any(word in source for word in ("FAA", "ICAO", "AIM", "Handbook", "Common practice", "Magazine"))


def _left_on(leg: Leg) -> int | None:
    """An arc that is left for a course inbound ends on the tangent, here clockwise."""
    return None if leg.arc_nm is None or leg.course_mag_deg is None else (leg.course_mag_deg - 90) % 360


@pytest.mark.parametrize("name", ALL)
def test_headings_and_courses_are_1_to_360_and_the_turns_add_up(name: str) -> None:
    drill: Drill = read_drill(name, {})
    was = drill.arrive_course_mag_deg
    for leg in drill.legs:
        assert leg.heading_mag_deg in (None, *range(1, 361))
        assert leg.course_mag_deg in (None, *range(1, 361))
        sign = {Turn.LEFT: -1, Turn.RIGHT: 1, Turn.NONE: 0}[leg.turn]
        assert (was + sign * leg.turn_deg - (leg.heading_mag_deg or was)) % 360 == 0
        was = _left_on(leg) or leg.heading_mag_deg or was
