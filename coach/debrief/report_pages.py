"""The report laid out on A4 pages: words and tables as shapes, and the places where pictures go.

Never draws and never leaves out a row: what does not fit a page goes on the next, under its heads again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from coach.debrief.report import Report
from coach.debrief.report_grid import Cell, Grid
from coach.drill.shapes import Align, Box, Measure, Shape, Sheet, Stroke, Text, Tone, wrap

A4 = (595.28, 841.89)
"""210 x 297 mm (ISO 216)."""

MARGIN = 40.0
WIDTH = A4[0] - 2.0 * MARGIN
BOTTOM = A4[1] - MARGIN - 14.0
"""Above the page's number."""

ABOVE_SIDE = 400.0
PANEL_HIGH = 118.0
PANELS_FOOT = 40.0
"""Under the panels, for the clock."""

SIZE = 9.0
LEAD = 1.35
"""From line to line, times the size."""

TABLE_SIZES = (8.0, 7.5, 7.0, 6.5, 6.0)
COLUMN_GAP = 7.0

BOLD_SHARE = 0.87
"""`wrap` measures plain letters; bold ones are so much wider."""

FOOT = "A training aid, not for navigation. Angles magnetic."


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where a picture goes."""

    picture: Literal["above", "over time"]
    box: Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page."""

    sheet: Sheet
    pictures: tuple[Placed, ...]


@dataclass(slots=True, kw_only=True)
class _Flow:
    """Fills pages from the top; what is asked to stay together does."""

    measure: Measure
    done: list[tuple[list[Shape], list[Placed]]] = field(default_factory=lambda: [([], [])])
    y: float = MARGIN

    def need(self, high: float) -> bool:
        """Begin a new page where so much is not left; whether it did."""
        if self.y + high <= BOTTOM or self.y == MARGIN:
            return False
        self.done.append(([], []))
        self.y = MARGIN
        return True

    def add(self, *shapes: Shape) -> None:
        self.done[-1][0].extend(shapes)

    def text(self, text: str, *, size: float = SIZE, is_bold: bool = False, indent: float = 0.0) -> None:
        """A paragraph, broken between lines where the page ends."""
        for part in wrap(text, (WIDTH - indent) * (BOLD_SHARE if is_bold else 1.0), size, self.measure):
            self.need(size * LEAD)
            self.y += size * LEAD
            at = (MARGIN + indent, self.y - size * 0.3)
            self.add(Text(at=at, text=part, size=size, is_bold=is_bold))

    def picture(self, which: Literal["above", "over time"], width: float, high: float) -> None:
        high = min(high, BOTTOM - MARGIN)
        self.need(high)
        box = Box(left=MARGIN + (WIDTH - width) / 2.0, top=self.y, width=width, height=high)
        self.done[-1][1].append(Placed(picture=which, box=box))
        self.y += high + 6.0


def lay_pages(report: Report, measure: Measure) -> tuple[Page, ...]:
    """Return the pages in order."""
    flow = _Flow(measure=measure)
    flow.text(f"{report.title}, debrief", size=16.0, is_bold=True)
    flow.y += 4.0
    for name, value in report.facts:
        _fact(flow, name, value)
    flow.y += 6.0
    for sentence in report.sentences:
        flow.text(sentence, size=10.0)
        flow.y += 3.0
    if report.above is not None:
        flow.picture("above", ABOVE_SIDE, ABOVE_SIDE)
    if report.over_time is not None:
        flow.picture("over time", WIDTH, PANEL_HIGH * len(report.over_time.panels) + PANELS_FOOT)
    for grid in report.tables:
        _table(flow, grid)
    for title, texts in (
        ("Standards", report.standards),
        ("Notes", report.notes),
        ("Cautions", report.cautions),
    ):
        _list(flow, title, texts)
    return tuple(_pages(flow))


def _fact(flow: _Flow, name: str, value: str) -> None:
    flow.add(
        Text(at=(MARGIN, flow.y + SIZE), text=name, size=SIZE, tone=Tone.MIDDLE),
        Text(at=(MARGIN + 90.0, flow.y + SIZE), text=value, size=SIZE),
    )
    flow.y += SIZE * LEAD


def _list(flow: _Flow, title: str, texts: Sequence[str]) -> None:
    if not texts:
        return
    _head(flow, title, 3 * SIZE)
    for text in texts:
        flow.need(SIZE * LEAD)
        flow.add(Text(at=(MARGIN, flow.y + SIZE * 1.05), text="-", size=SIZE))
        flow.text(text, indent=8.0)


def _head(flow: _Flow, title: str, follows: float) -> None:
    """A title, never alone at the foot of a page."""
    flow.need(30.0 + follows)
    flow.y += 12.0
    flow.text(title, size=11.0, is_bold=True)
    flow.y += 2.0


