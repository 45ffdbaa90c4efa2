import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import DrillError, SettingsError
from coach.nav.angles import difference_deg
from coach.nav.wind import CALM, Reference, Wind, parse_wind, render_wind, solve_triangle, wind_from_motion


@pytest.mark.parametrize(
    ("text", "wind"),
    [
        ("250/20", Wind(from_deg=250, speed_kt=20)),
        ("250M/20", Wind(from_deg=250, speed_kt=20)),
        ("250T/20", Wind(from_deg=250, speed_kt=20, reference=Reference.TRUE)),
        ("250t/7.5", Wind(from_deg=250, speed_kt=7.5, reference=Reference.TRUE)),
        ("360/0", CALM),
        ("000/0", CALM),
        (" 5/115 ", Wind(from_deg=5, speed_kt=115)),
    ],
)
def test_a_wind_is_read_with_its_reference(text: str, wind: Wind) -> None:
    assert parse_wind(text) == wind


@pytest.mark.parametrize(
    "text",
    [
        "",
        "250",
        "250/",
        "/20",
        "361/10",
        "250X/20",
        "250/-5",
        "-10/5",
        "nan/5",
        "250/1e3",
        "٢٥٠/20",
        "250/20kt",
    ],
)
def test_a_wind_that_is_none_is_one_clear_line(text: str) -> None:
    with pytest.raises(SettingsError) as caught:
        parse_wind(text)
    expected = "expected DIR/KT with DIR 0-360, such as 250/20 (magnetic) or 250T/20 (true)"
    assert str(caught.value) == f"--wind: {expected}, got {text!r}"
    assert caught.value.exit_status == 2


@pytest.mark.parametrize("text", ["250/20", "250T/20", "005/9", "360/0", "120/7.5"])
def test_a_wind_is_written_as_it_is_read(text: str) -> None:
    assert render_wind(parse_wind(text)) == text


def test_a_true_wind_loses_the_easterly_declination() -> None:
    wind = parse_wind("005T/20").as_magnetic(12.0)
    assert wind == Wind(from_deg=353, speed_kt=20, reference=Reference.MAGNETIC)


def test_a_magnetic_wind_stays_as_it_is() -> None:
    assert parse_wind("005/20").as_magnetic(12.0) == parse_wind("005/20")


def test_wind_from_the_west_moves_the_air_east() -> None:
    wind = parse_wind("270/20")
    assert (wind.east_kt, wind.north_kt) == (pytest.approx(20), pytest.approx(0))


@pytest.mark.parametrize(
    ("course", "tas_kt", "wind", "correction", "heading", "ground_speed"),
    [
        # P18: PHAK navigation chapter; correction and heading exact (computed), ground speed 88 published.
        (90, 120, "045T/40", -13.63, 76.37, 88.33),
        # P19: PHAK plan sheet (from memory): 3 L, GS 106; exact 2.57 L, 106.31 (computed).
        (31, 115, "360T/10", -2.57, 28.43, 106.31),
        # P22: EASA question bank: TH 099, GS 199; exact 098.5, 199.5 (computed).
        (110, 200, "015T/40", -11.49, 98.51, 199.5),
    ],
)
def test_published_wind_triangles(
    course: float, tas_kt: float, wind: str, correction: float, heading: float, ground_speed: float
) -> None:
    triangle = solve_triangle(course, tas_kt, parse_wind(wind))
    assert triangle.correction_deg == pytest.approx(correction, abs=0.01)
    assert triangle.heading_deg == pytest.approx(heading, abs=0.01)
    assert triangle.ground_speed_kt == pytest.approx(ground_speed, abs=0.05)


@pytest.mark.parametrize(
    ("track", "heading", "tas_kt", "ground_speed", "from_deg", "speed_kt"),
    [
        # P20: FAA test bank answers 020/32; exact 019.0/32.6 (computed).
        (105, 85, 95, 87, 19.0, 32.6),
        # P21: FAA test bank answers 113/19; exact 112.4/18.6 (computed).
        (345, 355, 85, 95, 112.4, 18.6),
    ],
)
def test_published_winds_from_motion(
    track: float, heading: float, tas_kt: float, ground_speed: float, from_deg: float, speed_kt: float
) -> None:
    wind = wind_from_motion(track_deg=track, heading_deg=heading, tas_kt=tas_kt, ground_speed_kt=ground_speed)
    assert wind.from_deg == pytest.approx(from_deg, abs=0.05)
    assert wind.speed_kt == pytest.approx(speed_kt, abs=0.05)


@given(st.floats(1, 360), st.floats(1, 360), st.floats(1, 80))
def test_a_triangle_gives_its_wind_back(course: float, from_deg: float, speed_kt: float) -> None:
    triangle = solve_triangle(course, 90, Wind(from_deg=from_deg, speed_kt=speed_kt))
    wind = wind_from_motion(
        track_deg=course,
        heading_deg=triangle.heading_deg,
        tas_kt=90,
        ground_speed_kt=triangle.ground_speed_kt,
    )
    assert wind.speed_kt == pytest.approx(speed_kt)
    assert abs(difference_deg(wind.from_deg, from_deg)) < 1e-6


@pytest.mark.parametrize("wind", ["090/90", "090/120", "360/90", "350/95"])
def test_a_wind_too_strong_for_a_course_is_told(wind: str) -> None:
    with pytest.raises(DrillError) as caught:
        solve_triangle(360, 90, parse_wind(wind))
    expected = "a wind in which 90 kt TAS can make good course 360"
    assert str(caught.value) == f"wind: expected {expected}, got {wind}"
    assert caught.value.exit_status == 2
