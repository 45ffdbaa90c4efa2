"""Numbers, letters and times in the words the trade says them in (T-1 to T-18).

Text for a voice and for the screen, nothing else: never decides what is said, and never sounds it.
Sources: Aeronautical Information Manual (AIM) 4-2-7 to 4-2-12, ICAO Annex 10 Volume II 5.2.1.4 and
Doc 9432, FAA Order JO 7110.65. A value outside its range is a bug of the caller: `ValueError`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import time
from decimal import Decimal
from enum import StrEnum

FLIGHT_LEVELS_FROM_FT = 18_000
"""Where the FAA style changes from altitudes to flight levels (AIM 4-2-9)."""

_ONES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen",
    "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_DIGITS = (*_ONES[:9], "niner")

_LETTERS = (
    "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India", "Juliett",
    "Kilo", "Lima", "Mike", "November", "Oscar", "Papa", "Quebec", "Romeo", "Sierra", "Tango",
    "Uniform", "Victor", "Whiskey", "Xray", "Yankee", "Zulu",
)  # fmt: skip

_SAID_DIGITS = {
    **{word: str(digit) for digit, word in enumerate(_ONES)},
    # The radio forms of AIM 4-2-7 and Doc 9432, written as a recogniser's word list would have them.
    **{"zeero": "0", "wun": "1", "too": "2", "tree": "3", "fower": "4", "fife": "5"},
    **{"ait": "8", "niner": "9"},
    # Common practice, no source: `oh` for zero.
    "oh": "0",
}

_QUARTERS = ("", " and one-quarter", " and one-half", " and three-quarters")


class Style(StrEnum):
    """Whose way of saying numbers."""

    FAA = "faa"
    ICAO = "icao"


def digit_words(digits: str) -> str:
    """Say a string of digits one by one: `10` is `one zero` (AIM 4-2-8d)."""
    return " ".join(_DIGITS[int(digit)] for digit in digits)


def parse_digit_words(words: str) -> str | None:
    """The digits in what was said, everyday or radio forms: `tree fife niner` is `359`.

    None if any word is no digit, or there is none.
    """
    digits = [_SAID_DIGITS.get(word) for word in words.lower().replace("-", "").split()]
    return "".join(digit for digit in digits if digit) if digits and all(digits) else None


def letter_words(letters: str) -> str:
    """Spell letters and digits by the spelling alphabet: `V1` is `Victor one` (AIM 4-2-7)."""
    return " ".join(_letter_word(character) for character in letters.upper())


def count_words(count: int) -> str:
    """Say a plain count, 0 to 9,999: `twelve`, `twenty-one`, `one hundred five`.

    A count of nine is `niner` too, since in a loud cabin `nine` and `five` are alike.
    """
    return "niner" if count == 9 else cardinal_words(count)


def cardinal_words(count: int) -> str:
    """Say a count in everyday words, 0 to 9,999: `nine`, `one hundred five`."""
    if not 0 <= count <= 9_999:
        raise ValueError(f"count {count} is not within 0 to 9999")
    if count < 20:
        return (*_ONES, *_TEENS)[count]
    if count < 100:
        return _TENS[count // 10] + (f"-{_ONES[count % 10]}" if count % 10 else "")
    unit, name = (1_000, "thousand") if count >= 1_000 else (100, "hundred")
    head, rest = divmod(count, unit)
    return f"{_ONES[head]} {name}" + (f" {cardinal_words(rest)}" if rest else "")


def heading_words(direction_deg: int, *, is_true: bool = False) -> str:
    """Say a heading, course, bearing, radial or wind direction, 0 to 360, as three digits (AIM 4-2-10).

    Magnetic unless `true` is said after it. North is `three six zero`, never `zero zero zero`.
    """
    if not 0 <= direction_deg <= 360:
        raise ValueError(f"direction {direction_deg} is not within 0 to 360")
    digits = digit_words(f"{direction_deg or 360:03}")
    return f"{digits} true" if is_true else digits


def radial_words(station: str, radial_mag_deg: int) -> str:
    """Say a radial: the station's name, three digits, `radial` (JO 7110.65 2-5-2, from memory)."""
    return f"{station} {heading_words(radial_mag_deg)} radial"


def wind_words(direction_deg: int, speed_kt: int, style: Style = Style.FAA) -> str:
    """Say a wind (ICAO: Annex 10 Volume II 5.2.1.4.1; FAA: JO 7110.65 2-4-17, from memory)."""
    speed = digit_words(str(speed_kt))
    if style is Style.ICAO:
        return f"wind {heading_words(direction_deg)} degrees {speed} knots"
    return f"wind {heading_words(direction_deg)} at {speed}"


def frequency_words(frequency_mhz: float, style: Style = Style.FAA) -> str:
    """Say a frequency digit by digit, with `point` or ICAO's `decimal`, to the kilohertz (AIM 4-2-8e)."""
    whole, part = _frequency_digits(frequency_mhz)
    return f"{digit_words(whole)} {_point(style)} {digit_words(part)}"


def grouped_frequency_words(frequency_mhz: float, style: Style = Style.FAA) -> str:
    """Say a frequency again in groups, for clarity after its digits (JO 7110.65 2-4-18).

    126.55 is `one twenty six point fifty five`.
    """
    whole, part = _frequency_digits(frequency_mhz)
    return f"{_group_words(whole)} {_point(style)} {_group_words(part)}"


