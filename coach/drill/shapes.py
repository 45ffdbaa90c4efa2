"""Shapes of a drawn sheet: text, strokes, filled outlines, circles, in points (1/72 inch).

Never draws: `coach.paper` does. x counts from the left edge, y downward from the top edge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]
"""x and y in points."""

Measure = Callable[[str, float, bool], float]
"""How wide a text is in points, of its size in points and whether it is bold."""

ASCENT = 0.76
"""How far digits and capitals rise above the baseline, a share of the size (DejaVu Sans 0.729)."""

DESCENT = 0.24
"""How far hanging letters reach below the baseline, a share of the size (DejaVu Sans 0.236)."""

_STANDING = frozenset("0123456789ABCDEFGHIJKLMNOPRSTUVWXYZabcdefhiklmnorstuvwxz:.-—… ")


class Tone(StrEnum):
    """How strongly a shape is inked."""

    INK = "ink"
    MIDDLE = "middle"
    FAINT = "faint"


class Align(StrEnum):
    """Where a text's x is."""

    LEFT = "left"
    CENTER = "center"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.height

    def overlaps(self, other: Box) -> bool:
        """Whether two rectangles share more than an edge."""
        beside = self.right <= other.left or other.right <= self.left
        return not beside and self.top < other.bottom and other.top < self.bottom


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of text."""

    at: Point
    """On the baseline."""

    text: str
    size: float
    """In points."""

    is_bold: bool = False
    align: Align = Align.LEFT
    tone: Tone = Tone.INK

    def box(self, measure: Measure) -> Box:
        """The rectangle it fills."""
        width = measure(self.text, self.size, self.is_bold)
        share = {Align.LEFT: 0.0, Align.CENTER: 0.5, Align.RIGHT: 1.0}[self.align]
        left, top = self.at[0] - share * width, self.at[1] - ASCENT * self.size
        hang = 0.02 if _STANDING.issuperset(self.text) else DESCENT
        return Box(left=left, top=top, width=width, height=(ASCENT + hang) * self.size)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A line through points."""

    points: tuple[Point, ...]
    width: float
    tone: Tone = Tone.INK


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """A filled outline."""

    points: tuple[Point, ...]
    tone: Tone = Tone.INK


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A circle."""

    at: Point
    radius: float
    width: float
    tone: Tone = Tone.INK


Shape = Text | Stroke | Filled | Circle


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One side of paper, or one screen."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    is_dark: bool = False
    """Light ink on black, for a screen at night."""

    @property
    def texts(self) -> tuple[Text, ...]:
        """Its texts alone."""
        return tuple(shape for shape in self.shapes if isinstance(shape, Text))


def wrap(text: str, width: float, size: float, measure: Measure) -> Iterator[str]:
    """Yield the lines of a text broken between words; a word wider than the line is broken within."""
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if measure(longer, size, False) <= width:
            line = longer
            continue
        if line:
            yield line
        *full, line = _pieces(word, width, size, measure)
        yield from full
    if line:
        yield line


def _pieces(word: str, width: float, size: float, measure: Measure) -> Iterator[str]:
    piece = ""
    for character in word:
        if piece and measure(piece + character, size, False) > width:
            yield piece
            piece = ""
        piece += character
    yield piece


def fitted(text: str, width: float, size: float, measure: Measure) -> str:
    """The text, or as much of it as fits followed by an ellipsis."""
    if measure(text, size, True) <= width:
        return text
    while text and measure(f"{text}…", size, True) > width:
        text = text[:-1].rstrip()
    return f"{text}…"


def arrow_head(tip: Point, toward: Point, length: float, tone: Tone = Tone.INK) -> Filled:
    """A filled head whose tip points along a direction (any length above 0)."""
    norm = (toward[0] ** 2 + toward[1] ** 2) ** 0.5
    along = (toward[0] / norm * length, toward[1] / norm * length)
    back = (tip[0] - along[0], tip[1] - along[1])
    aside = (-along[1] * 0.5, along[0] * 0.5)
    return Filled(
        points=(tip, (back[0] + aside[0], back[1] + aside[1]), (back[0] - aside[0], back[1] - aside[1])),
        tone=tone,
    )
