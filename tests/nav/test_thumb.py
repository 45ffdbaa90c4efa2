import pytest

from coach.nav.thumb import closing_deg, dots_nm, off_track_deg, off_track_nm


@pytest.mark.parametrize(
    ("off_deg", "distance_nm", "rule", "exact"), [(1, 60, 1.0, 1.047), (6, 24, 2.4, 2.523)]
)
def test_one_in_sixty_reads_four_and_a_half_per_cent_low(
    off_deg: float, distance_nm: float, rule: float, exact: float
) -> None:
    # V39: standard rule; the exact tangent computed.
    found = off_track_nm(off_deg, distance_nm)
    assert found.rule == pytest.approx(rule)
    assert found.exact == pytest.approx(exact, abs=0.0006)
    assert found.off / found.exact == pytest.approx(-0.047, abs=0.003)


def test_the_angle_of_an_offset_is_the_rule_turned_round() -> None:
    # V39, the other way: 2.4 NM at 24 NM are 6 degrees by the rule.
    found = off_track_deg(2.4, 24)
    assert (found.rule, found.exact) == (pytest.approx(6.0), pytest.approx(5.711, abs=0.001))


def test_off_track_to_the_left_is_negative() -> None:
    assert off_track_nm(-6, 24).rule == pytest.approx(-2.4)
    assert off_track_deg(-2.4, 24).exact < 0


def test_the_closing_angle_of_the_test_bank() -> None:
    # V41: FAA commercial test bank, 9 miles off after 95, 125 to go: 10 degrees; exact 9.53 (computed).
    found = closing_deg(9, 95, 125)
    assert found.rule == pytest.approx(10.0, abs=0.01)
    assert found.exact == pytest.approx(9.53, abs=0.005)


def test_three_dots_at_24_miles_are_2_4_miles() -> None:
    # V40: FAA test-bank method, 200 ft a dot a mile.
    assert dots_nm(3, 24).rule == pytest.approx(2.4)


def test_two_degrees_at_a_mile_are_212_feet() -> None:
    # V40: exact, computed; the rule says 200 ft of a mile of 6,000 ft.
    assert dots_nm(1, 1).exact * 1852 / 0.3048 == pytest.approx(212.2, abs=0.05)
