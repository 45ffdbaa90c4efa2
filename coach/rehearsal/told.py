"""What a pilot makes of a prompt's words, with the card before him.

Never knows what the coach meant: only what was said.
"""

from __future__ import annotations

from collections.abc import Collection

from coach.drill.model import Leg, Turn
from coach.session.spoken import parse_digit_words

LEVEL = "level"

OPENS_LEG = ("left", "right", "outbound", "inbound", "direct", LEVEL)
"""First words of prompts that open a leg."""


def first_word(text: str) -> str:
    """The first word of a prompt, in small letters."""
    return text.replace(",", " ").replace(".", " ").split()[0].lower()


def is_opening(text: str, own_words: Collection[str] = ()) -> bool:
    """Whether a prompt opens a leg, such as "Left, one niner five"; `own_words` are the card's own."""
    if is_standing(text):
        return False
    first = first_word(text)
    return text in own_words or _heading_alone(text) is not None or first in (*OPENS_LEG, *own_words)


def is_standing(text: str) -> bool:
    """Whether a prompt tells where the coach stands: "Offset leg, twelve over"."""
    return " leg" in text


def is_told(leg: Leg, text: str) -> bool:
    """Whether a prompt opens this leg: its way or name, and its heading or course where one is said."""
    if leg.says is not None:
        return text == leg.says
    alone = _heading_alone(text)
    if alone is not None:
        return leg.turn is Turn.NONE and alone == leg.heading_mag_deg
    first = first_word(text)
    if first == LEVEL:
        return leg.turn is Turn.NONE
    digits = parse_digit_words(text[len(first) :].strip(" ,."))
    fits = digits is None or int(digits) == (leg.heading_mag_deg or leg.course_mag_deg)
    return fits and first in (leg.turn, leg.leg)


def _heading_alone(text: str) -> int | None:
    """The heading of a prompt that is nothing else: the leg keeps it."""
    digits = parse_digit_words(text)
    return int(digits) if digits is not None and len(digits) == 3 else None


def as_printed(leg: Leg) -> str:
    """The leg in the card's words: `spoke 1 offset 195, turns left`."""
    spoke = "" if leg.spoke is None else f"spoke {leg.spoke} "
    spoke = spoke if leg.lap is None else f"lap {leg.lap} "
    heading = "" if leg.heading_mag_deg is None else f" {leg.heading_mag_deg:03d}"
    way = "" if leg.turn is Turn.NONE else f", turns {leg.turn}"
    return f"{spoke}{leg.leg}{heading}{way}"
