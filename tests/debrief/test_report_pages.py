"""The report on A4: nothing left out, nothing over the edge, nothing over something else."""

from __future__ import annotations

import pytest

from coach.debrief.report import make_report
from coach.debrief.report_pages import A4, Page, lay_pages
from coach.drill.shapes import Box
from tests.debrief import debriefed


def measure(text: str, size: float, is_bold: bool) -> float:
    """As wide as letters are on the average."""
    return len(text) * size * (0.62 if is_bold else 0.56)


def pages_of(debrief) -> tuple[Page, ...]:
    return lay_pages(make_report(debrief), measure)


FLIGHTS = [debriefed.flown, debriefed.without_track, debriefed.track_alone, debriefed.bookmarked]


@pytest.mark.parametrize("make", FLIGHTS, ids=lambda make: make.__name__)
def test_nothing_goes_over_the_edge_or_over_another(make):
    for page in pages_of(make()):
        boxes = [text.box(measure) for text in page.sheet.texts]
        places = [*boxes, *(placed.box for placed in page.pictures)]
        sheet = Box(left=20.0, top=20.0, width=A4[0] - 40.0, height=A4[1] - 40.0)
        assert all(box.left >= sheet.left and box.right <= sheet.right + 0.5 for box in places)
        assert all(box.top >= sheet.top and box.bottom <= sheet.bottom for box in places)
        assert not [
            (one, other) for i, one in enumerate(places) for other in places[:i] if one.overlaps(other)
        ]


def test_every_row_of_every_table_is_on_some_page():
    report = make_report(debriefed.flown())
    written = " ".join(text.text for page in lay_pages(report, measure) for text in page.sheet.texts)
    for grid in report.tables:
        for row in grid.rows:
            assert row[0].text.split()[0] in written
    n_rows = sum(len(grid.rows) for grid in report.tables if grid.name == "marks")
    assert written.count(" to ") >= n_rows


def test_heads_stand_again_on_every_page_that_a_table_goes_on():
    with_rows = [
        page for page in pages_of(debriefed.flown()) if any(t.text == "reason" for t in page.sheet.texts)
    ]
    assert len(with_rows) >= 2


def test_both_pictures_have_a_place():
    pictures = [placed.picture for page in pages_of(debriefed.flown()) for placed in page.pictures]
    assert pictures == ["above", "over time"]


def test_pages_are_numbered_of_how_many():
    pages = pages_of(debriefed.flown())
    numbers = [page.sheet.texts[-1].text for page in pages]
    assert numbers == [f"{n} of {len(pages)}" for n in range(1, len(pages) + 1)]
