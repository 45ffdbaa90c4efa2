"""Files of positions on disk."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import TrackError
from coach.store import tracks
from coach.store.tracks import read_track
from tests.fixes.track_files import FILES, N


@pytest.mark.parametrize("form", FILES)
def test_a_files_name_does_not_matter(form: str, tmp_path: Path):
    path = tmp_path / "flight.dat"
    path.write_bytes(FILES[form])
    assert len(read_track(path)) == N


def test_a_folder_and_a_missing_file_are_told(tmp_path: Path):
    with pytest.raises(TrackError, match="got a folder"):
        read_track(tmp_path)
    with pytest.raises(TrackError, match="got no such file"):
        read_track(tmp_path / "none")


def test_a_file_beyond_the_limit_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(tracks, "MAX_BYTES", 100)
    path = tmp_path / "large"
    path.write_bytes(FILES["gpx"])
    with pytest.raises(TrackError, match="at most 100 bytes, got more"):
        read_track(path)
