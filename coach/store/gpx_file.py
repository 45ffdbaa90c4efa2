"""A flown track as a GPX 1.1 file, for other programs and for `coach debrief --track`.

Never writes part of a file: it is put in its place whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from coach.errors import Problem, SettingsError

METRES_PER_FOOT = 0.3048

Place = tuple[datetime, float, float, float]
"""UTC, latitude and longitude in degrees, altitude in feet."""


def check_gpx_path(path: Path) -> None:
    """Raise SettingsError where no GPX file can be written under that name."""
    if path.suffix.lower() != ".gpx":
        raise SettingsError(Problem(where="--track", expected="a file name ending in .gpx", got=f"'{path}'"))
    if not path.parent.is_dir():
        raise SettingsError(
            Problem(where="--track", expected="a file in a folder that exists", got=f"'{path}'")
        )


def write_gpx(path: Path, places: Sequence[Place], *, name: str) -> None:
    """Write the places as one track. Raises SettingsError where the file cannot be written."""
    check_gpx_path(path)
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(_render(places, name), encoding="utf-8")
        part.replace(path)
    except OSError as exc:
        part.unlink(missing_ok=True)
        got = f"'{path}' ({exc.strerror or exc})"
        raise SettingsError(Problem(where="--track", expected="a file that can be written", got=got)) from exc


def _render(places: Sequence[Place], name: str) -> str:
    from gpxpy.gpx import GPX, GPXTrack, GPXTrackPoint, GPXTrackSegment

    gpx = GPX()
    gpx.creator = "drill-coach"
    track, segment = GPXTrack(name=name), GPXTrackSegment()
    for utc, latitude_deg, longitude_deg, altitude_ft in places:
        metres = round(altitude_ft * METRES_PER_FOOT, 2)
        segment.points.append(
            GPXTrackPoint(round(latitude_deg, 7), round(longitude_deg, 7), elevation=metres, time=utc)
        )
    track.segments.append(segment)
    gpx.tracks.append(track)
    return gpx.to_xml(version="1.1")
