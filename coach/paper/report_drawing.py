"""Draws the pictures of a report as matplotlib figures, and writes one as an SVG to stand in a page.

Never tells by colour alone: what is planned is dashed, what is scored is thick, what is outside has a mark.
The colours are Okabe and Ito's, which the colour-blind tell apart.
"""

from __future__ import annotations

import io
import re
from datetime import timedelta
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from coach.debrief.report_pictures import Above, OverTime, Panel

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure, SubFigure

WIDE_IN = 5.2
"""Of every picture: narrow, so that its words can be read on a phone."""

PANEL_HIGH_IN = 1.55
BLUE, ORANGE, RED, GREY = "#0072B2", "#E69F00", "#D55E00", "0.45"
TEXT = 9.0
SMALL = 8.0

STYLE: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": TEXT,
    "axes.titlesize": TEXT,
    "axes.labelsize": SMALL,
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "legend.fontsize": SMALL,
    "axes.spines.top": False,
    "axes.spines.right": False,
    # Words stay words in the page: they can be read aloud, found and enlarged.
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
}


def draw_above(above: Above) -> Figure:
    """Return the track over the drill as planned. Call it inside `matplotlib.rc_context(STYLE)`."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDE_IN, WIDE_IN), layout="constrained")
    fill_above(figure, above)
    return figure


def fill_above(figure: Figure | SubFigure, above: Above) -> None:
    """Draw the track over the drill as planned into a figure, or a part of one."""
    axes = figure.add_subplot(aspect="equal")
    for k, (east, north) in enumerate(above.planned):
        label = "as planned" if k == 0 else None
        axes.plot(east, north, color=ORANGE, linewidth=1.6, dashes=(4.0, 2.0), label=label, zorder=2)
    for k, (east, north) in enumerate(above.flown):
        axes.plot(east, north, color=BLUE, linewidth=1.1, label="as flown" if k == 0 else None, zorder=3)
        _point_along(axes, east, north)
    for east_nm, north_nm, number in above.spokes:
        _name_spoke(axes, east_nm, north_nm, number)
    axes.plot([0.0], [0.0], "h", color="black", markersize=8, fillstyle="none", label="station", zorder=5)
    _square(axes, above)
    axes.set_xlabel("NM, magnetic north up" + ("" if above.wind is None else f"; planned for {above.wind}"))
    axes.grid(color="0.88", linewidth=0.5)
    figure.legend(loc="outside upper center", ncols=3, frameon=False)


def _square(axes: Axes, above: Above) -> None:
    """As wide as high around all of it, the station's distance to each edge whole."""
    lines = [*above.flown, *above.planned]
    east = np.concatenate([[0.0], *(east for east, _ in lines)])
    north = np.concatenate([[0.0], *(north for _, north in lines)])
    half = max(float(np.ptp(east)), float(np.ptp(north)), 1.0) / 2.0 * 1.08
    middle = (float(east.max() + east.min()) / 2.0, float(north.max() + north.min()) / 2.0)
    axes.set_xlim(middle[0] - half, middle[0] + half)
    axes.set_ylim(middle[1] - half, middle[1] + half)


def _point_along(axes: Axes, east: Any, north: Any) -> None:
    """Arrow heads along the track, evenly by its length."""
    if len(east) < 2:
        return
    length = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(east), np.diff(north)))))
    for at in np.arange(length[-1] * 0.02, length[-1], max(2.0, length[-1] / 24.0)):
        k = int(np.clip(np.searchsorted(length, at), 1, len(length) - 1))
        if length[k] == length[k - 1]:
            continue
        share = (at - length[k - 1]) / (length[k] - length[k - 1])
        x, y = (values[k - 1] + share * (values[k] - values[k - 1]) for values in (east, north))
        angle = np.degrees(np.arctan2(north[k] - north[k - 1], east[k] - east[k - 1]))
        axes.plot([x], [y], marker=(3, 0, float(angle) - 90.0), color=BLUE, markersize=6, zorder=4)


def _name_spoke(axes: Axes, east_nm: float, north_nm: float, number: str) -> None:
    """Beyond the end of its outbound leg, away from the station."""
    far = float(np.hypot(east_nm, north_nm)) or 1.0
    axes.annotate(
        number,
        (east_nm, north_nm),
        xytext=(east_nm / far * 9.0, north_nm / far * 9.0),
        textcoords="offset points",
        ha="center",
        va="center",
        fontweight="bold",
        zorder=6,
        bbox={"boxstyle": "circle,pad=0.15", "facecolor": "white", "edgecolor": GREY, "linewidth": 0.6},
    )


def draw_over_time(over: OverTime, began_utc: str) -> Figure:
    """Return the panels above each other. Call it inside `matplotlib.rc_context(STYLE)`."""
    from matplotlib.figure import Figure

    high = PANEL_HIGH_IN * len(over.panels) + 0.55
    figure = Figure(figsize=(WIDE_IN, high), layout="constrained")
    fill_over_time(figure, over, began_utc)
    return figure


