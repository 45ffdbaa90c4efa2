"""What a pilot makes of a prompt's words, with the card before him.

Never knows what the coach meant: only what was said.
"""

from __future__ import annotations

from coach.drill.model import Leg, Turn
from coach.session.spoken import parse_digit_words

OPENS_LEG = ("left", "right", "outbound", "inbound", "direct")
"""First words of prompts that open a leg."""


def first_word(text: str) -> str:
    """The first word of a prompt, in small letters."""
    return text.replace(",", " ").replace(".", " ").split()[0].lower()


def is_opening(text: str) -> bool:
    """Whether a prompt opens a leg, such as "Left, one niner five"."""
    return first_word(text) in OPENS_LEG and not is_standing(text)


def is_standing(text: str) -> bool:
    """Whether a prompt tells where the coach stands: "Offset leg, twelve over"."""
    return " leg" in text


def is_told(leg: Leg, text: str) -> bool:
    """Whether a prompt opens this leg: its way or name, and its heading or course where one is said."""
    first = first_word(text)
    digits = parse_digit_words(text[len(first) :].strip(" ,."))
    fits = digits is None or int(digits) == (leg.heading_mag_deg or leg.course_mag_deg)
    return fits and first in (leg.turn, leg.leg)


def as_printed(leg: Leg) -> str:
    """The leg in the card's words: `spoke 1 offset 195, turns left`."""
    spoke = "" if leg.spoke is None else f"spoke {leg.spoke} "
    heading = "" if leg.heading_mag_deg is None else f" {leg.heading_mag_deg:03d}"
    way = "" if leg.turn is Turn.NONE else f", turns {leg.turn}"
    return f"{spoke}{leg.leg}{heading}{way}"
