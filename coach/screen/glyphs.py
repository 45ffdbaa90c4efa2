"""Large digits drawn with block characters, to be read from two metres. Draws nothing but text."""

from __future__ import annotations

BLOCK = "█"
"""A filled cell; where the terminal has no such character, `#` stands for it."""

GAP = 1
"""Columns of the small form between two characters."""

ROWS = 5

# Three columns by five rows, the colon one by five: the seven segments of a panel clock.
_SHAPES = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": ("  #", "  #", "  #", "  #", "  #"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "-": ("   ", "   ", "###", "   ", "   "),
    ":": (" ", "#", " ", "#", " "),
    " ": ("   ", "   ", "   ", "   ", "   "),
}


def draw_large(text: str, *, wide: int, high: int, block: str = BLOCK) -> tuple[str, ...]:
    """Digits, `-`, `:` and spaces as `ROWS` x `high` rows; each part of a digit is `wide` x `high` cells."""
    shapes = [_SHAPES[character] for character in text]
    rows = ((" " * GAP).join(shape[row] for shape in shapes) for row in range(ROWS))
    drawn = ("".join(cell * wide for cell in row).replace("#", block) for row in rows)
    return tuple(row for row in drawn for _ in range(high))


def large_width(text: str, *, wide: int) -> int:
    """How many cells wide `draw_large` draws it."""
    columns = sum(len(_SHAPES[character][0]) for character in text) + GAP * (len(text) - 1)
    return columns * wide
