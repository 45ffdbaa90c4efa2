import pytest

from coach.nav.compass import acceleration_error_deg, northerly_error_deg, roll_out_reading_deg


@pytest.mark.parametrize(("heading", "error_deg"), [(360, 40), (180, -40), (90, 0), (270, 0)])
def test_it_lags_on_north_leads_on_south_and_is_right_on_east_and_west(
    heading: int, error_deg: float
) -> None:
    # P14: FAA-H-8083-15A p. 5-22, northern hemisphere.
    assert northerly_error_deg(heading, 40) == pytest.approx(error_deg)


@pytest.mark.parametrize(("heading", "shown"), [(180, 220), (225, 245), (270, 270)])
def test_turning_from_south_to_west_at_latitude_40(heading: int, shown: float) -> None:
    # P16: PHAK text quoted: 220 shown at the start, a lead of 20 midway, none at west.
    assert heading - northerly_error_deg(heading, 40) == pytest.approx(shown)


@pytest.mark.parametrize(
    ("heading", "is_right", "reads"),
    [(360, False, 37.5), (360, True, 322.5), (180, True, 202.5), (180, False, 157.5)],
)
def test_where_to_roll_out_at_latitude_30_and_15_degrees_of_bank(
    heading: int, is_right: bool, reads: float
) -> None:
    # P15: FAA-H-8083-15A/B: north from east 037, from west 323; south 203 and 157 from memory.
    assert roll_out_reading_deg(heading, is_right=is_right, latitude_deg=30) == pytest.approx(reads)


def test_east_and_west_are_led_by_half_the_bank_alone() -> None:
    # P15 with U12.
    assert roll_out_reading_deg(90, is_right=True, latitude_deg=45, bank_deg=18) == pytest.approx(81)


def test_south_of_the_equator_north_and_south_change_places() -> None:
    # The same physics; no text read.
    north = roll_out_reading_deg(360, is_right=True, latitude_deg=-30)
    assert north == pytest.approx(360 + 30 - 7.5 - 360)


@pytest.mark.parametrize(
    ("heading", "is_speeding_up", "toward"),
    [(90, True, 1), (270, True, 1), (90, False, -1), (270, False, -1), (360, True, 0), (180, False, 0)],
)
def test_speeding_up_swings_north_and_slowing_down_south_on_east_and_west(
    heading: int, is_speeding_up: bool, toward: int
) -> None:
    # P14: FAA-H-8083-15A p. 5-22.
    assert acceleration_error_deg(heading, 40, is_speeding_up=is_speeding_up) == toward


def test_speed_swings_nothing_at_the_equator_and_the_other_way_south_of_it() -> None:
    assert acceleration_error_deg(90, 0, is_speeding_up=True) == 0
    assert acceleration_error_deg(90, -40, is_speeding_up=True) == -1
