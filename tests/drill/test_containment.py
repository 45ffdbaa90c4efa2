from __future__ import annotations

import math

import pytest

from coach.drill.containment import (
    SECTORS,
    Conditions,
    Reach,
    contain,
    encode_containment,
    find_reach,
    find_reaches,
    render_containment,
)
from coach.drill.plan import plan_drill
from coach.errors import DrillError
from coach.nav.path import sampled
from coach.nav.wind import CALM, Wind
from tests.drill.eight_spoke import eight_spoke


def in_wind(from_deg: float, speed_kt: float, tas_kt: float = 90.0) -> Conditions:
    return Conditions(wind=Wind(from_deg=from_deg, speed_kt=speed_kt), tas_kt=tas_kt)


def reach(reach_nm: float) -> Reach:
    return Reach(reach_nm=reach_nm, sectors_nm=tuple(reach_nm - k / 10 for k in range(8)))


def test_the_reach_of_one_flight_is_its_plans() -> None:
    found = find_reach(eight_spoke(), in_wind(250, 20))
    assert found is not None
    assert found.reach_nm == plan_drill(eight_spoke(), wind=Wind(from_deg=250, speed_kt=20)).reach_nm
    assert max(found.sectors_nm) == pytest.approx(found.reach_nm, abs=0.002)


def test_the_sectors_are_45_degrees_about_their_bearings() -> None:
    # Against every second of the path, its sector worked out another way.
    plan = plan_drill(eight_spoke(spokes=1), wind=Wind(from_deg=250, speed_kt=20))
    farthest = dict.fromkeys(SECTORS, 0.0)
    for planned in plan.legs:
        for _, there in sampled(planned.path, 0.25):
            name = SECTORS[math.floor((there.radial_mag_deg + 22.5) / 45) % 8]
            farthest[name] = max(farthest[name], there.distance_nm)
    found = find_reach(eight_spoke(spokes=1), in_wind(250, 20))
    assert found is not None
    assert found.sectors_nm == pytest.approx(tuple(farthest.values()), abs=0.1)


def test_a_wind_in_which_nothing_can_be_flown_has_no_reach() -> None:
    assert find_reach(eight_spoke(), in_wind(240, 60)) is None
    assert find_reaches(eight_spoke(spokes=1), (in_wind(360, 0), in_wind(240, 95)))[1] is None


def test_99_of_100_flights_stay_within_the_radius() -> None:
    flights = [reach(k / 100) for k in range(1, 1001)]
    contained = contain(reversed(flights))
    assert contained.radius_nm == 9.90
    assert contained.largest_nm == 10.0
    assert sum(flight.reach_nm <= contained.radius_nm for flight in flights) == 990
    assert contained.sectors_nm == pytest.approx([9.90 - k / 10 for k in range(8)])


@pytest.mark.parametrize(
    ("count", "share", "radius_nm"), [(1, 0.99, 1.0), (100, 0.99, 99.0), (10, 0.5, 5.0), (7, 1.0, 7.0)]
)
def test_the_nearest_rank_counts(count: int, share: float, radius_nm: float) -> None:
    assert contain((reach(float(k)) for k in range(1, count + 1)), share).radius_nm == radius_nm


def test_flights_that_cannot_be_flown_are_counted_apart() -> None:
    contained = contain([reach(3.0), None, reach(4.0), None])
    assert (contained.flights, contained.refused) == (2, 2)
    assert render_containment(contained)[-1] == "2 more could not be flown in their wind"


def test_no_flight_at_all_is_refused() -> None:
    with pytest.raises(DrillError) as caught:
        contain([None, None])
    expected = "a wind and speed in which the drill can be flown"
    assert str(caught.value) == f"containment: expected {expected}, got none of 2"


def test_what_is_told_and_what_is_encoded_agree() -> None:
    contained = contain([reach(3.04), reach(3.5)])
    assert render_containment(contained) == (
        "99% of 2 flights stay within 3.5 NM of the station, whatever the bearing; the farthest went 3.5 NM",
        "By sector, magnetic: N 3.5, NE 3.4, E 3.3, SE 3.2, S 3.1, SW 3.0, W 2.9, NW 2.8 NM",
    )
    encoded = encode_containment(contained)
    assert encoded["radius_nm"] == 3.5
    assert "within 3.6 NM" in render_containment(contain([reach(3.51)]))[0]
    assert list(encoded["sectors_nm"]) == list(SECTORS)  # type: ignore[call-overload]


def test_calm_alone_contains_what_the_plan_reaches() -> None:
    contained = contain(find_reaches(eight_spoke(), [Conditions(wind=CALM, tas_kt=90.0)] * 3))
    assert contained.radius_nm == plan_drill(eight_spoke()).reach_nm