def _table(flow: _Flow, grid: Grid) -> None:
    size, widths = _fit(grid, flow.measure)
    _head(flow, grid.title, 4.0 * size * LEAD + (2.0 * SIZE * LEAD if grid.told else 0.0))
    if grid.told:
        flow.text(grid.told, size=7.5)
        flow.y += 2.0
    heads = tuple(Cell(text=column) for column in grid.columns)
    _row(flow, heads, widths, size, is_head=True)
    for row in grid.rows:
        if flow.need(_high(row, widths, size, flow.measure)):
            _row(flow, heads, widths, size, is_head=True)
        _row(flow, row, widths, size)
    flow.y += 4.0


def _fit(grid: Grid, measure: Measure) -> tuple[float, tuple[float, ...]]:
    """The largest size at which the table fits, and its columns; at the smallest its widest ones wrap."""
    room = WIDTH - COLUMN_GAP * (len(grid.columns) - 1)
    for size in TABLE_SIZES:
        widths = _widths(grid, size, measure)
        if sum(widths) <= room:
            return size, widths
    return TABLE_SIZES[-1], _squeezed(widths, _widths(grid, TABLE_SIZES[-1], measure, by_word=True), room)


def _widths(grid: Grid, size: float, measure: Measure, *, by_word: bool = False) -> tuple[float, ...]:
    """How wide each column is, unbroken; `by_word`: with every line broken."""
    cells = [[(column, True) for column in grid.columns]]
    cells += [[(cell.text, cell.is_outside) for cell in row] for row in grid.rows]
    return tuple(
        max(
            measure(text, size, is_bold) / (BOLD_SHARE if is_bold and by_word else 1.0)
            for whole, is_bold in column
            for text in (whole.split() if by_word else [whole]) or [""]
        )
        + 0.5
        for column in zip(*cells, strict=True)
    )


def _squeezed(widths: Sequence[float], least: Sequence[float], room: float) -> tuple[float, ...]:
    """The widest columns made alike narrow until all fit, none narrower than its longest word if possible."""
    floors = least if sum(least) <= room else [0.0] * len(least)
    low, high = 0.0, max(widths)
    for _ in range(40):
        cap = (low + high) / 2.0
        fits = sum(max(floor, min(width, cap)) for width, floor in zip(widths, floors, strict=True)) <= room
        low, high = (cap, high) if fits else (low, cap)
    return tuple(max(floor, min(width, low)) for width, floor in zip(widths, floors, strict=True))


def _lines(cell: Cell, width: float, size: float, measure: Measure) -> list[str]:
    if measure(cell.text, size, cell.is_outside) <= width:
        return [cell.text]
    return list(wrap(cell.text, width * (BOLD_SHARE if cell.is_outside else 1.0), size, measure))


def _high(row: Sequence[Cell], widths: Sequence[float], size: float, measure: Measure) -> float:
    lines = (len(_lines(cell, width, size, measure)) for cell, width in zip(row, widths, strict=True))
    return max(lines) * size * 1.2 + 2.5


def _row(
    flow: _Flow, row: Sequence[Cell], widths: Sequence[float], size: float, *, is_head: bool = False
) -> None:
    if is_head:
        row = tuple(Cell(text=cell.text, is_outside=True) for cell in row)
    high, x = _high(row, widths, size, flow.measure), MARGIN
    for cell, width in zip(row, widths, strict=True):
        for k, part in enumerate(_lines(cell, width, size, flow.measure)):
            at = (x, flow.y + size * (1.0 + 1.2 * k))
            flow.add(Text(at=at, text=part, size=size, is_bold=cell.is_outside))
        x += width + COLUMN_GAP
    flow.y += high
    line = ((MARGIN, flow.y), (MARGIN + WIDTH, flow.y))
    tone, width = (Tone.INK, 0.8) if is_head else (Tone.FAINT, 0.3)
    flow.add(Stroke(points=line, width=width, tone=tone))
    flow.y += 1.0


def _pages(flow: _Flow) -> Iterator[Page]:
    for n, (shapes, pictures) in enumerate(flow.done, start=1):
        y = A4[1] - MARGIN + 8.0
        number = f"{n} of {len(flow.done)}"
        foot = (
            Text(at=(MARGIN, y), text=FOOT, size=7.0, tone=Tone.MIDDLE),
            Text(at=(A4[0] - MARGIN, y), text=number, size=7.0, align=Align.RIGHT, tone=Tone.MIDDLE),
        )
        sheet = Sheet(width=A4[0], height=A4[1], shapes=(*shapes, *foot))
        yield Page(sheet=sheet, pictures=tuple(pictures))
