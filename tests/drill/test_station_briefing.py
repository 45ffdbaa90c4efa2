"""What is told of a station for a plan; its stations are invented and stand in the middle of an ocean."""

from __future__ import annotations

import json
from datetime import date

import pytest

from coach.drill.plan import Plan, plan_drill
from coach.drill.station_briefing import StationBriefing, brief_station
from coach.nav.navaid import Navaid
from coach.nav.station import Station
from coach.nav.variation import find_variation_deg
from coach.store.drills import read_drill

DAY = date(2026, 1, 1)
NAVAID = Navaid(
    ident="QQQ", name="Nowhere Deep", kind="VOR-DME", country="", frequency_khz=113_000,
    latitude_deg=-40.0, longitude_deg=-110.0, elevation_ft=None, declination_deg=12,
)  # fmt: skip


def plan() -> Plan:
    return plan_drill(read_drill("eight-spoke", {"spokes": "1"}))


def brief(
    declination_deg: float = 22.0, height_ft: float = 2000.0, day: date = DAY, navaid: Navaid | None = None
) -> StationBriefing:
    station = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=declination_deg)
    return brief_station(plan(), station, navaid, height_ft=height_ft, day=day)


def test_a_declination_like_the_variation_low_enough_and_inside_every_class_warns_of_nothing() -> None:
    assert brief().warnings == ()


def test_the_warning_begins_beyond_two_degrees_on_either_side() -> None:
    variation_deg = find_variation_deg(-40.0, -110.0, year=2026.0)
    assert variation_deg is not None
    for side in (-1, 1):
        assert brief(variation_deg + side * 1.99).warnings == ()
        assert len(brief(variation_deg + side * 2.01).warnings) == 1


def test_the_warning_says_by_how_much_and_on_which_side() -> None:
    variation_deg = find_variation_deg(-40.0, -110.0, year=2026.0) or 0.0
    (east,), (west,) = brief(variation_deg + 3.0).warnings, brief(variation_deg - 5.0).warnings
    assert east.startswith("The station's declination lies 3.0 degrees east of the variation")
    assert west.startswith("The station's declination lies 5.0 degrees west of the variation")


def test_below_1000_feet_no_class_holds() -> None:
    # V27 to V32 (AIM 1-1-8): every volume begins 1,000 ft above the transmitter.
    low = brief(height_ft=900.0)
    assert len(low.warnings) == 1
    assert "outside the standard service volume of class T, L, H, VL, VH" in low.warnings[0]
    assert low.encoded["service_classes"] == []
    assert any("inside classes none" in fact for fact in low.facts)


def test_above_12000_feet_a_terminal_station_does_not_reach() -> None:
    assert any("of class T (AIM" in warning for warning in brief(height_ft=13_000.0).warnings)


def test_cone_is_that_of_its_height() -> None:
    # V15 (computed): 3,000 ft: 0.588 NM, 47.1 s at 90 kt.
    encoded = brief(height_ft=3000.0).encoded
    assert encoded["cone_radius_nm"] == pytest.approx(0.588, abs=0.001)
    assert encoded["cone_s"] == pytest.approx(47.1, abs=0.1)


def test_a_drill_wholly_inside_the_cone_is_told() -> None:
    # 3.5 NM of reach; the cone's radius is 3.5 NM at 18,000 ft.
    inside = "The whole drill lies inside the cone"
    assert any(warning.startswith(inside) for warning in brief(height_ft=20_000.0).warnings)
    assert not any(warning.startswith(inside) for warning in brief(height_ft=15_000.0).warnings)


def test_beyond_the_models_years_there_is_no_variation_and_no_guess() -> None:
    late = brief(day=date(2030, 6, 1))
    assert late.warnings == ("No magnetic variation for 2030-06-01: WMM2025 holds from 2025 to 2030.",)
    assert late.encoded["variation_deg"] is None


def test_a_station_of_the_table_is_named_with_its_morse() -> None:
    named = brief(navaid=NAVAID)
    assert named.facts[0] == "QQQ (Nowhere Deep), VOR-DME 113.00 MHz, ident --.- --.- --.-"
    assert named.encoded["morse"] == "--.- --.- --.-"


def test_a_station_given_by_its_place_has_no_name() -> None:
    assert brief().facts[0].startswith("Declination 22 E (radials), magnetic variation 22.4 E (compass;")
    assert brief().encoded["ident"] is None


def test_json_reads_back_the_same() -> None:
    encoded = brief(navaid=NAVAID).encoded
    assert json.loads(json.dumps(encoded)) == encoded
