"""Draws how skills went from session to session: each with its spread, against its limit.

Never a line through two drills: each has its own marker.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from textwrap import shorten
from typing import TYPE_CHECKING

from coach.debrief.history import Trend
from coach.debrief.skills import AIMS
from coach.errors import Problem, SettingsError
from coach.paper.report import check_folder, write_whole
from coach.paper.report_drawing import BLUE, GREY, ORANGE, SMALL, STYLE

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SUFFIXES = (".svg", ".png")
WIDE_IN = 6.5
PANEL_HIGH_IN = 1.9
PNG_DPI = 150
LONGEST_STANDARD = 42
"""What stands beside a panel of half the width."""

TOLD = (
    "Left: the share within its standard, grey the mean and spread of all sessions.\n"
    "Right: each session's figure with its spread, dashed the limit."
)
MOST_PANELS = 24
"""Of one picture; the command names a drill or a skill to see fewer."""


def check_picture_path(path: Path) -> None:
    """Raise SettingsError where a picture cannot be drawn under that name."""
    if path.suffix.lower() not in SUFFIXES:
        expected = "a file name ending in .svg or .png"
        raise SettingsError(Problem(where="--picture", expected=expected, got=f"'{path}'"))
    check_folder("--picture", path)


def draw_history(trends: Sequence[Trend], path: Path) -> None:
    """Write the picture, whole or not at all. Raises SettingsError."""
    from matplotlib import rc_context

    check_picture_path(path)
    form = path.suffix.lower()[1:]
    stamp = {"Date": None} if form == "svg" else {}
    with rc_context({**STYLE, "svg.hashsalt": "history"}):
        figure = _figure(trends[:MOST_PANELS])
        write_whole(
            "--picture",
            path,
            lambda part: figure.savefig(part, format=form, dpi=PNG_DPI, metadata=stamp),
        )


def _figure(trends: Sequence[Trend]) -> Figure:
    from matplotlib.figure import Figure

    high = PANEL_HIGH_IN * len(trends) + 0.6
    figure = Figure(figsize=(WIDE_IN, high), layout="constrained")
    figure.suptitle(
        "Left: the share within its standard, grey: mean and spread. Right: each session's figure."
    )
    rows = figure.subplots(len(trends), 2, squeeze=False)
    for (shares, figures), trend in zip(rows, trends, strict=True):
        _draw_shares(shares, trend)
        _draw_figures(figures, trend)
    for axes in rows[-1]:
        axes.set_xlabel("session, the oldest first")
    return figure


def _draw_shares(axes: Axes, trend: Trend) -> None:
    """The share within, and the band of all sessions' mean and spread."""
    numbers = range(1, len(trend.points) + 1)
    low, high = trend.mean_share - trend.spread_share, trend.mean_share + trend.spread_share
    axes.axhspan(100.0 * max(0.0, low), 100.0 * min(1.0, high), facecolor="0.9", zorder=0)
    axes.axhline(100.0 * trend.mean_share, color=GREY, linewidth=0.8, dashes=(5.0, 2.0))
    axes.plot(numbers, [100.0 * share for share in trend.shares], "o-", color=BLUE, markersize=4, linewidth=1)
    axes.set_ylim(-5.0, 108.0)
    axes.set_yticks([0.0, 50.0, 100.0])
    axes.set_title(f"{trend.drill}\n{trend.skill}, % within", loc="left", fontsize=SMALL)
    _count_sessions(axes, len(trend.points))


def _draw_figures(axes: Axes, trend: Trend) -> None:
    """Each session's mean and spread; of what was held, the root mean square to both sides."""
    numbers = range(1, len(trend.points) + 1)
    figures = [figure for _, figure in trend.points]
    means = [figure.mean or 0.0 for figure in figures]
    spreads = [figure.spread for figure in figures]
    axes.errorbar(
        numbers,
        means,
        yerr=spreads,
        fmt="s",
        color=BLUE,
        ecolor=ORANGE,
        markersize=4,
        capsize=4,
        linewidth=1.4,
    )
    latest = figures[-1]
    aim = AIMS.get(latest.skill, 0.0)
    for edge in (aim - latest.limit, aim + latest.limit):
        axes.axhline(edge, color=GREY, linewidth=0.8, dashes=(5.0, 2.0))
    axes.axhline(aim, color="black", linewidth=0.5)
    farthest = max(abs(mean - aim) + spread for mean, spread in zip(means, spreads, strict=True))
    half = 1.15 * max(latest.limit, farthest)
    axes.set_ylim(aim - half, aim + half)
    what = "root mean square" if latest.is_held else "mean and spread"
    standard = shorten(latest.standard, LONGEST_STANDARD, placeholder="…")
    axes.set_title(f"{what}, {latest.unit}\n{standard}", loc="left", fontsize=SMALL)
    _count_sessions(axes, len(figures))


def _count_sessions(axes: Axes, count: int) -> None:
    from matplotlib.ticker import MaxNLocator

    axes.set_xlim(0.5, count + 0.5)
    axes.xaxis.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1))
