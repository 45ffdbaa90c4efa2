"""The plan of legs beyond the eight-spoke drill: arcs, distances, altitudes, intercepts, corrected laps."""

from __future__ import annotations

import math

import pytest

from coach.drill.compiler import compile_drill
from coach.drill.plan import Plan, PlannedLeg, plan_drill
from coach.errors import DrillError
from coach.nav.angles import difference_deg
from coach.nav.path import duration_s
from coach.nav.wind import CALM, Wind
from coach.store.documents import parse_document
from coach.store.drills import read_drill

WINDS = [CALM, *(Wind(from_deg=deg, speed_kt=20) for deg in range(45, 361, 45))]

HEAD = """
title: Legs
source: common practice, no source
settings:
  start: {kind: course, default: 360, means: Where it begins.}
  leg_s: {kind: time, unit: s, range: [10, 600], default: 60, means: How long.}
begins: {by: word, heading: start, radial: start, distance: 10}
legs:
"""


def planned(name: str, wind: Wind = CALM, **settings: str) -> Plan:
    return plan_drill(read_drill(name, settings), tas_kt=90, wind=wind)


def of_legs(*legs: str, wind: Wind = CALM) -> Plan:
    text = HEAD + "".join(f"  - {leg}\n" for leg in legs)
    source = parse_document(text, DrillError, name="legs", file="legs.yaml")
    return plan_drill(compile_drill(source, {}), tas_kt=90, wind=wind)


def straight_s(leg: PlannedLeg) -> float:
    return leg.duration_s - leg.turn_s


