"""How commands print: plain lines, tables, JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence

from rich.console import Console
from rich.table import Table

console = Console(highlight=False, soft_wrap=True)

WIDEST = 1000
"""Columns of a table that is printed into a file or a narrow terminal."""


def print_json(value: Mapping[str, object]) -> None:
    """One JSON object on standard output."""
    print(json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1))


def line(text: str = "") -> None:
    """One line, as it is."""
    console.print(text, markup=False)


def table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A table without frames, as wide as it needs: a figure cut off is worse than a line that wraps."""
    drawn = Table(box=None, pad_edge=False, padding=(0, 1), header_style="bold")
    for column in columns:
        drawn.add_column(column, no_wrap=True)
    for row in rows:
        drawn.add_row(*row)
    Console(highlight=False, width=WIDEST).print(drawn)


def bullets(title: str, texts: Iterable[str]) -> None:
    """A short list under a title; nothing where it is empty."""
    found = tuple(texts)
    if not found:
        return
    line(title)
    for text in found:
        line(f"- {text}")
