"""`coach brief --card` as typed: the card is written, and what is wrong takes one line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.test_main import run
from tests.drill.cards import NAVAID, words

ONE_SPOKE = ("brief", "eight-spoke", "--set", "spokes=1")


@pytest.mark.parametrize("suffix", ["pdf", "svg", "png"])
def test_card_is_written_and_named_below_the_briefing(capsys, tmp_path: Path, suffix: str):
    path = tmp_path / f"card.{suffix}"
    status, out, err = run(capsys, *ONE_SPOKE, "--wind", "250/20", "--card", str(path))
    assert (status, err) == (0, "")
    assert out.splitlines()[-1] == f"Card: {path}"
    assert path.stat().st_size > 1000


def test_wide_card_is_another_sheet(capsys, tmp_path: Path):
    run(capsys, *ONE_SPOKE, "--card", str(tmp_path / "knee.svg"))
    run(capsys, *ONE_SPOKE, "--card", str(tmp_path / "tablet.svg"), "--wide")
    assert 'width="419.53pt"' in (tmp_path / "knee.svg").read_text()
    assert 'width="768pt"' in (tmp_path / "tablet.svg").read_text()


def test_json_stays_alone_on_standard_output(capsys, tmp_path: Path):
    path = tmp_path / "card.svg"
    _, plain, _ = run(capsys, *ONE_SPOKE, "--json")
    status, out, _ = run(capsys, *ONE_SPOKE, "--json", "--card", str(path))
    assert status == 0
    assert json.loads(out) == json.loads(plain)
    assert path.exists()


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        (
            ("--card", "card.jpeg"),
            "--card: expected a file name ending in .pdf, .svg or .png, got 'card.jpeg'",
        ),
        (
            ("--card", "no/where/c.pdf"),
            "--card: expected a file in a folder that exists, got 'no/where/c.pdf'",
        ),
        (("--wide",), "--wide: expected --card FILE beside it, got none"),
    ],
)
def test_what_is_wrong_takes_one_line_and_exit_2(
    capsys, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: tuple[str, ...], expected: str
):
    monkeypatch.chdir(tmp_path)
    status, out, err = run(capsys, *ONE_SPOKE, *typed)
    assert (status, out, err) == (2, "", f"coach: {expected}\n")
    assert list(tmp_path.iterdir()) == []


def test_impossible_wind_leaves_no_card(capsys, tmp_path: Path):
    status, _, err = run(capsys, *ONE_SPOKE, "--wind", "250/95", "--card", str(tmp_path / "card.pdf"))
    assert status == 2
    assert err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_station_of_the_table_is_named_on_the_card(capsys, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    drawn = []
    monkeypatch.setattr("coach.cli.station_choice.read_stations", lambda: (NAVAID,))
    monkeypatch.setattr("coach.cli.brief.draw_sheets", lambda sheets, path: drawn.append(words(sheets)))
    status, _, _ = run(capsys, *ONE_SPOKE, "--station", "QQQ", "--card", str(tmp_path / "card.pdf"))
    assert status == 0
    assert "113.00  QQQ" in drawn[0]
    assert "declination 12 E" in drawn[0]
    assert "The station's declination lies" in drawn[0]
