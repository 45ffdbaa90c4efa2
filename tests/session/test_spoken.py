"""Spoken numbers against the published examples; each source is named beside its rows."""

from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.session.spoken import (
    Style,
    airway_words,
    altimeter_words,
    altitude_words,
    count_words,
    digit_words,
    flight_level_words,
    frequency_words,
    grouped_altitude_words,
    grouped_frequency_words,
    heading_words,
    letter_words,
    mach_words,
    minute_words,
    parse_digit_words,
    radial_words,
    speed_words,
    time_check_words,
    time_words,
    wind_words,
)

ALPHABET = (
    "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa "
    "Quebec Romeo Sierra Tango Uniform Victor Whiskey Xray Yankee Zulu"
)
"""AIM 4-2-7, table of the spelling alphabet."""

PRONOUNCED = ("ZEE-RO", "WUN", "TOO", "TREE", "FOW-ER", "FIFE", "SIX", "SEV-EN", "AIT", "NIN-ER")
"""AIM 4-2-7, table of the digits."""

HEARD_AS = ("zeero", "wun", "too", "tree", "fower", "fife", "six", "seven", "ait", "niner")
"""The same in the letters a recogniser's word list has: SEV-EN and NIN-ER are everyday spellings."""


def test_letters_are_spelled_by_the_published_alphabet() -> None:
    # AIM 4-2-7 TBL (T-1).
    assert letter_words("abcdefghijklmnopqrstuvwxyz") == ALPHABET


def test_a_character_that_is_neither_letter_nor_digit_is_refused() -> None:
    with pytest.raises(ValueError, match="neither letter nor digit"):
        letter_words("É")


@pytest.mark.parametrize(
    ("digit", "pronounced", "heard"), list(zip(range(10), PRONOUNCED, HEARD_AS, strict=True))
)
def test_radio_forms_of_the_digits_are_understood(digit: int, pronounced: str, heard: str) -> None:
    # AIM 4-2-7 TBL (T-2).
    assert parse_digit_words(heard) == str(digit)
    assert pronounced[0] == heard[0].upper()


def test_everyday_forms_of_the_digits_are_understood() -> None:
    assert parse_digit_words("zero one two three four five six seven eight nine oh") == "01234567890"


def test_zero_of_icao_is_understood_in_its_syllables() -> None:
    # Doc 9432: 0 ZE-RO (T-4).
    assert parse_digit_words("ZE-RO") == "0"


@pytest.mark.parametrize("words", ["", "left", "one left", "twelve"])
def test_what_is_no_digit_string_is_none(words: str) -> None:
    assert parse_digit_words(words) is None


@given(st.text("0123456789", min_size=1))
def test_spoken_digits_are_understood_as_the_same_digits(digits: str) -> None:
    assert parse_digit_words(digit_words(digits)) == digits


@pytest.mark.parametrize("style", Style)
@pytest.mark.parametrize(
    ("altitude_ft", "words"),
    [
        # AIM 4-2-8a (T-5).
        (500, "five hundred"),
        (4_500, "four thousand five hundred"),
        # AIM 4-2-8b (T-6).
        (10_000, "one zero thousand"),
        (13_500, "one three thousand five hundred"),
        # AIM 4-2-9 (T-10).
        (12_500, "one two thousand five hundred"),
        # JO 7110.65 2-4-17 (T-15).
        (17_900, "one seven thousand niner hundred"),
        # Annex 10 Volume II 5.2.1.4.1 (T-18).
        (3_400, "three thousand four hundred"),
        (12_000, "one two thousand"),
        # The edge of AIM 4-2-9: flight levels from 18,000; other than hundreds digit by digit (4-2-8d).
        (17_999, "one seven niner niner niner"),
        # AIM 4-2-8d.
        (0, "zero"),
        (1_050, "one zero five zero"),
        (9_900, "niner thousand niner hundred"),
    ],
)
def test_altitudes_are_said_as_published(altitude_ft: int, words: str, style: Style) -> None:
    assert altitude_words(altitude_ft, style) == words


@pytest.mark.parametrize(
    ("altitude_ft", "words"),
    [
        # AIM 4-2-9 (T-10).
        (18_000, "flight level one eight zero"),
        (19_000, "flight level one niner zero"),
    ],
)
def test_faa_says_flight_levels_from_eighteen_thousand(altitude_ft: int, words: str) -> None:
    assert altitude_words(altitude_ft) == words


def test_icao_says_flight_levels_only_from_a_given_altitude() -> None:
    # The transition altitude is each state's own to publish (common practice, no source).
    assert altitude_words(18_000, Style.ICAO) == "one eight thousand"
    assert altitude_words(6_000, Style.ICAO, levels_from_ft=5_000) == "flight level zero six zero"
    assert altitude_words(4_900, Style.ICAO, levels_from_ft=5_000) == "four thousand niner hundred"


