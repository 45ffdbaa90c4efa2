"""The report as files: one page that needs nothing else, or a PDF; whole or not at all."""

from __future__ import annotations

import re
import stat
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from coach.debrief.report import Report, make_report
from coach.debrief.report_grid import Cell, Grid
from coach.errors import SettingsError
from coach.paper.report import check_report_path, write_report
from coach.paper.report_html import render_html
from tests.debrief import debriefed

VOID = ("meta", "link", "br", "hr", "img", "input")


class Page(HTMLParser):
    """Which elements a page has, and whether they close as they open."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.fixture(scope="module")
def report() -> Report:
    return make_report(debriefed.flown())


@pytest.fixture(scope="module")
def text(report: Report) -> str:
    return render_html(report)


def test_every_element_closes_and_no_id_stands_twice(text: str):
    page = Page(text)
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert page.open == []
    assert len(ids) == len(set(ids))


def test_the_page_asks_for_nothing_from_outside(text: str):
    page = Page(text)
    assert not {"script", "link", "img", "iframe", "object", "form"} & {tag for tag, _ in page.tags}
    for tag, attributes in page.tags:
        for name, value in attributes.items():
            if name.split(":")[-1] in ("src", "href", "data", "action"):
                assert (value or "").startswith("#"), (tag, name)
    assert re.findall(r"url\((?!#)", text) == []
    assert "@import" not in text
    assert """content="default-src 'none'; style-src 'unsafe-inline';""" in text


def test_what_urls_stand_in_it_are_names_of_forms(text: str):
    urls = set(re.findall(r'https?://[^"\s<]+', text))
    assert urls <= {"http://www.w3.org/1999/xlink", "http://www.w3.org/2000/svg"}


def test_pictures_are_told_in_words_with_their_figures(report: Report, text: str):
    assert report.above is not None
    assert report.over_time is not None
    page = Page(text)
    pictures = [attributes for tag, attributes in page.tags if tag == "svg"]
    assert [picture["role"] for picture in pictures] == ["img", "img"]
    assert [picture["aria-labelledby"] for picture in pictures] == [
        "above-title above-told",
        "over-title over-told",
    ]
    assert report.above.told in text
    for panel in report.over_time.panels:
        assert panel.told in text


def test_a_hostile_text_stays_a_text(report: Report):
    evil = "<script>alert(1)</script>\"'&{{7*7}}"
    grid = Grid(name="evil", title=evil, columns=(evil,), rows=((Cell(text=evil),), (Cell(text=evil),)))
    page = render_html(replace(report, title=evil, sentences=(evil,), notes=(evil,), tables=(grid,)))
    assert "<script" not in page
    assert "alert(1)" in page
    assert "49" not in page.split("alert(1)")[1][:40]
    assert Page(page).open == []


def test_the_page_of_a_session_without_a_track_has_no_picture():
    page = Page(render_html(make_report(debriefed.without_track())))
    assert "svg" not in {tag for tag, _ in page.tags}
    assert page.open == []


def test_what_is_outside_is_told_by_more_than_a_colour(text: str):
    outside = re.findall(r'<td class="outside[^"]*">([^<]*)<', text)
    assert outside
    assert all(cell.endswith("×") or " s, rms" in cell for cell in outside)


def test_the_page_of_36000_fixes_is_no_larger_than_that_of_3600():
    fine, coarse = (render_html(make_report(debriefed.flown(spokes=2, every_s=s))) for s in (0.1, 1.0))
    assert len(fine) < 1.6 * len(coarse)


def test_a_pdf_has_every_page_and_no_clock_in_it(tmp_path: Path):
    report = make_report(debriefed.bookmarked())
    write_report(report, tmp_path / "a.pdf")
    write_report(report, tmp_path / "b.pdf")
    written = (tmp_path / "a.pdf").read_bytes()
    assert written.startswith(b"%PDF")
    assert written == (tmp_path / "b.pdf").read_bytes()


def test_a_pdf_with_pictures_is_drawn(report: Report, tmp_path: Path):
    write_report(replace(report, tables=()), tmp_path / "a.pdf")
    assert len((tmp_path / "a.pdf").read_bytes()) > 20_000


def test_a_report_is_for_its_owner_only_and_leaves_nothing_beside_it(tmp_path: Path):
    write_report(make_report(debriefed.without_track()), tmp_path / "a.html")
    assert [path.name for path in tmp_path.iterdir()] == ["a.html"]
    assert stat.S_IMODE((tmp_path / "a.html").stat().st_mode) == 0o600


def test_a_name_without_a_form_is_one_line():
    with pytest.raises(SettingsError, match=r"--report: expected a file name ending in .html or .pdf, got"):
        check_report_path(Path("report.txt"))


def test_a_folder_that_is_not_there_is_one_line():
    with pytest.raises(SettingsError, match="--report: expected a file in a folder that exists"):
        check_report_path(Path("/nowhere/at/all/report.html"))


def test_a_place_that_cannot_be_written_is_one_line(tmp_path: Path):
    (tmp_path / "a.html").mkdir()
    with pytest.raises(SettingsError, match="--report: expected a file that can be written, got"):
        write_report(make_report(debriefed.without_track()), tmp_path / "a.html")
    assert [path.name for path in tmp_path.iterdir()] == ["a.html"]
