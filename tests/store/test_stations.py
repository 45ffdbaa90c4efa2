"""The user's table of stations on disk."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from coach.errors import SettingsError, SetupError
from coach.store import stations
from coach.store.stations import read_navaid_file, read_stations, write_stations
from tests.store.test_navaid_csv import GOOD, HEADER, NOWHERE


@pytest.fixture(autouse=True)
def table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "folder" / "stations.csv"
    monkeypatch.setattr(stations, "stations_path", lambda: path)
    return path


def test_a_table_written_is_read_again(table: Path) -> None:
    assert write_stations((NOWHERE,)) == table
    assert read_stations() == (NOWHERE,)


def test_a_new_table_takes_the_place_of_the_old(table: Path) -> None:
    other = replace(NOWHERE, ident="ZZZ")
    write_stations((NOWHERE,))
    write_stations((other,))
    assert read_stations() == (other,)
    assert [path.name for path in table.parent.iterdir()] == ["stations.csv"]


def test_without_a_table_the_remedy_is_named() -> None:
    with pytest.raises(SetupError, match="`coach station import FILE` makes it"):
        read_stations()


def test_a_table_that_somebody_broke_is_refused_with_the_place_and_the_remedy(table: Path) -> None:
    table.parent.mkdir()
    table.write_text(HEADER + GOOD.replace("113000", "9"))
    with pytest.raises(SettingsError) as caught:
        read_stations()
    assert str(caught.value.problems[0]).startswith(f"{table}:2: frequency_khz: expected")
    assert caught.value.problems[1] == "`coach station import FILE` makes the table anew"


def test_a_folder_in_the_way_is_one_clear_line(table: Path) -> None:
    table.parent.write_text("a file where the folder should be")
    with pytest.raises(SettingsError, match="expected a place that can be written to"):
        write_stations((NOWHERE,))


@pytest.mark.parametrize(
    ("name", "problem"),
    [
        ("missing.csv", "expected a file that can be read, got no such file or directory"),
        (".", "expected a file, got something else"),
        ("a\0b", "expected a file name, got a null character"),
    ],
)
def test_a_file_that_cannot_be_read_is_one_clear_line(tmp_path: Path, name: str, problem: str) -> None:
    with pytest.raises(SettingsError, match=problem):
        read_navaid_file(tmp_path / name)


def test_a_file_too_large_is_not_read_to_its_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stations, "LARGEST_BYTES", 10)
    path = tmp_path / "large.csv"
    path.write_text(HEADER + GOOD)
    with pytest.raises(SettingsError, match="expected at most 10 bytes, got more"):
        read_navaid_file(path)
