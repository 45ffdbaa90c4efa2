"""The picture of the history."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.debrief.history import find_trends
from coach.errors import SettingsError
from coach.paper.history import check_picture_path, draw_history
from tests.debrief.test_history import session


@pytest.mark.parametrize(("name", "begins"), [("h.svg", b"<?xml"), ("h.png", b"\x89PNG")])
def test_a_picture_is_drawn(name: str, begins: bytes, tmp_path: Path):
    trends = find_trends([session(day, share) for day, share in enumerate((0.4, 0.6, 0.9))])
    draw_history(trends, tmp_path / name)
    assert (tmp_path / name).read_bytes().startswith(begins)


def test_one_session_is_drawn_too(tmp_path: Path):
    draw_history(find_trends([session(0, 0.4)]), tmp_path / "h.svg")
    assert "turn begins, % within" in (tmp_path / "h.svg").read_text()


def test_another_ending_is_one_line():
    with pytest.raises(SettingsError, match=r"--picture: expected a file name ending in .svg or .png, got"):
        check_picture_path(Path("h.gif"))