@pytest.mark.parametrize("wind", WINDS, ids=str)
def test_arc_is_kept_within_a_fifth_of_a_mile_in_any_wind(wind: Wind) -> None:
    inbound, arc, final = planned("dme-arc", wind).legs
    assert inbound.path[-1].end.distance_nm == pytest.approx(10.5, abs=1e-3)
    settled = [piece.end.distance_nm for piece in arc.path[1 + 60 // 5 :]]
    assert all(abs(distance_nm - 10.0) < 0.2 for distance_nm in settled)
    # The turn off the arc is led: it rolls out on the course.
    assert final.established_s is not None
    assert final.beside_nm == pytest.approx(0.0, abs=0.01)


def test_arc_in_nil_wind_crosses_its_radials_as_geometry_has_it() -> None:
    arc = planned("dme-arc").legs[1]
    begun, ended = arc.path[0].end, arc.path[-1].end
    turned_deg = difference_deg(ended.radial_mag_deg, begun.radial_mag_deg)
    # The length of an arc: radius times angle.
    expected_s = math.radians(turned_deg) * 10.0 / 90.0 * 3600.0
    assert straight_s(arc) == pytest.approx(expected_s, rel=0.01)


@pytest.mark.parametrize("wind", WINDS, ids=str)
@pytest.mark.parametrize("name", ["intercept-inbound", "intercept-outbound"])
def test_intercept_rolls_out_on_its_radial_in_any_wind(name: str, wind: Wind) -> None:
    cut, tracked = planned(name, wind).legs
    assert cut.intercept_s is not None
    assert cut.intercept_s > 0.0
    assert tracked.beside_nm == pytest.approx(0.0, abs=0.01)
    assert tracked.established_s is not None


def test_distance_is_reached_from_within_and_from_beyond() -> None:
    plan = of_legs(
        "{leg: out, turn: none, heading: start, twist: start, tracks: true, distance: 12, ends_on: distance}",
        "{leg: round, turn: left, heading: {of: start, turned: 180 left}, ends_on: heading}",
        "{leg: in, turn: none, heading: previous, distance: 4, ends_on: distance}",
    )
    assert plan.legs[0].duration_s == pytest.approx(2 / 90 * 3600, abs=0.1)
    assert plan.legs[0].path[-1].end.distance_nm == pytest.approx(12.0, abs=1e-4)
    assert plan.legs[2].path[-1].end.distance_nm == pytest.approx(4.0, abs=1e-4)


def test_radial_is_reached_where_the_needle_centers_from() -> None:
    plan = of_legs(
        "{leg: across, turn: right, heading: {of: start, turned: 90 right}, "
        "twist: {of: start, turned: 20 right}, ends_on: radial}",
    )
    assert plan.legs[0].path[-1].end.radial_mag_deg == pytest.approx(20.0, abs=0.001)


def test_altitude_leg_lasts_its_change_at_its_rate_whatever_it_turns() -> None:
    plan = of_legs(
        "{leg: up, turn: left, turns_on: true, altitude: {way: up, by: 750, rate: 500}, ends_on: altitude}",
    )
    assert plan.legs[0].duration_s == pytest.approx(90.0)
    assert plan.legs[0].leg.turn_deg == 270
    assert plan.legs[0].path[-1].end.heading_mag_deg == pytest.approx(90.0)


@pytest.mark.parametrize(("wind", "longer"), [(Wind(from_deg=290, speed_kt=15), False),
                                              (Wind(from_deg=110, speed_kt=15), True)])  # fmt: skip
def test_hold_in_wind_along_its_course_comes_to_a_minute_inbound(wind: Wind, longer: bool) -> None:
    # R22: inbound 1 min; the first outbound leg is flown 1 min, later ones adjusted (AIM 5-3-8j4).
    legs = planned("hold-station", wind, laps="5").legs
    outbound = [leg.leg.leg_s or 0.0 for leg in legs[0::2]]
    inbound = [straight_s(leg) for leg in legs[1::2]]
    assert outbound[0] == 60.0
    assert (outbound[-1] > 60.0) is longer
    assert inbound[-1] == pytest.approx(60.0, abs=2.0)
    assert abs(inbound[0] - 60.0) > 15.0


def test_hold_in_a_crosswind_steers_three_times_the_correction_the_other_way() -> None:
    # R28: triple inbound drift correction outbound (AIM 5-3-8j8).
    outbound, inbound = planned("hold-station", Wind(from_deg=20, speed_kt=15), laps="1").legs
    correction = inbound.correction_deg or 0.0
    assert correction == pytest.approx(9.6, abs=0.1)
    assert difference_deg(outbound.steer_mag_deg or 0, 110) == pytest.approx(-3 * correction, abs=1.0)


def test_hold_in_nil_wind_is_flown_as_published_lap_after_lap() -> None:
    legs = planned("hold-station", laps="3").legs
    assert {leg.leg.leg_s for leg in legs[0::2]} == {60.0}
    assert [round(leg.duration_s) for leg in legs] == [120] * 6


def test_outbound_time_is_counted_from_abeam() -> None:
    # R23: over or abeam the fix, whichever is later (AIM 5-3-8j4). With wind on the tail it is sooner.
    tail, head = (
        planned("hold-station", Wind(from_deg=deg, speed_kt=15), laps="1").legs[0] for deg in (290, 110)
    )
    assert tail.duration_s < 120.0 < head.duration_s


def test_drill_begins_on_its_radial_and_heading() -> None:
    begin = planned("intercept-inbound").legs[0].path[0].start
    assert (begin.radial_mag_deg, begin.distance_nm) == pytest.approx((80.0, 12.0))
    assert begin.heading_mag_deg == 350.0


def test_drill_without_a_station_counts_its_reach_from_where_it_begins() -> None:
    plan = planned("teardrop-30")
    assert plan.legs[0].path[0].start.distance_nm == 0.0
    assert plan.reach_nm == pytest.approx(2.3, abs=0.05)


ENDLESS = "one that never does, wind 360/0 at 90 kt TAS"


@pytest.mark.parametrize(
    ("leg", "expected", "got"),
    [
        (
            "{leg: on, turn: none, heading: start, distance: 5, ends_on: distance}",
            "a leg that ends on distance",
            ENDLESS,
        ),
        (
            "{leg: on, turn: none, heading: start, twist: {of: start, turned: 20 right}, ends_on: radial}",
            "a leg that ends on radial",
            ENDLESS,
        ),
        (
            "{leg: on, turn: none, twist: start, tracks: true, distance: 8, ends_on: distance}",
            "a leg that ends on distance",
            ENDLESS,
        ),
        (
            "{leg: on, turn: none, heading: start, ends_on: word}",
            "a leg time to plan with",
            "none, and it ends on word",
        ),
        (
            "{leg: on, turn: none, arcs: 10, ends_on: heading}",
            "a radial or a course that ends its arc",
            "none, and it ends on heading",
        ),
        (
            "{leg: on, turn: none, heading: start, ends_on: intercept}",
            "a leg that tracks a course after it",
            "none, and it ends on intercept",
        ),
    ],
)
def test_what_never_ends_is_told_in_one_line(leg: str, expected: str, got: str) -> None:
    with pytest.raises(DrillError) as raised:
        of_legs(leg)
    assert str(raised.value) == f"leg 1 on: expected {expected}, got {got}"
    assert raised.value.exit_status == 2


def test_every_leg_begins_where_the_one_before_ends() -> None:
    for name in ("dme-arc", "hold-dme", "vertical-s-turning"):
        plan = planned(name, Wind(from_deg=45, speed_kt=20))
        for before, after in zip(plan.legs, plan.legs[1:], strict=False):
            assert after.path[0].start == before.path[-1].end
            assert after.start_s == pytest.approx(before.start_s + duration_s(before.path))


ROUND = "turn: right, heading: {of: start, turned: 90 right}, arcs: 10"


def test_arc_ends_on_a_radial_or_by_the_clock() -> None:
    by_radial = of_legs(f"{{leg: arc, {ROUND}, twist: {{of: start, turned: 40 right}}, ends_on: radial}}")
    by_clock = of_legs(f"{{leg: arc, {ROUND}, clock: start, lasts: leg_s, ends_on: time}}")
    assert by_radial.legs[0].path[-1].end.radial_mag_deg == pytest.approx(40.0, abs=0.001)
    assert by_clock.legs[0].duration_s == pytest.approx(60.0)


def test_arc_that_the_wind_holds_up_is_told_and_not_looped_on() -> None:
    wind = Wind(from_deg=180, speed_kt=89)
    with pytest.raises(DrillError) as raised:
        of_legs(f"{{leg: arc, {ROUND}, twist: {{of: start, turned: 170 right}}, ends_on: radial}}", wind=wind)
    assert str(raised.value).startswith("leg 1 arc: expected a leg that ends on radial, got one that never")
