import pytest

from coach.nav.climb import climb_time_s, faster_level_off_lead_ft, level_off_after_s, level_off_lead_ft


def test_500_feet_a_minute_is_levelled_off_50_feet_before() -> None:
    # P9: FAA-H-8083-15A p. 5-17; P4 (magazine article): 10 % of the rate.
    assert level_off_lead_ft(500) == pytest.approx(50)
    assert level_off_lead_ft(-500) == pytest.approx(50)


def test_a_descent_to_a_higher_speed_is_levelled_off_100_to_150_feet_before() -> None:
    # P9: the same page.
    assert faster_level_off_lead_ft(-500) == (pytest.approx(100), pytest.approx(150))


def test_vertical_s_takes_twelve_minutes_at_500_feet_a_minute() -> None:
    # P4: 1,000, 800, 600, 400 and 200 ft up and down (magazine article, Feb 2000); 12 min computed.
    changes = [1000, 800, 600, 400, 200]
    assert sum(climb_time_s(ft, 500) * 2 for ft in changes) == pytest.approx(12 * 60)


def test_the_level_off_begins_a_tenth_of_a_minute_before_the_altitude() -> None:
    assert level_off_after_s(1000, 500) == pytest.approx(120 - 6)
    assert level_off_after_s(-1000, 500) == pytest.approx(114)
    assert level_off_after_s(30, 500) == 0
