"""Rules of thumb beside the plan's exact figures."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.drill.model import Drill, Ending, Turn
from coach.drill.plan import Plan, plan_drill
from coach.drill.thumbs import largest_drift_deg, rules_of_thumb
from coach.nav.wind import parse_wind
from tests.drill.eight_spoke import eight_spoke, leg
from tests.drill.other_shapes import across, arc, hold


def plan_of(drill: Drill, wind: str = "250/20") -> Plan:
    return plan_drill(drill, wind=parse_wind(wind))


def test_bank_drift_and_one_in_sixty_stand_beside_what_is_exact() -> None:
    # U4 (2.1 too high at 90 kt), U5 and U8 (13.5 and 13.89 degrees), V39 (1 in 60 reads 4.5 % low),
    # V40 (200 ft a dot a mile; exact 212); the drift is geometry.
    plan = plan_drill(eight_spoke(), wind=parse_wind("250/20"))
    assert rules_of_thumb(plan) == (
        "Bank at 3 degrees a second, 15 % of the TAS: 13.5 degrees; exact 13.9, so 0.4 too little",
        "The same, TAS / 10 + 7: 16.0 degrees; exact 13.9, so 2.1 too much",
        "Largest drift, 60 x wind / TAS: 13.3 degrees; exact 12.8, so 0.5 too much",
        "One degree off at 4.3 NM, 1 in 60: 433 ft; exact 454, so 21 too little",
        "One dot of 2 degrees at 4.3 NM, 200 ft a mile: 867 ft; exact 908, so 41 too little",
    )


def test_in_nil_wind_there_is_no_drift() -> None:
    assert not any("drift" in rule for rule in rules_of_thumb(plan_drill(eight_spoke())))


@pytest.mark.parametrize(("wind", "drift_deg"), [("250/20", 12.84), ("010/30", 19.47)])
def test_the_largest_drift_is_that_of_a_wind_abeam(wind: str, drift_deg: float) -> None:
    assert largest_drift_deg(plan_drill(eight_spoke(), wind=parse_wind(wind))).exact == pytest.approx(
        drift_deg, abs=0.005
    )


def test_a_hold_is_told_how_far_triple_drift_is_off() -> None:
    # R28: AIM 5-3-8j8. 290 inbound, wind from 250: 8.2 degrees left in, 24.6 right out; exact from the lap.
    (rule,) = [rule for rule in rules_of_thumb(plan_of(hold())) if "triple" in rule]
    assert rule.startswith("Correction outbound, triple drift: 24.6 degrees; exact ")
    assert rule.endswith("too little")


def test_a_hold_in_too_much_head_wind_has_no_exact_correction() -> None:
    windy = replace(plan_of(hold()), wind=parse_wind("290/40"))
    assert not any("triple" in rule for rule in rules_of_thumb(windy))


def test_an_arc_is_told_its_lead_and_its_corners() -> None:
    # R31: half a mile up to 150 kt; the exact lead and the corners are geometry.
    lines = [line for line in rules_of_thumb(plan_of(arc(), "360/0")) if "arc" in line]
    assert lines[0].startswith("Lead onto the arc: 0.50 NM; exact 0.4")
    # R36: 60 / DME radials a mile (military notes), of a turn radius of 0.48 NM (U8).
    off = "Lead off it, turn radius x 60 / DME: 2.9 radials; exact 2.7, so 0.2 too much"
    assert off in rules_of_thumb(plan_of(arc(), "360/0"))
    assert "corners 0.04 NM outside" in lines[-1]


def test_time_and_distance_to_the_station_are_told_where_its_bearing_is_crossed() -> None:
    # V42, V43: PHAK navigation chapter. At 14 NM and 90 kt 10 degrees take 98.7 s (geometry): 9.9 min.
    lines = rules_of_thumb(plan_of(across(), "360/0"))
    assert "Time to the station, seconds / degrees: 9.9 minutes; exact 9.5, so 0.4 too much" in lines
    assert "Distance, TAS x that time: 14.8 NM; exact 14.2, so 0.6 too much" in lines
    assert not any("seconds / degrees" in line for line in rules_of_thumb(plan_of(eight_spoke(), "360/0")))


def test_a_drill_without_turns_or_courses_has_no_rules() -> None:
    on = leg(1, None, "on", Turn.NONE, 0, 360, None, tracks=False, leg_s=60, ends_on=Ending.TIME)
    assert rules_of_thumb(plan_drill(replace(eight_spoke(spokes=1), legs=(on,)))) == ()


def test_a_rule_that_is_right_says_so() -> None:
    # U4, U5: at about 135 kt 15 % of the TAS is the exact bank to a tenth of a degree.
    lines = [rules_of_thumb(plan_drill(eight_spoke(), tas_kt=tas_kt))[0] for tas_kt in range(120, 150)]
    assert any("and so it is" in line for line in lines)