def fill_over_time(figure: Figure | SubFigure, over: OverTime, began_utc: str) -> None:
    """Draw the panels above each other into a figure, or a part of one."""
    rows = figure.subplots(len(over.panels), 1, sharex=True, squeeze=False)
    for axes, panel in zip(rows[:, 0], over.panels, strict=True):
        _draw_panel(axes, panel, over)
    last = rows[-1, 0]
    last.set_xlim(over.start_s, over.end_s)
    _name_clock(last, began_utc)
    last.set_xlabel("UTC; the numbers above count the spokes, laps or legs")


def _draw_panel(axes: Axes, panel: Panel, over: OverTime) -> None:
    limit = panel.limit
    if limit is not None:
        axes.axhspan(-limit, limit, facecolor="0.93", zorder=0)
        for edge in (-limit, limit):
            axes.axhline(edge, color=GREY, linewidth=0.8, dashes=(5.0, 2.0), zorder=1)
    axes.axhline(0.0, color="black", linewidth=0.5, zorder=1)
    axes.plot(panel.time_s, panel.values, color=GREY, linewidth=0.6, zorder=2)
    scored = np.where(_is_scored(panel), panel.values, np.nan)
    axes.plot(panel.time_s, scored, color=BLUE, linewidth=1.8, zorder=3)
    if limit is not None:
        outside = np.abs(scored) > limit + 1e-9
        axes.plot(
            panel.time_s[outside],
            scored[outside],
            "x",
            color=RED,
            markersize=3.5,
            markeredgewidth=0.8,
            zorder=4,
        )
    _mark_worst(axes, panel)
    _set_height(axes, panel)
    for at_s, number in over.marks:
        axes.axvline(at_s, color="0.8", linewidth=0.6, zorder=0)
        if len(over.marks) <= 40:
            _number(axes, at_s, number)
    for at_s in over.bookmarks_s:
        axes.axvline(at_s, color="black", linewidth=0.8, dashes=(1.0, 1.5), zorder=1)
    standard = "" if limit is None else f", within {limit:g}"
    axes.set_title(f"{panel.title}, {panel.unit}{standard}", loc="left", pad=11.0)
    axes.set_ylabel(f"{panel.sides[1]} | {panel.sides[0]}")


def _number(axes: Axes, at_s: float, number: str) -> None:
    axes.annotate(
        number,
        (at_s, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(1.5, 2.0),
        textcoords="offset points",
        fontsize=SMALL - 1.0,
        color="0.3",
        annotation_clip=True,
    )


def _is_scored(panel: Panel) -> Any:
    is_scored = np.zeros(len(panel.time_s), dtype=bool)
    for start_s, end_s in panel.is_scored:
        is_scored |= (panel.time_s >= start_s) & (panel.time_s <= end_s)
    return is_scored


def _mark_worst(axes: Axes, panel: Panel) -> None:
    if panel.worst is not None and abs(panel.worst[1]) >= 0.05:
        at_s, value = panel.worst
        shown = value if panel.stop is None else float(np.clip(value, -panel.stop, panel.stop))
        axes.plot([at_s], [shown], "D", color="black", fillstyle="none", markersize=6, zorder=5)


def _set_height(axes: Axes, panel: Panel) -> None:
    """The limit and the worst that was scored always in sight, the rest where it does not crush them."""
    far = [
        1.08 * (panel.stop or 0.0),
        1.25 * (panel.limit or 0.0),
        1.1 * abs(panel.worst[1]) if panel.worst else 0.0,
    ]
    if panel.stop is not None:
        far[2] = 0.0
    axes.set_ylim(-max(far) or -1.0, max(far) or 1.0)


def _name_clock(axes: Axes, began_utc: str) -> None:
    """Ticks at whole minutes of the time of day."""
    from matplotlib.ticker import FuncFormatter

    hours, minutes, seconds = (int(part) for part in began_utc.split(":"))
    zero_s = hours * 3600.0 + minutes * 60.0 + seconds
    start_s, end_s = axes.get_xlim()
    every_s = next(
        (step for step in (60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0) if (end_s - start_s) / step <= 7),
        7200.0,
    )
    first = np.ceil((start_s + zero_s) / every_s) * every_s - zero_s
    axes.set_xticks(np.arange(first, end_s, every_s))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda at_s, _: _clock(at_s + zero_s)))


def _clock(of_day_s: float) -> str:
    minutes = round(timedelta(seconds=of_day_s).total_seconds() / 60.0) % (24 * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def render_svg(figure: Figure, *, name: str, title: str, told: str) -> str:
    """Return a figure as an `svg` element with its words for those who cannot see it.

    `name` keeps its ids apart from those of other pictures in the page.
    """
    from matplotlib import rc_context

    written = io.StringIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    with rc_context({"svg.hashsalt": name}):
        figure.savefig(written, format="svg", metadata=nothing)
    svg = written.getvalue()
    svg = svg[svg.index("<svg ") :]
    svg = re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{name}-", svg)
    svg = re.sub(r'^<svg ([^>]*?)width="[^"]*" height="[^"]*"|^<svg ([^>]*)>', _unsized, svg, count=1)
    head_end = svg.index(">") + 1
    opened = svg[: head_end - 1] + f' role="img" aria-labelledby="{name}-title {name}-told">'
    words = f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-told">{escape(told)}</desc>'
    return opened + words + svg[head_end:]


def _unsized(head: re.Match[str]) -> str:
    """The page says how wide it is; its viewBox keeps its shape."""
    return re.sub(r' (width|height)="[^"]*"', "", head.group(0))
