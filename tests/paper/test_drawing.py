"""Drawn sheets: nothing overlaps or is cut, in three forms, and a bad path is told in one line."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import hypothesis
import pytest
from hypothesis import strategies as st

from coach.drill.card import A5, lay_out_card
from coach.drill.shapes import Filled, Sheet, Stroke, Text
from coach.errors import DrillError, SettingsError
from coach.paper.drawing import draw_sheets, measure_text
from tests.drill.cards import NAVAID, STATION, planned

EDGE = 8.0
"""What a printer cannot print along the edge, points: about 3 mm."""

PLANS = [
    {},
    {"wind": "250/20"},
    {"wind": "250/20", "spokes": "1"},
    {"wind": "340/15", "spokes": "1", "timer_from": "level", "tas_kt": 120.0},
    {"wind": "250/20", "spokes": "2"},
    {"spokes": "2", "rotation": "135 right", "offset_leg_s": "40", "wind": "030/25"},
    {"spokes": "16", "wind": "250/20"},
    {"spokes": "16", "rotation": "40 left", "wind": "020/25"},
    {"spokes": "16", "rotation": "5 left", "leg_s": "90"},
    {"spokes": "11", "rotation": "10 right", "wind": "180/25", "tas_kt": 80.0},
]

sides = pytest.mark.parametrize("is_wide", [False, True], ids=["A5", "wide"])
plans = pytest.mark.parametrize("settings", PLANS, ids=str)


LONG = replace(NAVAID, ident="0000", name="The Long Name Of A Station Nowhere")
"""The longest ident in Morse; a name longer than most."""


def card(settings: dict, is_wide: bool = False) -> tuple[Sheet, ...]:
    return lay_out_card(planned(**settings), measure_text, station=STATION, navaid=LONG, is_wide=is_wide)


@sides
@plans
def test_no_text_overlaps_another(settings, is_wide: bool):
    for sheet in card(settings, is_wide):
        boxes = [(text.text, text.box(measure_text)) for text in sheet.texts if text.text]
        overlapping = [(a[0], b[0]) for a, b in combinations(boxes, 2) if a[1].overlaps(b[1])]
        assert overlapping == []


@sides
@plans
def test_nothing_leaves_the_sheet(settings, is_wide: bool):
    for sheet in card(settings, is_wide):
        boxes = [text.box(measure_text) for text in sheet.texts]
        corners = [corner for box in boxes for corner in ((box.left, box.top), (box.right, box.bottom))]
        drawn = [shape for shape in sheet.shapes if isinstance(shape, Stroke | Filled)]
        corners += [point for shape in drawn for point in shape.points]
        outside = [
            (x, y)
            for x, y in corners
            if not (EDGE <= x <= sheet.width - EDGE and EDGE <= y <= sheet.height - EDGE)
        ]
        assert outside == []


@sides
@plans
def test_no_turn_arrow_touches_a_text(settings, is_wide: bool):
    for sheet in card(settings, is_wide):
        boxes = [(text, text.box(measure_text)) for text in sheet.texts if text.text]
        heads = [shape for shape in sheet.shapes if isinstance(shape, Filled)]
        touched = [
            text.text
            for text, box in boxes
            for head in heads
            if any(box.left < x < box.right and box.top < y < box.bottom for x, y in head.points)
        ]
        assert touched == []


@sides
@plans
def test_nothing_of_the_station_is_left_out(settings, is_wide: bool):
    printed = " ".join(text.text for text in card(settings, is_wide)[0].texts)
    assert "40.000 S 110.000 W, declination 12 E" in printed
    assert f"of {LONG.name} VOR at" in printed


@plans
def test_a_front_alone_serves_eleven_spokes_and_sixteen_take_a_back(settings):
    assert len(card(settings)) == (1 if int(settings.get("spokes", 8)) <= 11 else 2)
    assert len(card(settings, is_wide=True)) == 1


@hypothesis.settings(max_examples=25, deadline=None, derandomize=True)
@hypothesis.given(
    spokes=st.integers(1, 16),
    first_outbound=st.integers(1, 360),
    rotation=st.integers(1, 170),
    leg_s=st.integers(45, 300),
    wind_from=st.integers(1, 360),
    wind_kt=st.integers(0, 25),
    is_wide=st.booleans(),
)
def test_any_plan_fits_its_sheet(spokes, first_outbound, rotation, leg_s, wind_from, wind_kt, is_wide: bool):
    settings = {
        "spokes": str(spokes),
        "first_outbound": str(first_outbound),
        "rotation": f"{rotation} left",
        "leg_s": str(leg_s),
        "wind": f"{wind_from:03d}/{wind_kt}",
    }
    try:
        planned(**settings)
    except DrillError:
        hypothesis.reject()
    test_no_text_overlaps_another(settings, is_wide)
    test_nothing_leaves_the_sheet(settings, is_wide)


@pytest.mark.filterwarnings("error")
def test_character_that_the_typeface_lacks_is_drawn_without_a_warning(tmp_path: Path):
    sheet = Sheet(width=100.0, height=50.0, shapes=(Text(at=(10.0, 30.0), text="선회", size=9.0),))
    draw_sheets((sheet,), tmp_path / "odd.svg")
    assert (tmp_path / "odd.svg").stat().st_size > 0


def test_text_is_measured_as_wide_as_it_is_drawn():
    """DejaVu Sans: a digit is 1303 of 2048 units wide, bold 1425 (the typeface's own tables)."""
    assert measure_text("0", 20.48, False) == pytest.approx(13.03, rel=0.12)
    assert measure_text("00000000", 20.48, False) == pytest.approx(8 * 13.03, rel=0.02)
    assert measure_text("00000000", 20.48, True) == pytest.approx(8 * 14.25, rel=0.02)


@pytest.mark.parametrize(("suffix", "start"), [("pdf", b"%PDF-"), ("svg", b"<?xml"), ("PNG", b"\x89PNG")])
def test_each_form_is_written(tmp_path: Path, suffix: str, start: bytes):
    path = tmp_path / f"card.{suffix}"
    draw_sheets(card({"spokes": "1"}), path)
    assert path.read_bytes().startswith(start)


def test_two_sides_are_two_pages_of_the_size_of_a5(tmp_path: Path):
    draw_sheets(card({"spokes": "16"}), tmp_path / "card.pdf")
    written = (tmp_path / "card.pdf").read_bytes()
    assert b"/Count 2" in written
    boxes = re.findall(rb"/MediaBox \[ ?0 0 ([0-9.]+) ([0-9.]+) ?\]", written)
    assert [(float(wide), float(high)) for wide, high in boxes] == [pytest.approx(A5)] * 2


def test_same_card_is_the_same_file(tmp_path: Path):
    for name in ("a.svg", "b.svg", "a.pdf", "b.pdf"):
        draw_sheets(card({"spokes": "1"}), tmp_path / name)
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_dollar_signs_are_drawn_as_they_are(tmp_path: Path):
    sheet = Sheet(width=100.0, height=50.0, shapes=(Text(at=(10.0, 30.0), text="$a_1$ 1 $", size=9.0),))
    draw_sheets((sheet,), tmp_path / "odd.svg")
    assert (tmp_path / "odd.svg").stat().st_size > 0


@pytest.mark.parametrize("name", ["card.jpeg", "card", "card.pdf.txt"])
def test_other_suffix_is_told(tmp_path: Path, name: str):
    with pytest.raises(SettingsError) as caught:
        draw_sheets(card({"spokes": "1"}), tmp_path / name)
    expected = "expected a file name ending in .pdf, .svg or .png"
    assert str(caught.value) == f"--card: {expected}, got '{tmp_path / name}'"


def test_missing_folder_is_told(tmp_path: Path):
    path = tmp_path / "nowhere" / "card.pdf"
    with pytest.raises(SettingsError, match=r"^--card: expected a file in a folder that exists, got '.*'$"):
        draw_sheets(card({"spokes": "1"}), path)


def test_folder_instead_of_a_file_is_told(tmp_path: Path):
    (tmp_path / "card.svg").mkdir()
    with pytest.raises(
        SettingsError, match=r"^--card: expected a file that can be written, got '.*' \(.*\)$"
    ):
        draw_sheets(card({"spokes": "1"}), tmp_path / "card.svg")
