"""Finding drill files by name and by path."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import coach.store.drills
from coach.drill.parser import parse_drill
from coach.errors import DrillError
from coach.store.drills import drills_folder, list_drills, read_drill, read_source

SMALL = Path(__file__).parent / "small.yaml"


def test_eight_spoke_is_listed_with_its_title_and_source() -> None:
    listing = next(each for each in list_drills() if each.name == "eight-spoke")
    assert listing.title == "Eight spokes over a VOR"
    assert listing.source.startswith("Common practice, no source.")


def test_every_drill_that_is_listed_compiles() -> None:
    assert all(read_drill(listing.name, {}).legs for listing in list_drills())


def test_path_with_a_suffix_is_read_as_a_file() -> None:
    drill = read_drill(str(SMALL), {"spokes": "3"})
    assert (drill.name, drill.spokes) == ("small", 3)


def test_unknown_name_is_answered_with_the_nearest() -> None:
    with pytest.raises(DrillError) as raised:
        read_source("eigth-spoke")
    assert str(raised.value) == (
        "drill: expected the name of a drill (nearest: 'eight-spoke') or a path, got 'eigth-spoke'"
    )


def test_missing_file_is_told_by_the_path_as_given() -> None:
    with pytest.raises(DrillError) as raised:
        read_source("no/such.yaml")
    assert (
        str(raised.value) == "no/such.yaml: expected a file that can be read, got no such file or directory"
    )


def test_installed_package_holds_its_drills_inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    inside = tmp_path / "coach" / "drills"
    shutil.copytree(drills_folder(), inside)
    monkeypatch.setattr(coach.store.drills, "files", lambda _package: tmp_path / "coach")
    assert drills_folder() == inside
    assert "eight-spoke" in [listing.name for listing in list_drills()]


def test_demo_station_is_invented_and_far_out_at_sea() -> None:
    station = parse_drill(read_source("eight-spoke")).station
    assert station is not None
    assert (station.name, station.ident) == ("Nowhere Deep", "QQQ")
    assert (station.latitude_deg, station.longitude_deg) == (-40.0, -110.0)
