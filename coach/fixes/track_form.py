"""Which form a file of positions has, by what it holds, and its track.

Never looks at a file's name or ending.
"""

from __future__ import annotations

import re

from coach.errors import Problem, TrackError
from coach.fixes.gdl90_frames import FLAG, LONGEST_FRAME, decode_frame
from coach.fixes.gpx import decode_gpx
from coach.fixes.igc import decode_igc
from coach.fixes.track import Form, Track
from coach.fixes.track_csv import decode_csv, is_header
from coach.fixes.track_feed import decode_feed

LOOKED_AT = 65_536
"""Bytes at the beginning that tell what a file is."""

_SENTENCE = re.compile(
    rb"[$][A-Z]{2}(?:RMC|GGA|GLL|VTG|GSA|GSV|ZDA|HDG|HDM|HDT),[^\r\n]{0,400}\*[0-9A-Fa-f]{2}"
)
_B_RECORD = re.compile(rb"^B\d{6}\d{7}[NS]\d{8}[EW][AV]", re.MULTILINE)
_FLAG = bytes((FLAG,))


def decode_track(content: bytes, *, name: str) -> Track:
    """Return the track that a file's bytes hold, whatever their form; `name` is for errors.

    Raises `TrackError` with one line for each problem.
    """
    form = find_form(content)
    if form == "gpx":
        return decode_gpx(content, name=name)
    if form == "igc":
        return decode_igc(content, name=name)
    if form == "csv":
        return decode_csv(content, name=name)
    if form == "nmea" or form == "gdl90":
        return decode_feed(content, form, name=name)
    expected = "GPX, IGC, an NMEA 0183 log, a GDL 90 capture, or CSV with columns time_utc, lat, lon"
    got = repr(content[:40])[1:] if content else "an empty file"
    raise TrackError(Problem(where=f"{name}:1", expected=expected, got=got))


def find_form(content: bytes) -> Form | None:
    """Return the form by the file's beginning; None where it is none of ours."""
    head = content[:LOOKED_AT]
    plain = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if plain.startswith(b"<"):
        return "gpx"
    if _SENTENCE.search(head):
        return "nmea"
    if _is_gdl90(head):
        return "gdl90"
    if _B_RECORD.search(head) or (re.match(rb"A[A-Z0-9]{3}", plain) and b"\nHF" in head):
        return "igc"
    first = plain.partition(b"\n")[0]
    return "csv" if is_header(first.decode("utf-8", errors="replace")) or b"," in first else None


def _is_gdl90(head: bytes) -> bool:
    """Whether some message between two flags has a right check sum."""
    if _FLAG not in head:
        return False
    pieces = head.split(_FLAG)[:200]
    return any(
        2 < len(piece) <= LONGEST_FRAME and not isinstance(decode_frame(piece), str) for piece in pieces
    )
