"""Sheets to PDF, SVG and PNG. Never lays anything out: `coach.drill.card` does.

matplotlib carries its own typeface, so that a sheet looks alike on every machine.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from warnings import catch_warnings, simplefilter

from coach.drill.shapes import Circle, Filled, Shape, Sheet, Stroke, Text, Tone
from coach.errors import Problem, SettingsError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SUFFIXES = (".pdf", ".svg", ".png")
PNG_DPI = 200

_PAPER = {Tone.INK: "black", Tone.MIDDLE: "0.45", Tone.FAINT: "0.6"}
_NIGHT = {Tone.INK: "0.92", Tone.MIDDLE: "0.6", Tone.FAINT: "0.5"}
_POINTS_PER_INCH = 72.0


def check_path(path: Path) -> None:
    """Raise SettingsError where the name of a card says no form that is drawn, or has no folder."""
    if path.suffix.lower() not in SUFFIXES:
        expected = "a file name ending in .pdf, .svg or .png"
        raise SettingsError(Problem(where="--card", expected=expected, got=f"'{path}'"))
    if not path.parent.is_dir():
        raise SettingsError(
            Problem(where="--card", expected="a file in a folder that exists", got=f"'{path}'")
        )


@cache
def measure_text(text: str, size: float, is_bold: bool) -> float:
    """How wide a text is drawn, in points."""
    width, _, _ = _text_to_path().get_text_width_height_descent(text, _font(size, is_bold), ismath=False)
    return float(width)


def draw_sheets(sheets: tuple[Sheet, ...], path: Path) -> None:
    """Write the sides of one sheet: pages of a PDF, side by side in an SVG or PNG. Raises SettingsError."""
    check_path(path)
    try:
        _write(sheets, path)
    except OSError as error:
        got = f"'{path}' ({error.strerror or error})"
        raise SettingsError(
            Problem(where="--card", expected="a file that can be written", got=got)
        ) from error


def _write(sheets: tuple[Sheet, ...], path: Path) -> None:
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    form = path.suffix.lower()[1:]
    # A box stands for a character that the typeface lacks; matplotlib would warn of each.
    with catch_warnings(), rc_context({"svg.hashsalt": "card", "pdf.fonttype": 42, "path.simplify": False}):
        simplefilter("ignore", UserWarning)
        if form != "pdf":
            stamp: dict[str, Any] = {"Date": None} if form == "svg" else {}
            figure_of(sheets).savefig(path, format=form, dpi=PNG_DPI, metadata=stamp)
            return
        with PdfPages(path, metadata={"CreationDate": None, "ModDate": None}) as pages:
            for sheet in sheets:
                pages.savefig(figure_of((sheet,)))


def figure_of(sheets: tuple[Sheet, ...]) -> Figure:
    """The sheets side by side as one figure."""
    from matplotlib.figure import Figure

    width, height = sum(sheet.width for sheet in sheets), sheets[0].height
    ground = "black" if sheets[0].is_dark else "white"
    figure = Figure(figsize=(width / _POINTS_PER_INCH, height / _POINTS_PER_INCH), facecolor=ground)
    for k, sheet in enumerate(sheets):
        axes = figure.add_axes((k / len(sheets), 0.0, 1.0 / len(sheets), 1.0))
        axes.set_xlim(0.0, sheet.width)
        axes.set_ylim(sheet.height, 0.0)
        axes.set_axis_off()
        for order, shape in enumerate(sheet.shapes):
            _draw(axes, shape, _NIGHT if sheet.is_dark else _PAPER, order)
    return figure


def _draw(axes: Axes, shape: Shape, inks: dict[Tone, str], order: int) -> None:
    from matplotlib import patches
    from matplotlib.lines import Line2D

    ink = inks[shape.tone]
    if isinstance(shape, Text):
        _draw_text(axes, shape, ink, order)
    elif isinstance(shape, Stroke):
        xs, ys = zip(*shape.points, strict=True)
        axes.add_line(
            Line2D(
                xs,
                ys,
                linewidth=shape.width,
                color=ink,
                zorder=order,
                solid_joinstyle="round",
                solid_capstyle="butt",
            )
        )
    elif isinstance(shape, Circle):
        ring = patches.Circle(shape.at, shape.radius, fill=False)
        ring.set(linewidth=shape.width, edgecolor=ink, zorder=order)
        axes.add_patch(ring)
    elif isinstance(shape, Filled):
        axes.add_patch(patches.Polygon(shape.points, closed=True, facecolor=ink, linewidth=0, zorder=order))


def _draw_text(axes: Axes, text: Text, ink: str, order: int) -> None:
    axes.text(
        *text.at,
        text.text,
        fontproperties=_font(text.size, text.is_bold),
        color=ink,
        horizontalalignment=text.align.value,
        verticalalignment="baseline",
        parse_math=False,
        zorder=order,
    )


@cache
def _font(size: float, is_bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties

    return FontProperties(family="DejaVu Sans", weight="bold" if is_bold else "normal", size=size)


@cache
def _text_to_path() -> Any:
    from matplotlib.textpath import TextToPath

    return TextToPath()
