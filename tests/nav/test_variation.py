"""Magnetic variation against NOAA's own test values of WMM2025 (`WMM2025_TEST_VALUES.txt`, US public domain).

The whole file is outside data (folder `navaids/wmm` of COACH_SHARED); some of its rows stand here.
"""

import os
from datetime import date
from pathlib import Path

import pytest

from coach.nav.variation import find_difference_deg, find_variation_deg, year_of

NOAA = (
    Path(os.environ.get("COACH_SHARED", "nowhere")) / "data" / "navaids" / "wmm" / "WMM2025_TEST_VALUES.txt"
)
ROUNDED_DEG = 0.005
"""The file gives two decimals."""


def rows() -> list[tuple[float, ...]]:
    lines = NOAA.read_text("ascii").splitlines()
    return [tuple(map(float, line.split())) for line in lines if line.strip() and not line.startswith("#")]


@pytest.mark.skipif(not NOAA.exists(), reason="no navaids/wmm/WMM2025_TEST_VALUES.txt in COACH_SHARED")
def test_every_row_of_noaas_file_agrees_to_its_last_digit() -> None:
    given = rows()
    assert len(given) == 100
    wrong = []
    for year, height_km, latitude_deg, longitude_deg, declination_deg, *_ in given:
        found = find_variation_deg(latitude_deg, longitude_deg, year=year, height_km=height_km)
        off_deg = find_difference_deg(declination_deg, found)
        if off_deg is None or abs(off_deg) > ROUNDED_DEG + 1e-6:
            wrong.append((year, latitude_deg, longitude_deg, declination_deg, found))
    assert wrong == []


@pytest.mark.parametrize(
    ("year", "height_km", "latitude_deg", "longitude_deg", "expected_deg"),
    [
        # Rows of NOAA's WMM2025_TEST_VALUES.txt (M2).
        (2025.0, 28, 89, -121, -99.77),
        (2025.0, 65, 43, 93, 0.50),
        (2025.0, 51, -33, 109, -5.49),
        (2025.5, 69, 38, -144, 12.93),
        (2026.0, 74, -57, 3, -22.51),
        (2027.0, 67, 72, -115, 13.73),
    ],
)
def test_variation_is_noaas(year, height_km, latitude_deg, longitude_deg, expected_deg) -> None:
    found = find_variation_deg(latitude_deg, longitude_deg, year=year, height_km=height_km)
    assert found == pytest.approx(expected_deg, abs=ROUNDED_DEG + 1e-6)


@pytest.mark.parametrize(
    ("year", "is_held"), [(2024.99, False), (2025.0, True), (2030.0, True), (2030.01, False)]
)
def test_the_model_holds_for_its_five_years_only(year: float, is_held: bool) -> None:
    # M1: WMM2025 holds 2025.0-2030.0.
    assert (find_variation_deg(-40.0, -110.0, year=year) is not None) is is_held


def test_a_day_is_a_part_of_its_year() -> None:
    assert year_of(date(2026, 1, 1)) == 2026.0
    assert year_of(date(2028, 7, 2)) == pytest.approx(2028.5)
    assert year_of(date(2026, 12, 31)) == pytest.approx(2027.0 - 1 / 365)


def test_the_difference_goes_the_short_way_round_the_rose() -> None:
    assert find_difference_deg(-179.0, 179.0) == pytest.approx(2.0)
    assert find_difference_deg(12.0, 14.5) == pytest.approx(-2.5)
    assert find_difference_deg(12.0, None) is None
