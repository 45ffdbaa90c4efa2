"""Single fields: what is missing is None, what is not exactly of its form is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.nmea_fields import (
    BadSentenceError,
    parse_angle,
    parse_midnight,
    parse_number,
    parse_position,
    parse_signed,
    parse_time_s,
    parse_whole,
)


@pytest.mark.parametrize(
    "text", ["1e3", "nan", "inf", "1_0", "+1", " 1", "1 ", "-", ".", "1.2.3", "0x1", "--1", "1-2", "٣"]
)
def test_a_number_has_digits_a_point_and_a_sign_and_nothing_else(text: str):
    with pytest.raises(BadSentenceError):
        parse_number(text, -1e9, 1e9)


@given(st.text("0123456789.-eEnaifx_ +", max_size=12))
def test_every_number_taken_is_finite_and_in_its_range(text: str):
    try:
        number = parse_number(text, -50.0, 50.0)
    except BadSentenceError:
        return
    assert number is None if text == "" else -50.0 <= number <= 50.0


def test_nothing_is_none_and_never_zero():
    assert (parse_number("", 0, 1), parse_whole("", 9), parse_angle(""), parse_midnight("")) == (None,) * 4
    assert parse_signed("", "", "EW", 180.0) is None


@pytest.mark.parametrize(("letter", "value"), [("E", 3.0), ("W", -3.0)])
def test_sign_is_a_letter(letter: str, value: float):
    assert parse_signed("3", letter, "EW", 180.0) == value


@pytest.mark.parametrize("letter", ["", "EW", "N", "e"])
def test_any_other_letter_is_refused(letter: str):
    with pytest.raises(BadSentenceError):
        parse_signed("3", letter, "EW", 180.0)


@pytest.mark.parametrize("text", ["1", "-1", "1.0", "12", "²"])
def test_whole_numbers_are_digits_within_their_bound(text: str):
    if text == "1":
        assert parse_whole(text, 9) == 1
        return
    with pytest.raises(BadSentenceError):
        parse_whole(text, 9)


def test_time_has_hours_minutes_seconds_and_a_leap_second():
    assert [parse_time_s(text) for text in ("000000", "123519.25", "235960")] == [0.0, 45_319.25, 86_400.0]
    for text in ("", "240000", "006000", "000061", "00000", "0000000", "12:35:19"):
        with pytest.raises(BadSentenceError):
            parse_time_s(text)


def test_position_of_poles_and_date_line_is_taken_and_beyond_is_not():
    assert parse_position(["9000.0", "S", "18000.0", "W"]) == {"lat_deg": -90.0, "lon_deg": -180.0}
    for fields in (
        ["9000.1", "N", "00000.0", "E"],
        ["0000.0", "N", "18000.1", "E"],
        ["0100.0", "", "00100.0", "E"],
    ):
        with pytest.raises(BadSentenceError, match="malformed"):
            parse_position(fields)


def test_position_on_the_equator_or_the_meridian_is_taken_and_their_crossing_is_none():
    assert parse_position(["0000.000", "N", "00100.000", "W"]) == {"lat_deg": 0.0, "lon_deg": -1.0}
    for fields in (["0000.000", "N", "00000.000", "E"], ["", "", "", ""]):
        with pytest.raises(BadSentenceError, match="no position"):
            parse_position(fields)
