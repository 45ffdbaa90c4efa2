"""A flown track as a GPX file."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coach.errors import SettingsError
from coach.store.gpx_file import write_gpx
from coach.store.tracks import read_track

BEGAN = datetime(2030, 3, 17, 23, 59, 58, tzinfo=UTC)
PLACES = [
    (BEGAN + timedelta(seconds=k), -40.0 + k / 1000.0, 179.999 + k / 100000.0, 3000.0) for k in range(20)
]


def test_what_is_written_is_read_again(tmp_path: Path):
    write_gpx(tmp_path / "a.gpx", PLACES, name="a <drill> & more")
    track = read_track(tmp_path / "a.gpx")
    assert len(track) == 20
    assert track.began_utc == BEGAN
    assert track.time_s.tolist() == list(map(float, range(20)))
    assert track.lat_deg[7] == pytest.approx(-39.993, abs=1e-6)
    assert track.altitude_ft is not None
    assert track.altitude_ft[0] == pytest.approx(3000.0, abs=0.1)
    assert [path.name for path in tmp_path.iterdir()] == ["a.gpx"]


def test_another_ending_or_no_folder_is_one_line(tmp_path: Path):
    with pytest.raises(SettingsError, match=r"--track: expected a file name ending in .gpx, got"):
        write_gpx(tmp_path / "a.kml", PLACES, name="a")
    with pytest.raises(SettingsError, match="--track: expected a file in a folder that exists"):
        write_gpx(tmp_path / "no" / "a.gpx", PLACES, name="a")
