"""A table of the report: its cells, its heads, how to read it. Never a colour: what is outside has a sign."""

from __future__ import annotations

from dataclasses import dataclass

OUTSIDE = "×"
"""Behind a figure outside its standard."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One place of a table."""

    text: str
    is_outside: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """One table."""

    name: str
    """One word, for links and styles."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    told: str = ""
    """How to read it, under the title."""

    is_long: bool = False
    """Whether a screen shows it only when asked to."""
