from dataclasses import replace

import pytest

from coach.nav.navaid import Navaid, is_ident, order_nearest, render_east
from coach.nav.station import Station

# An invented station in the middle of an ocean.
NOWHERE = Navaid(
    ident="QQQ", name="Nowhere Deep", kind="VOR", country="", frequency_khz=113_000, latitude_deg=-40.0,
    longitude_deg=-110.0, elevation_ft=None, declination_deg=12,
)  # fmt: skip


def test_a_navaid_with_a_declination_is_a_station() -> None:
    expected = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)
    assert NOWHERE.find_station() == expected


def test_without_a_declination_there_are_no_radials_and_no_guess() -> None:
    assert replace(NOWHERE, declination_deg=None).find_station() is None


def test_the_nearest_comes_first_across_the_date_line() -> None:
    east, west = replace(NOWHERE, longitude_deg=179.0), replace(NOWHERE, longitude_deg=-170.0)
    assert order_nearest((west, east), -40.0, -179.5) == (east, west)


def test_distance_is_along_the_geodesic() -> None:
    # One minute of longitude on the WGS-84 equator: 6,378,137 m * pi / 10,800 = 1,855.325 m.
    equator = replace(NOWHERE, latitude_deg=0.0)
    assert equator.distance_nm(0.0, -110.0 + 1 / 60) == pytest.approx(1_855.3248 / 1852.0, abs=1e-6)


def test_morse_is_drawn_as_dots_and_dashes() -> None:
    assert NOWHERE.morse == "--.- --.- --.-"


@pytest.mark.parametrize(
    ("angle_deg", "text"), [(12.0, "12 E"), (-3.54, "3.5 W"), (0.0, "0 E"), (-0.04, "0 E")]
)
def test_declination_reads_as_on_a_chart(angle_deg: float, text: str) -> None:
    assert render_east(angle_deg) == text


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ("Q", True),
        ("QQ1Q", True),
        ("qqq", True),
        ("", False),
        ("QQQQQ", False),
        ("Q-Q", False),
        ("QÄQ", False),
    ],
)
def test_an_ident_is_what_morse_can_spell(text: str, is_one: bool) -> None:
    assert is_ident(text) is is_one
