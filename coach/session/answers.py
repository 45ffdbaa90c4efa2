"""Spoken answers: headings, courses, radials, turns and numbers, from words and back into words.

Pure text: never hears, and never knows what the right answer is. An answer that a pilot may mistake for
another, or a recogniser may, is found by `confusions_of`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from itertools import combinations, product

from coach.session.answer_words import ENGLISH, Said, Vocabulary

MOST_DIGITS = 12
"""A number is no longer than this."""

SPELLED_FREELY = 3
"""In a number of more digits nobody changes between the words of one digit."""


class Kind(StrEnum):
    """What an answer tells."""

    HEADING = "heading"
    COURSE = "course"
    RADIAL = "radial"
    NUMBER = "number"


class Direction(StrEnum):
    """Which way a turn goes."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One answer, without the words it was said in."""

    kind: Kind

    digits: str
    """Three digits, 001 to 360, for a heading, course or radial; 1 to 12 digits for a number."""

    direction: Direction | None = None
    """The side of a turn to a heading; None: no turn was told."""

    def __post_init__(self) -> None:
        if self.kind is Kind.NUMBER:
            is_valid = self.digits.isdecimal() and len(self.digits) <= MOST_DIGITS
        else:
            is_valid = self.digits in _directions()
        if not is_valid or (self.direction and self.kind is not Kind.HEADING):
            raise ValueError(f"{self.direction or ''} {self.kind} '{self.digits}' is no answer".strip())

    @property
    def value(self) -> int:
        """The digits as a whole number; degrees for a heading, course or radial."""
        return int(self.digits)

    def __str__(self) -> str:
        """Such as `left 315`, `course 090`, `4`."""
        before = self.direction or ("" if self.kind is Kind.NUMBER else self.kind)
        return f"{before} {self.digits}".strip()


def heading(value_deg: int, direction: Direction | None = None) -> Answer:
    """A heading or, with a side, a turn to it; 0 is north, as 360 is."""
    return Answer(kind=Kind.HEADING, digits=f"{value_deg % 360 or 360:03}", direction=direction)


@cache
def _directions() -> frozenset[str]:
    return frozenset(f"{value_deg:03}" for value_deg in range(1, 361))


def parse_answer(text: str, asked: Kind, words: Vocabulary = ENGLISH) -> Answer | None:
    """What was answered to a question for a heading, a number …; None: it is no such answer.

    A kind that is said counts (`course three six zero` to a question for a heading is a course); digits
    alone are of the kind asked for. A turn tells a heading.
    """
    said = tuple(text.lower().replace("-", " ").split())
    for before, kind, direction in openings(asked, words):
        value = said[len(before) :]
        digits = _find_digits(value, kind, words) if said[: len(before)] == before else None
        if digits is not None:
            return Answer(kind=kind, digits=digits, direction=direction)
    return None


def openings(asked: Kind, words: Vocabulary) -> tuple[tuple[Said, Kind, Direction | None], ...]:
    """(words, kind, side of a turn) of everything that may stand before the digits, nothing included."""
    if asked is Kind.NUMBER:
        return (((), Kind.NUMBER, None),)
    # The third T of a callout, where a course is asked for: nobody answers another question with it.
    course = (*words.course, *words.twist) if asked is Kind.COURSE else words.course
    kinds = ((words.heading, Kind.HEADING), (course, Kind.COURSE), (words.radial, Kind.RADIAL))
    turns = ((words.left, Direction.LEFT), (words.right, Direction.RIGHT))
    return (
        ((), asked, None),
        *((tuple(way.split()), kind, None) for ways, kind in kinds for way in ways),
        *((tuple(way.split()), Kind.HEADING, side) for ways, side in turns for way in ways),
    )


def _find_digits(said: Said, kind: Kind, words: Vocabulary) -> str | None:
    if kind is Kind.NUMBER:
        return find_number(said, words)
    bare = next((said[: -len(end)] for end in _ends(words) if said[-len(end) :] == end), said)
    return direction_ways(words).get(bare)


def _ends(words: Vocabulary) -> tuple[Said, ...]:
    return tuple(tuple(end.split()) for end in words.degrees)


@cache
def direction_ways(words: Vocabulary) -> dict[Said, str]:
    """Every way to say 1 to 360 degrees, with its three digits; the usual way of each first.

    Digit by digit (AIM 4-2-10); in everyday groups too: `three fifteen`, `ninety`, `one hundred and five`
    (common practice, no source). North may be said as three zeros.
    """
    ways = {way: digits for digits in sorted(_directions()) for way in _say_direction(digits, words)}
    return ways | dict.fromkeys(_spell("000", words), "360")


