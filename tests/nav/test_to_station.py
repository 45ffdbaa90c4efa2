import math

import pytest

from coach.nav.to_station import bearing_rate_deg_min, distance_to_station_nm, minutes_to_station


def test_75_seconds_for_ten_degrees_are_seven_and_a_half_minutes() -> None:
    # V42: PHAK navigation chapter (Fig 15-33); 15 NM at 120 kt is the handbook's example.
    assert minutes_to_station(75, 10) == 7.5
    assert distance_to_station_nm(120, 75, 10).rule == pytest.approx(15)


def test_the_item_of_the_test_bank() -> None:
    # V44: FAA commercial test bank, heading 270, 120 kt, R-360 at 1237, R-350 at 1244: 84 NM; 42 min (C).
    assert minutes_to_station(7 * 60, 10) == pytest.approx(42)
    found = distance_to_station_nm(120, 7 * 60, 10)
    assert found.rule == pytest.approx(84)
    # Exact (computed): 79.4 NM from the first radial's point, 80.6 from the second's: the rule reads high.
    assert found.exact == pytest.approx(14 / math.sin(math.radians(10)))
    assert found.off == pytest.approx(3.4, abs=0.05)


def test_the_exact_distance_is_that_of_the_second_bearing() -> None:
    # On R-360 heading 270, so many miles west is the point: its distance by Pythagoras.
    first_nm, flown_nm = 20.0, 120 * 75 / 3600
    change_deg = math.degrees(math.atan2(flown_nm, first_nm))
    exact = distance_to_station_nm(120, 75, change_deg).exact
    assert exact == pytest.approx(math.hypot(first_nm, flown_nm))


@pytest.mark.parametrize(
    ("ground_speed_kt", "distance_nm", "rate"), [(90, 1, 85.9), (90, 10, 8.59), (120, 10, 11.46)]
)
def test_the_bearing_abeam_changes_faster_the_nearer(
    ground_speed_kt: float, distance_nm: float, rate: float
) -> None:
    # V48: geometry, computed.
    assert bearing_rate_deg_min(ground_speed_kt, distance_nm) == pytest.approx(rate, abs=0.05)