def altitude_words(altitude_ft: int, style: Style = Style.FAA, *, levels_from_ft: int | None = None) -> str:
    """Say an altitude: the digits of the thousands, then the hundreds (AIM 4-2-8, 4-2-9).

    Other than whole hundreds: digit by digit. From `levels_from_ft` on it is a flight level. That is
    18,000 ft in the FAA style if not given; in the ICAO style each state publishes its own, so there
    is none if not given.
    """
    if levels_from_ft is None and style is Style.FAA:
        levels_from_ft = FLIGHT_LEVELS_FROM_FT
    if levels_from_ft is not None and altitude_ft >= levels_from_ft:
        return flight_level_words(altitude_ft // 100)
    return _hundreds_words(altitude_ft, digit_words)


def grouped_altitude_words(altitude_ft: int) -> str:
    """Say an altitude again in groups: 10,000 is `ten thousand` (JO 7110.65 2-4-17)."""
    return _hundreds_words(altitude_ft, lambda digits: count_words(int(digits)))


def flight_level_words(level: int) -> str:
    """Say a flight level: 190 is `flight level one niner zero` (AIM 4-2-9)."""
    return f"flight level {digit_words(f'{level:03}')}"


def speed_words(speed_kt: int) -> str:
    """Say a speed: 250 is `two five zero knots` (AIM 4-2-11)."""
    return f"{digit_words(str(speed_kt))} knots"


def mach_words(mach: float, style: Style = Style.FAA) -> str:
    """Say a Mach number to two places: 0.64 is `Mach point six four` (AIM 4-2-11)."""
    whole, part = f"{mach:.2f}".split(".")
    before = "" if whole == "0" else f"{digit_words(whole)} "
    return f"Mach {before}{_point(style)} {digit_words(part)}"


def altimeter_words(setting_inhg: float) -> str:
    """Say an altimeter setting: 30.01 is `altimeter three zero zero one` (JO 7110.65 2-4-17, from memory)."""
    return f"altimeter {digit_words(f'{setting_inhg:.2f}'.replace('.', ''))}"


def time_words(utc: time, *, is_zulu_said: bool = False) -> str:
    """Say a time of day in UTC: 0920 is `zero niner two zero`, and `Zulu` if asked (AIM 4-2-12)."""
    digits = digit_words(f"{utc:%H%M}")
    return f"{digits} Zulu" if is_zulu_said else digits


def minute_words(utc: time) -> str:
    """Say the minutes only, where the hour cannot be mistaken: 0920 is `two zero` (AIM 4-2-12)."""
    return digit_words(f"{utc:%M}")


def time_check_words(utc: time) -> str:
    """Say a time check to the quarter minute: less than 8 s past it the last one, else the next.

    09:29:10 is `zero niner two niner and one-quarter` (AIM 4-2-12e).
    """
    quarters_of_day = (utc.hour * 60 + utc.minute) * 4 + (utc.second + 7) // 15
    minutes, quarter = divmod(quarters_of_day % (24 * 60 * 4), 4)
    return time_words(time(*divmod(minutes, 60))) + _QUARTERS[quarter]


def airway_words(airway: str, style: Style = Style.FAA) -> str:
    """Say an airway: `V12` is `Victor Twelve`, `J533` is `J Five Thirty-Three` (AIM 4-2-8c).

    FAA: the number in groups; a jet route's letter as it is. ICAO: letter and digits spelled (Annex 11
    Appendix 1, from memory), as are the letters of other routes.
    """
    letter, number = airway[:1].upper(), airway[1:]
    if not letter.isalpha() or not number.isdecimal():
        raise ValueError(f"airway {airway!r} is not a letter and a number")
    if style is Style.ICAO:
        return letter_words(airway)
    name = letter if letter == "J" else letter_words(letter)
    return f"{name} {_group_words(number, between='-').title()}"


def _point(style: Style) -> str:
    return "decimal" if style is Style.ICAO else "point"


def _letter_word(character: str) -> str:
    if character.isdecimal():
        return digit_words(character)
    if not "A" <= character <= "Z":
        raise ValueError(f"{character!r} is neither letter nor digit")
    return _LETTERS[ord(character) - ord("A")]


def _frequency_digits(frequency_mhz: float) -> tuple[str, str]:
    """The digits before the point, and those after it without trailing zeros (at least one)."""
    whole, part = str(round(Decimal(str(frequency_mhz)), 3) + Decimal("0.000")).split(".")
    return whole, part.rstrip("0") or "0"


def _hundreds_words(altitude_ft: int, thousands_words: Callable[[str], str]) -> str:
    """`one two thousand five hundred`; what is not whole hundreds, or zero, digit by digit."""
    if altitude_ft % 100 or not altitude_ft:
        return digit_words(str(altitude_ft))
    thousands, hundreds = divmod(altitude_ft // 100, 10)
    parts = (
        f"{thousands_words(str(thousands))} thousand" if thousands else "",
        f"{digit_words(str(hundreds))} hundred" if hundreds else "",
    )
    return " ".join(part for part in parts if part)


def _group_words(digits: str, *, between: str = " ") -> str:
    """Digits in pairs from the right: `126` is `one twenty six`, `05` is `zero five`."""
    if len(digits) == 3 and digits.endswith("00"):
        return f"{_ONES[int(digits[0])]} hundred"
    head = len(digits) % 2
    pairs = ((digits[:head],) if head else ()) + tuple(re.findall("..", digits[head:]))
    return " ".join(_pair_words(pair, between=between) for pair in pairs)


def _pair_words(pair: str, *, between: str) -> str:
    if len(pair) == 1 or pair.startswith("0"):
        return digit_words(pair)
    return cardinal_words(int(pair)).replace("-", between)