def _say_direction(digits: str, words: Vocabulary) -> Iterator[Said]:
    yield from _spell(digits, words)
    groups = [tuple(way.split()) for way, value in words.groups if value == digits[1:]]
    yield from ((first, *group) for first in words.digits[int(digits[0])] for group in groups)
    yield from groups if digits[0] == "0" else ()
    yield from (tuple(way.split()) for way, value in words.hundreds if value == digits)


def _spell(digits: str, words: Vocabulary) -> Iterator[Said]:
    """Digit by digit, every word of each digit."""
    if len(digits) <= SPELLED_FREELY:
        yield from product(*(words.digits[int(digit)] for digit in digits))
        return
    for choice in range(max(map(len, words.digits))):
        yield tuple(_take(words.digits[int(digit)], choice) for digit in digits)


def _take(said: Said, choice: int) -> str:
    return said[min(choice, len(said) - 1)]


def find_number(said: Said, words: Vocabulary) -> str | None:
    """The digits of a number said digit by digit, or of a single everyday group (`fifteen`)."""
    spelled = _digit_words(words)
    if said and len(said) <= MOST_DIGITS and all(word in spelled for word in said):
        return "".join(spelled[word] for word in said)
    grouped = {tuple(way.split()): value for way, value in (*words.groups, *words.hundreds)}
    return grouped.get(said)


def ways_of(answer: Answer, words: Vocabulary = ENGLISH) -> tuple[str, ...]:
    """Every way to give an answer to a question for its kind, the usual one first."""
    opened = openings(answer.kind, words)
    befores = [o for o, kind, side in opened if (kind, side) == (answer.kind, answer.direction)]
    return tuple(" ".join((*before, *value)) for before in befores for value in spoken_values(answer, words))


def spoken_values(answer: Answer, words: Vocabulary) -> tuple[Said, ...]:
    """Every way to say its digits, with nothing before or after them."""
    if answer.kind is not Kind.NUMBER:
        return tuple(way for way, digits in direction_ways(words).items() if digits == answer.digits)
    grouped = (*words.groups, *words.hundreds)
    return (
        *_spell(answer.digits, words),
        *(tuple(way.split()) for way, value in grouped if value == answer.digits),
    )


def confusions_of(answer: Answer) -> tuple[Answer, ...]:
    """What an answer may be mistaken for, each once and never itself.

    A direction: its reciprocal, 5 and 10 degrees beside it, any one digit changed, two digits
    changed over, the other side of a turn. A number: any one digit changed, two digits
    changed over, a digit left out, a digit said twice.
    """
    others = _confuse_number(answer.digits) if answer.kind is Kind.NUMBER else _confuse_direction(answer)
    sides = (answer.direction,) if answer.direction is None else (answer.direction, _other(answer.direction))
    found = (
        replace(answer, digits=digits, direction=side)
        for side in sides
        for digits in (answer.digits, *others)
    )
    return tuple(dict.fromkeys(other for other in found if other != answer))


def _other(side: Direction) -> Direction:
    return Direction.RIGHT if side is Direction.LEFT else Direction.LEFT


def _confuse_direction(answer: Answer) -> tuple[str, ...]:
    beside = (heading(answer.value + by).digits for by in (180, -5, 5, -10, 10))
    changed = (*_change_digits(answer.digits), *_swap_digits(answer.digits))
    return (*beside, *(digits for digits in changed if digits in _directions()))


def _confuse_number(digits: str) -> tuple[str, ...]:
    places = range(len(digits))
    shorter = [digits[:n] + digits[n + 1 :] for n in places if len(digits) > 1]
    longer = [digits[:n] + digits[n] + digits[n:] for n in places if len(digits) < MOST_DIGITS]
    return (*_change_digits(digits), *_swap_digits(digits), *shorter, *longer)


def _change_digits(digits: str) -> Iterator[str]:
    for n, old in enumerate(digits):
        yield from (digits[:n] + new + digits[n + 1 :] for new in "0123456789" if new != old)


def _swap_digits(digits: str) -> Iterator[str]:
    """Any two digits changed over."""
    for first, second in combinations(range(len(digits)), 2):
        swapped = list(digits)
        swapped[first], swapped[second] = swapped[second], swapped[first]
        yield "".join(swapped)


@cache
def _digit_words(words: Vocabulary) -> dict[str, str]:
    return {word: str(digit) for digit, said in enumerate(words.digits) for word in said}
