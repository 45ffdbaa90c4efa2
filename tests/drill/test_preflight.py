from __future__ import annotations

import math

from coach.drill.plan import plan_drill
from coach.drill.preflight import LONGEST_S, look_up, preflight_items, uses_station
from coach.nav.wind import parse_wind
from tests.drill.eight_spoke import eight_spoke
from tests.drill.other_shapes import arc, circles
from tests.store.test_navaid_csv import NOWHERE

PLAN = plan_drill(eight_spoke(), wind=parse_wind("250/20"))


def test_the_flow_is_the_trades_in_its_order() -> None:
    # Order and items: common practice as agreed for this drill; V34: AIM 1-1-3c for the ident.
    items = preflight_items(PLAN, navaid=NOWHERE, check_state="no check recorded here")
    assert [item.split(",")[0].split(".")[0].split(" in date")[0] for item in items] == [
        "Station tuned",
        "Altimeter set",
        "Heading indicator set to the compass",
        "Safety pilot",
        "Traffic advisories",
        "VOR check",
    ]
    assert LONGEST_S == 30


def test_the_station_is_named_with_its_ident_and_the_course_to_set() -> None:
    first = preflight_items(PLAN, navaid=NOWHERE, check_state="")[0]
    assert NOWHERE.morse in first
    assert f"{NOWHERE.frequency_khz / 1000:.2f} MHz, {NOWHERE.ident} " in first
    assert first.endswith("course 285 set")


def test_without_a_table_the_pilot_knows_the_station() -> None:
    items = preflight_items(PLAN, navaid=None, check_state="")
    assert items[0] == "Station tuned, identified, tested; course 285 set"
    assert "of ________ VOR" in items[4]


def test_a_drill_that_begins_elsewhere_sets_the_course_of_its_first_leg() -> None:
    plan = plan_drill(arc())
    assert preflight_items(plan, navaid=None, check_state="")[0].endswith("course 325 set")


def test_a_drill_without_a_course_asks_for_a_station_only_where_one_is_used() -> None:
    plan = plan_drill(circles())
    assert preflight_items(plan, navaid=None, check_state="")[0] == (
        "Station, where one is used, tuned, identified, tested"
    )


def test_a_vor_check_is_asked_for_only_under_ifr() -> None:
    # V20: 14 CFR 91.171.
    items = preflight_items(PLAN, navaid=None, check_state="last 2026-11-05, Nowhere, 10 days left")
    assert items[-1] == (
        "VOR check in date, required only under IFR (14 CFR 91.171): last 2026-11-05, Nowhere, 10 days left"
    )


def test_the_circle_looked_at_is_the_reach_and_a_mile() -> None:
    assert math.ceil(PLAN.reach_nm + 1) == 6
    asked = look_up(PLAN)
    assert asked[0].startswith(
        "Highest terrain or obstacle within 6 NM of the station (the reach of 4.3 NM plus 1)"
    )


def test_a_drill_begun_anywhere_asks_for_no_users_of_a_station() -> None:
    asked = look_up(plan_drill(circles()))
    assert asked[0].startswith("Highest terrain or obstacle within 2 NM of where it begins ")
    assert not any("station" in line for line in asked)
    assert uses_station(arc())
    assert uses_station(eight_spoke())


def test_airspace_other_users_notices_and_an_altitude_are_asked_for() -> None:
    asked = " ".join(look_up(PLAN))
    for what in ("Airspace", "Holds and approaches", "NOTAM", "unusable radials", "91.159, 91.179"):
        assert what in asked
    assert not any(character.isdigit() for character in look_up(PLAN)[1])
