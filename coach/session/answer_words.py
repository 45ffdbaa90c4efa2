"""The words of spoken answers, one vocabulary a language: digits, groups, and what stands before them.

Data for `coach.session.answers` and nothing else: never reads sound and never judges an answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

from coach.session.spoken import cardinal_words

Said = tuple[str, ...]
"""Several ways to say the same; the first is the usual one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Vocabulary:
    """How a language says directions and numbers."""

    digits: tuple[Said, ...]
    """For each digit from 0 its words: everyday, radio."""

    groups: tuple[tuple[str, str], ...]
    """(words, two digits) of numbers said in one, 10 to 99; empty where the language has none in use."""

    hundreds: tuple[tuple[str, str], ...]
    """(words, three digits) of numbers said with a hundred, 100 to 360."""

    heading: Said
    course: Said
    radial: Said
    left: Said
    right: Said
    """What a turn to the right begins with."""

    degrees: Said
    """What may stand after a direction without changing it."""

    twist: Said = ()
    """What else a course begins with in a callout."""


def _english_groups() -> tuple[tuple[str, str], ...]:
    return tuple((cardinal_words(number).replace("-", " "), str(number)) for number in range(10, 100))


def _english_hundreds() -> tuple[tuple[str, str], ...]:
    """`three hundred`, `one hundred five`, `one hundred and five`."""
    said = ((cardinal_words(number).replace("-", " "), str(number)) for number in range(100, 361))
    return tuple(
        (words.replace(" hundred ", between), digits)
        for words, digits in said
        for between in dict.fromkeys((" hundred ", " hundred and "))
        if between == " hundred " or " hundred " in words
    )


def _turns(side: str) -> Said:
    """`left`, `turn left`, `left turn`, each with a heading or without."""
    turns = (side, f"turn {side}", f"{side} turn")
    return tuple(f"{turn}{heading}" for heading, turn in product(("", " heading", " to"), turns))


ENGLISH = Vocabulary(
    # AIM 4-2-7 and Doc 9432 for the radio forms; `oh`: common practice, no source.
    digits=(
        ("zero", "oh"),
        ("one",),
        ("two",),
        ("three", "tree"),
        ("four", "fower"),
        ("five", "fife"),
        ("six",),
        ("seven",),
        ("eight",),
        ("nine", "niner"),
    ),
    groups=_english_groups(),
    hundreds=_english_hundreds(),
    heading=("heading",),
    course=("course",),
    radial=("radial",),
    left=_turns("left"),
    right=_turns("right"),
    degrees=("degrees",),
    twist=("twist",),
)

KOREAN = Vocabulary(
    # Sino-Korean digits; 공 for zero, and the native 하나, 둘, 넷, 여섯, 아홉 that Korean radio uses to tell
    # 일 from 이 and 사 from 삼 (from memory).
    digits=(
        ("공", "영"),
        ("일", "하나"),
        ("이", "둘"),
        ("삼",),
        ("사", "넷"),
        ("오",),
        ("육", "여섯"),
        ("칠",),
        ("팔",),
        ("구", "아홉"),
    ),
    groups=(),
    hundreds=(),
    heading=("기수",),
    course=("코스",),
    radial=("레디얼",),
    left=("왼쪽", "좌"),
    right=("오른쪽", "우"),
    degrees=("도",),
)

VOCABULARIES = {"en": ENGLISH, "ko": KOREAN}
"""By ISO 639-1 code."""