def test_a_flight_level_has_three_digits() -> None:
    assert flight_level_words(50) == "flight level zero five zero"


@pytest.mark.parametrize(
    ("digits", "words"),
    [
        # AIM 4-2-8d (T-7).
        ("10", "one zero"),
        # JO 7110.65 2-4-17, serial numbers (T-15).
        ("11495", "one one four niner five"),
        # Annex 10 Volume II 5.2.1.4.1, transponder codes (T-18).
        ("4203", "four two zero three"),
    ],
)
def test_other_numbers_are_said_digit_by_digit(digits: str, words: str) -> None:
    assert digit_words(digits) == words


@pytest.mark.parametrize(
    ("frequency_mhz", "faa", "icao"),
    [
        # AIM 4-2-8e; ICAO: decimal, Doc 9432 (T-8, T-4).
        (122.1, "one two two point one", "one two two decimal one"),
        # JO 7110.65 2-4-18 (T-17).
        (126.55, "one two six point five five", "one two six decimal five five"),
        # Common practice, no source: one digit after the point at least, no zeros behind it.
        (118.0, "one one eight point zero", "one one eight decimal zero"),
        (113.05, "one one three point zero five", "one one three decimal zero five"),
        (113.9, "one one three point niner", "one one three decimal niner"),
    ],
)
def test_frequencies_are_said_with_the_word_of_the_style(frequency_mhz: float, faa: str, icao: str) -> None:
    assert frequency_words(frequency_mhz) == faa
    assert frequency_words(frequency_mhz, Style.ICAO) == icao


@pytest.mark.parametrize("khz", range(108_000, 118_000, 50))
def test_every_vor_channel_is_said_exactly_though_a_float_is_not_exact(khz: int) -> None:
    whole, part = frequency_words(khz / 1_000).split(" point ")
    assert int(f"{parse_digit_words(whole)}{parse_digit_words(part) or '':0<3}") == khz


@pytest.mark.parametrize(
    ("frequency_mhz", "words"),
    [
        # JO 7110.65 2-4-18 (T-17).
        (126.55, "one twenty six point fifty five"),
        # The same rule, no published example.
        (108.05, "one zero eight point zero five"),
        (110.2, "one ten point two"),
    ],
)
def test_a_frequency_is_said_again_in_groups(frequency_mhz: float, words: str) -> None:
    assert grouped_frequency_words(frequency_mhz) == words


@pytest.mark.parametrize(
    ("altitude_ft", "words"),
    [
        # JO 7110.65 2-4-17 (T-15).
        (10_000, "ten thousand"),
        # The same rule, no published example.
        (12_500, "twelve thousand five hundred"),
        (9_000, "niner thousand"),
    ],
)
def test_an_altitude_is_said_again_in_groups(altitude_ft: int, words: str) -> None:
    assert grouped_altitude_words(altitude_ft) == words


@pytest.mark.parametrize(
    ("airway", "words"),
    [
        # AIM 4-2-8c (T-9).
        ("V12", "Victor Twelve"),
        ("J533", "J Five Thirty-Three"),
        # The same rule, no published example.
        ("V6", "Victor Six"),
        ("V108", "Victor One Zero Eight"),
        ("V200", "Victor Two Hundred"),
        # From memory: the spelling alphabet for the letters of other routes.
        ("T225", "Tango Two Twenty-Five"),
    ],
)
def test_airways_are_said_in_groups(airway: str, words: str) -> None:
    assert airway_words(airway) == words


def test_icao_spells_the_letter_and_the_digits_of_an_airway() -> None:
    # Annex 11 Appendix 1, from memory.
    assert airway_words("J533", Style.ICAO) == "Juliett five three three"


@pytest.mark.parametrize("airway", ["", "V", "12", "V1A", "V-1"])
def test_an_airway_without_letter_and_number_is_refused(airway: str) -> None:
    with pytest.raises(ValueError, match="is not a letter and a number"):
        airway_words(airway)


@pytest.mark.parametrize(
    ("direction_deg", "words"),
    [
        # AIM 4-2-10 (T-11); the same in Annex 10 Volume II 5.2.1.4.1 (T-18: 100, 080).
        (5, "zero zero five"),
        (360, "three six zero"),
        (100, "one zero zero"),
        (220, "two two zero"),
        (80, "zero eight zero"),
        # North is never zero zero zero.
        (0, "three six zero"),
        (299, "two niner niner"),
    ],
)
def test_directions_have_three_digits(direction_deg: int, words: str) -> None:
    assert heading_words(direction_deg) == words


def test_a_true_course_says_so() -> None:
    # AIM 4-2-10 (T-11).
    assert heading_words(50, is_true=True) == "zero five zero true"


