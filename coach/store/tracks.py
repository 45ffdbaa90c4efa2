"""Reads a file of positions, whatever its form.

Never writes, never follows what a file refers to, never reads more than `MAX_BYTES`.
"""

from __future__ import annotations

from pathlib import Path

from coach.errors import Problem, TrackError
from coach.fixes.track import Track
from coach.fixes.track_form import decode_track

MAX_BYTES = 512_000_000
"""Ten hours of GPX at 10 Hz are 50 to 150 MB."""


def read_track(path: Path) -> Track:
    """Return the track in a file. Raises `TrackError` with one line for each problem."""
    return decode_track(_read(path), name=str(path))


def _read(path: Path) -> bytes:
    try:
        if not path.is_file():
            got = "no such file" if not path.exists() else "a folder" if path.is_dir() else "a device or pipe"
            raise TrackError(Problem(where=str(path), expected="a file of positions", got=got))
        with path.open("rb") as file:
            content = file.read(MAX_BYTES + 1)
    except OSError as exc:
        got = exc.strerror or str(exc)
        raise TrackError(Problem(where=str(path), expected="a file of positions", got=got)) from exc
    if len(content) > MAX_BYTES:
        raise TrackError(Problem(where=str(path), expected=f"at most {MAX_BYTES} bytes", got="more"))
    return content
