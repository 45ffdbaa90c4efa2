import pytest

from coach.nav import turn


@pytest.mark.parametrize(
    ("turn_deg", "seconds"), [(360, 120), (45, 15), (30, 10), (90, 30), (180, 60), (-45, 15)]
)
def test_standard_rate_turns_take_the_handbooks_time(turn_deg: float, seconds: float) -> None:
    # U1: Instrument Flying Handbook FAA-H-8083-15A p. 5-21.
    assert turn.turn_time_s(turn_deg) == seconds


@pytest.mark.parametrize(("turn_deg", "seconds"), [(45, 30), (30, 20), (90, 60)])
def test_half_standard_turns_take_twice_as_long(turn_deg: float, seconds: float) -> None:
    # U2: the same page; CNATRA P-821, P-1215.
    assert turn.turn_time_s(turn_deg, turn.HALF_STANDARD_RATE_DEG_S) == seconds


U8 = [
    (60, 9.36, 0.318),
    (80, 12.39, 0.424),
    (90, 13.89, 0.477),
    (100, 15.36, 0.531),
    (110, 16.81, 0.584),
    (120, 18.24, 0.637),
    (140, 21.03, 0.743),
    (160, 23.72, 0.849),
    (180, 26.31, 0.955),
]


@pytest.mark.parametrize(("tas_kt", "bank_deg", "radius_nm"), U8)
def test_bank_and_radius_at_standard_rate(tas_kt: float, bank_deg: float, radius_nm: float) -> None:
    # U8: computed from physics, no published table.
    assert turn.bank_deg(tas_kt) == pytest.approx(bank_deg, abs=0.005)
    assert turn.radius_nm(tas_kt) == pytest.approx(radius_nm, abs=0.0005)


@pytest.mark.parametrize("tas_kt", [0, 60, 90, 120, 180])
def test_radius_is_tas_over_188_and_a_half(tas_kt: float) -> None:
    # U9: physics, computed.
    assert turn.radius_nm(tas_kt) == pytest.approx(tas_kt / 188.5, abs=0.0005)


@pytest.mark.parametrize(("tas_kt", "rate", "radius_ft"), [(120, 5.25, 2208), (240, 2.63, 8833)])
def test_thirty_degrees_of_bank(tas_kt: float, rate: float, radius_ft: float) -> None:
    # U10: exact physics (computed); the PHAK prints 5.25, 2,215 and 2.62, 8,860 (from memory).
    assert turn.rate_deg_s(tas_kt, 30) == pytest.approx(rate, abs=0.006)
    assert turn.radius_at_bank_ft(tas_kt, 30) == pytest.approx(radius_ft, abs=1)


def test_a_physics_lesson_example() -> None:
    # U11: a published lesson page: 100 kt, 30 degrees: 6.3 deg/s, 467 m, 360 degrees in 57 s.
    assert turn.rate_deg_s(100, 30) == pytest.approx(6.3, abs=0.05)
    assert turn.radius_at_bank_ft(100, 30) * 0.3048 == pytest.approx(467, abs=1)
    assert turn.turn_time_s(360, turn.rate_deg_s(100, 30)) == pytest.approx(57, abs=0.5)


def test_bank_and_rate_are_each_others_inverse() -> None:
    assert turn.rate_deg_s(97, turn.bank_deg(97, 2.1)) == pytest.approx(2.1)
    assert turn.radius_at_bank_nm(97, turn.bank_deg(97)) == pytest.approx(turn.radius_nm(97))


def test_fifteen_per_cent_rule_is_close_from_60_to_150_kt() -> None:
    # U5 and U8: within half a degree from 60 to 150 kt (computed); 120 kt gives 18 degrees (training text).
    assert turn.thumb_bank_deg(120) == pytest.approx(18)
    assert all(abs(turn.thumb_bank_deg(kt) - turn.bank_deg(kt)) <= 0.5 for kt in range(60, 151))


def test_roll_out_leads_by_half_the_bank() -> None:
    # U12: Instrument Flying Handbook FAA-H-8083-15B ch. 7.
    assert turn.roll_out_lead_deg(18) == 9


def test_lead_onto_a_line_at_45_degrees_is_7_9_seconds() -> None:
    # R15: computed, lead = R * tan 22.5.
    assert turn.lead_s(45) == pytest.approx(7.91, abs=0.005)


def test_the_rule_of_a_tenth_and_seven_is_right_at_140_knots_only() -> None:
    # U4: common, an example seen (180 kt -> 25). U8 (computed): 3.6 high at 60 kt, 2.1 at 90, equal at 140.
    assert turn.thumb_bank_by_tenth_deg(180) == 25
    off = {kt: turn.thumb_bank_by_tenth_deg(kt) - turn.bank_deg(kt) for kt in (60, 90, 140)}
    assert off == {
        60: pytest.approx(3.6, abs=0.05),
        90: pytest.approx(2.1, abs=0.05),
        140: pytest.approx(0, abs=0.05),
    }


def test_a_turn_of_five_degrees_is_banked_no_more_than_five() -> None:
    # U14: FAA-H-8083-15B; AFMAN 11-217 2.4.2.1.
    assert turn.small_turn_bank_deg(-5, 90) == 5
    assert turn.small_turn_bank_deg(45, 90) == pytest.approx(13.89, abs=0.005)


@pytest.mark.parametrize(("tas_kt", "has_director", "limit"), [(169.6, True, 25), (210.0, False, 30)])
def test_the_bank_in_a_hold_is_the_least_of_three(tas_kt: float, has_director: bool, limit: float) -> None:
    # U15, U16: AIM 5-3-8j8; the speeds at which 3 deg/s needs more (with the handbook's 1,091) computed.
    slower, faster = tas_kt - 1, tas_kt + 1
    assert turn.holding_bank_deg(slower, has_flight_director=has_director) == turn.bank_deg(slower) < limit
    assert turn.holding_bank_deg(faster, has_flight_director=has_director) == limit < turn.bank_deg(faster)


def test_27_degrees_in_ten_seconds_are_2_7_a_second() -> None:
    # U3: FAA-H-8083-15A p. 5-21: check the heading every 10 s, expect 30 degrees.
    assert turn.measured_rate_deg_s(27, 10) == pytest.approx(2.7)
    assert turn.measured_rate_deg_s(-30, 10) == turn.STANDARD_RATE_DEG_S


def test_a_timed_turn_of_75_degrees_lasts_25_seconds() -> None:
    # U17: CNATRA P-1285.
    assert turn.turn_time_s(75) == 25
