"""The report as a PDF on A4: the same pictures and tables, drawn by matplotlib, no browser.

Never lays anything out: `coach.debrief.report_pages` does.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING
from warnings import catch_warnings, simplefilter

from coach.debrief.report import Report
from coach.debrief.report_pages import A4, Page, Placed, lay_pages
from coach.paper.drawing import figure_of, measure_text
from coach.paper.report_drawing import STYLE, fill_above, fill_over_time

if TYPE_CHECKING:
    from matplotlib.figure import Figure, SubFigure


def write_pdf(report: Report, path: Path) -> None:
    """Write the pages: words and pictures first, then tables, notes and cautions."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    stamp = {"Title": f"{report.title}, debrief", "CreationDate": None, "ModDate": None}
    # A box stands for a character that the typeface lacks; matplotlib would warn of each.
    with catch_warnings(), rc_context(STYLE), PdfPages(path, metadata=stamp) as pages:
        simplefilter("ignore", UserWarning)
        for page in lay_pages(report, measure_text):
            pages.savefig(_draw(report, page))


def _draw(report: Report, page: Page) -> Figure:
    figure = figure_of((page.sheet,))
    for placed in page.pictures:
        _picture_of(report, placed)(_part(figure, placed))
    return figure


def _picture_of(report: Report, placed: Placed) -> Callable[[Figure | SubFigure], None]:
    if placed.picture == "above" and report.above is not None:
        above = report.above
        return lambda figure: fill_above(figure, above)
    over_time = report.over_time
    assert over_time is not None
    return lambda figure: fill_over_time(figure, over_time, report.began_utc)


def _part(figure: Figure, placed: Placed) -> SubFigure:
    """The part of the page where a picture goes."""
    figure.set_layout_engine("constrained", w_pad=0.02, h_pad=0.02)
    box = placed.box
    spaces = figure.add_gridspec(
        3,
        3,
        left=0.0,
        right=1.0,
        top=1.0,
        bottom=0.0,
        wspace=0.0,
        hspace=0.0,
        width_ratios=(box.left, box.width, A4[0] - box.right),
        height_ratios=(box.top, box.height, A4[1] - box.bottom),
    )
    return figure.add_subfigure(spaces[1, 1])
