"""The report as one page of HTML that needs nothing else: no network, no script, no file beside it.

Never lets a text be anything but text: every one is escaped, and the page forbids itself scripts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files
from warnings import catch_warnings, simplefilter

from coach.debrief.report import Report
from coach.debrief.report_grid import Cell
from coach.paper.report_drawing import STYLE, draw_above, draw_over_time, render_svg

PROSE = 40
"""A text longer than this may be broken into lines in a table."""

ABOVE_CAPTION = "The flight from above. Solid with arrow heads: as flown. Dashed: as planned."
OVER_CAPTION = (
    "Grey band: within the standard. Thick: scored. Thin: not scored (in a turn, before the course "
    "was established, near the station). Crosses: outside. Diamond: the worst moment. Dotted: a bookmark."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Picture:
    svg: object
    """Markup that is not escaped again."""

    caption: str


def render_html(report: Report) -> str:
    """Return the page."""
    from jinja2 import Environment, StrictUndefined

    surroundings = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=False)
    template = surroundings.from_string((files("coach.paper") / "report.html").read_text(encoding="utf-8"))
    return template.render(report=report, pictures=list(_pictures(report)), classes=_classes)


def _classes(cell: Cell) -> object:
    from markupsafe import Markup

    names = [name for name, so in (("outside", cell.is_outside), ("prose", len(cell.text) > PROSE)) if so]
    return Markup(f' class="{" ".join(names)}"' if names else "")


def _pictures(report: Report) -> Iterator[_Picture]:
    from markupsafe import Markup
    from matplotlib import rc_context

    # A box stands for a character that the typeface lacks; matplotlib would warn of each.
    with catch_warnings(), rc_context(STYLE):
        simplefilter("ignore", UserWarning)
        if report.above is not None:
            svg = render_svg(
                draw_above(report.above), name="above", title="From above", told=report.above.told
            )
            yield _Picture(svg=Markup(svg), caption=f"{ABOVE_CAPTION} {report.above.told}")
        if report.over_time is not None:
            told = " ".join(panel.told for panel in report.over_time.panels)
            figure = draw_over_time(report.over_time, report.began_utc)
            svg = render_svg(figure, name="over", title="Over time", told=told)
            yield _Picture(svg=Markup(svg), caption=OVER_CAPTION)