def test_a_heading_of_a_controller_is_said_as_published() -> None:
    # JO 7110.65 2-4-17, from memory (T-16).
    assert f"heading {heading_words(5)}" == "heading zero zero five"


@pytest.mark.parametrize("direction_deg", [-1, 361, 400])
def test_a_direction_off_the_circle_is_refused(direction_deg: int) -> None:
    with pytest.raises(ValueError, match="is not within 0 to 360"):
        heading_words(direction_deg)


@given(st.integers(1, 360))
def test_every_heading_is_heard_as_it_was_said(direction_deg: int) -> None:
    assert parse_digit_words(heading_words(direction_deg)) == f"{direction_deg:03}"


def test_a_radial_is_the_name_three_digits_and_the_word() -> None:
    # JO 7110.65 2-5-2, from memory (T-16).
    assert radial_words("Mid Ocean", 9) == "Mid Ocean zero zero niner radial"


def test_winds_are_said_in_the_form_of_the_style() -> None:
    # Annex 10 Volume II 5.2.1.4.1 (T-18).
    assert wind_words(200, 70, Style.ICAO) == "wind two zero zero degrees seven zero knots"
    # AIM 4-2-10 for `wind two two zero` (T-11); the speed after `at`: JO 7110.65 2-4-17, from memory.
    assert wind_words(220, 15) == "wind two two zero at one five"


@pytest.mark.parametrize(
    ("speed_kt", "words"),
    # AIM 4-2-11 (T-12).
    [(250, "two five zero knots"), (190, "one niner zero knots")],
)
def test_speeds_are_said_digit_by_digit_with_knots(speed_kt: int, words: str) -> None:
    assert speed_words(speed_kt) == words


def test_a_mach_number_starts_at_its_point() -> None:
    # AIM 4-2-11 (T-12).
    assert mach_words(0.64) == "Mach point six four"
    # The same rule with ICAO's word, no published example.
    assert mach_words(1.1, Style.ICAO) == "Mach one decimal one zero"


def test_an_altimeter_setting_is_four_digits() -> None:
    # JO 7110.65 2-4-17, from memory (T-16).
    assert altimeter_words(30.01) == "altimeter three zero zero one"
    assert altimeter_words(29.9) == "altimeter two niner niner zero"


@pytest.mark.parametrize(
    ("utc", "words"),
    [
        # AIM 4-2-12 (T-13).
        (time(9, 20), "zero niner two zero"),
        # JO 7110.65 2-4-17 (T-15).
        (time(7, 15), "zero seven one five"),
        (time(0, 0), "zero zero zero zero"),
    ],
)
def test_a_time_is_four_digits(utc: time, words: str) -> None:
    assert time_words(utc) == words


def test_zulu_is_utc_and_minutes_can_stand_alone() -> None:
    # AIM 4-2-12 (T-13).
    assert time_words(time(9, 20), is_zulu_said=True) == "zero niner two zero Zulu"
    assert minute_words(time(9, 20)) == "two zero"


@pytest.mark.parametrize(
    ("utc", "words"),
    [
        # AIM 4-2-12e (T-14): the two examples, then the rule's edges.
        (time(9, 29, 5), "zero niner two niner"),
        (time(9, 29, 10), "zero niner two niner and one-quarter"),
        (time(9, 29, 7), "zero niner two niner"),
        (time(9, 29, 7, 999_999), "zero niner two niner"),
        (time(9, 29, 8), "zero niner two niner and one-quarter"),
        (time(9, 29, 30), "zero niner two niner and one-half"),
        (time(9, 29, 52), "zero niner two niner and three-quarters"),
        (time(9, 29, 53), "zero niner three zero"),
        (time(9, 59, 53), "one zero zero zero"),
        (time(23, 59, 53), "zero zero zero zero"),
    ],
)
def test_a_time_check_is_to_the_quarter_minute(utc: time, words: str) -> None:
    assert time_check_words(utc) == words


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (0, "zero"),
        (4, "four"),
        (9, "niner"),
        (12, "twelve"),
        (19, "nineteen"),
        (20, "twenty"),
        (45, "forty-five"),
        (105, "one hundred five"),
        (600, "six hundred"),
        (1_090, "one thousand ninety"),
        (9_999, "nine thousand nine hundred ninety-nine"),
    ],
)
def test_counts_are_plain_cardinal_words(count: int, words: str) -> None:
    assert count_words(count) == words


@pytest.mark.parametrize("count", [-1, 10_000])
def test_a_count_out_of_range_is_refused(count: int) -> None:
    with pytest.raises(ValueError, match="is not within 0 to 9999"):
        count_words(count)


def test_no_count_sounds_like_another() -> None:
    assert len({count_words(count) for count in range(10_000)}) == 10_000
