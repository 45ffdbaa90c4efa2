"""GPX to a track: every `trkpt` with a time, read by gpxpy after a look at the XML.

Never opens what the XML refers to: a document type (and with it every entity) is refused. gpxpy lets latitude
95, nan and inf through: `track_cleaning` does not. Its objects are let go as soon as the numbers are out.
"""

from __future__ import annotations

import gc
import re
from datetime import UTC, datetime
from itertools import chain
from xml.parsers import expat

import gpxpy
import numpy as np
from gpxpy.gpx import GPX, GPXException, GPXTrackPoint
from numpy.typing import NDArray

from coach.errors import Problem, TrackError
from coach.fixes.nmea_fields import FT_PER_M, KT_PER_M_S
from coach.fixes.track import Track
from coach.fixes.track_cleaning import MAX_FIXES, clean_track

DEEPEST = 64
"""Elements within elements; a track has six or seven."""

_NAN = float("nan")
_ENDLESS_NAMESPACE = re.compile(r"\sxmlns[^=]{200}")
"""gpxpy looks for the `=` of each to the end of the file: many of them would take hours."""


def decode_gpx(content: bytes, *, name: str) -> Track:
    """Return the track of a GPX file; `name` is for errors. Raises `TrackError`."""
    text = _decode_text(content, name)
    lines = _check_xml(text, name)
    points = _points_of(_parse(text, name))
    posix_s, lat, lon, altitude_m, speed_m_s, course = np.ascontiguousarray(points.T)
    return clean_track(
        "gpx",
        name=name,
        lines=lines if len(lines) == len(points) else None,
        posix_s=posix_s,
        lat_deg=lat,
        lon_deg=lon,
        given={
            "altitude_ft": altitude_m * FT_PER_M,
            "ground_speed_kt": speed_m_s * KT_PER_M_S,
            "track_true_deg": course,
        },
    )


def _decode_text(content: bytes, name: str) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise TrackError(Problem(where=f"{name}:{line}", expected="UTF-8", got="other bytes")) from error


def _check_xml(text: str, name: str) -> NDArray[np.int64]:
    """Return the line of each point; refuse what is no well-formed GPX, or means harm (`TrackError`)."""
    look = _Look(name)
    try:
        look.parser.Parse(text, True)
    except expat.ExpatError as error:
        got = expat.ErrorString(error.code)
        raise TrackError(Problem(where=f"{name}:{error.lineno}", expected="whole XML", got=got)) from error
    if _ENDLESS_NAMESPACE.search(text):
        raise look.refused("namespaces that are named", "xmlns without a name")
    return np.array(look.lines, dtype=np.int64)


class _Look:
    """One look at the XML before gpxpy reads it; what its handlers raise ends it."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._depth = 0
        self.lines: list[int] = []
        # The text is Unicode already: what the file says of its encoding means nothing.
        self.parser = expat.ParserCreate(encoding="utf-8")
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.StartDoctypeDeclHandler = self._declare
        self.parser.EntityDeclHandler = self._declare

    def refused(self, expected: str, got: str) -> TrackError:
        """The error at the line that is looked at."""
        where = f"{self._name}:{self.parser.CurrentLineNumber}"
        return TrackError(Problem(where=where, expected=expected, got=got))

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth == 1 and tag.rpartition(":")[2] != "gpx":
            raise self.refused("a GPX file", f"<{tag[:40]}>")
        if self._depth > DEEPEST:
            raise self.refused(f"at most {DEEPEST} elements in each other", "more")
        if tag.endswith("trkpt"):
            self._note_point(attributes)

    def _note_point(self, attributes: dict[str, str]) -> None:
        self.lines.append(self.parser.CurrentLineNumber)
        if len(self.lines) > MAX_FIXES:
            raise self.refused(f"at most {MAX_FIXES} points", "more")
        for angle in ("lat", "lon"):
            text = attributes.get(angle, "")
            if not _is_number(text):
                raise self.refused(f"{angle} in degrees", f"'{text[:40]}'")

    def _end(self, _tag: str) -> None:
        self._depth -= 1

    def _declare(self, *_parts: object) -> None:
        raise self.refused("no document type (it can do harm)", "<!DOCTYPE>")


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _parse(text: str, name: str) -> GPX:
    # Hundreds of thousands of objects are made and none let go: the collector would look in vain each time.
    was_collecting = gc.isenabled()
    gc.disable()
    try:
        return gpxpy.parse(text)
    except (GPXException, ValueError, TypeError, OverflowError, AttributeError, KeyError) as error:
        # gpxpy wraps some of what can be wrong and lets the rest through.
        got = str(error).replace("\n", " ")[:120]
        raise TrackError(Problem(where=name, expected="GPX that can be read", got=got)) from error
    finally:
        if was_collecting:
            gc.enable()


def _points_of(gpx: GPX) -> NDArray[np.float64]:
    """Time, latitude, longitude, elevation, speed and course of every point; NaN where it has none."""
    points = chain.from_iterable(segment.points for track in gpx.tracks for segment in track.segments)
    flat = np.fromiter(chain.from_iterable(map(_values_of, points)), dtype=np.float64)
    return flat.reshape(-1, 6)


def _values_of(point: GPXTrackPoint) -> tuple[float, ...]:
    given = (point.latitude, point.longitude, point.elevation, point.speed, point.course)
    return (_posix_s(point.time), *(_NAN if value is None else value for value in given))


def _posix_s(time: datetime | None) -> float:
    """GPX times are UTC unless they name a zone (GPX 1.1); NaN for none and for one that cannot be."""
    if time is None:
        return _NAN
    try:
        return (time if time.tzinfo is not None else time.replace(tzinfo=UTC)).timestamp()
    except (ValueError, OverflowError):
        return _NAN
