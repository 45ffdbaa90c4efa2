"""GPX: read by gpxpy, after a look at the XML that refuses what does harm."""

from __future__ import annotations

import pytest

from coach.errors import TrackError
from coach.fixes.gpx import decode_gpx
from tests.fixes.track_files import gpx

POINT = '<trkpt lat="{lat}" lon="{lon}"><time>2026-03-14T09:26:{s:02d}Z</time></trkpt>'


def told(content: bytes) -> str:
    with pytest.raises(TrackError) as error:
        decode_gpx(content, name="f.gpx")
    return str(error.value)


def test_altitudes_and_the_speeds_of_version_1_0_come_along():
    points = "\n".join(
        POINT.format(lat=-40.0 + i * 0.0004, lon=-110, s=i).replace(
            "<time>", "<ele>304.8</ele><speed>46.3</speed><course>12.5</course><time>"
        )
        for i in range(4)
    )
    track = decode_gpx(gpx(points).replace(b"1.1", b"1.0").replace(b"/1/1", b"/1/0"), name="f.gpx")
    assert track.altitude_ft is not None
    assert track.altitude_ft.tolist() == pytest.approx([1000.0] * 4)
    assert track.ground_speed_kt is not None
    assert track.ground_speed_kt.tolist() == pytest.approx([90.0] * 4)
    assert track.track_true_deg is not None
    assert track.track_true_deg.tolist() == [12.5] * 4


@pytest.mark.parametrize("lat", ["95", "nan", "inf", "-1e9"])
def test_what_gpxpy_lets_pass_is_left_out_with_its_line(lat: str):
    points = "\n".join(POINT.format(lat=lat if i == 1 else -40.0, lon=-110, s=i) for i in range(4))
    track = decode_gpx(gpx(points), name="f.gpx")
    assert len(track) == 3
    assert track.notes == ("1 fix without a time or a place that can be left out, the first at line 5.",)


def test_a_latitude_that_is_no_number_is_told_with_its_line():
    points = "\n".join(POINT.format(lat="forty" if i == 2 else -40.0, lon=-110, s=i) for i in range(4))
    assert told(gpx(points)) == "f.gpx:6: expected lat in degrees, got 'forty'"


@pytest.mark.parametrize(
    "doctype",
    [
        b'<!DOCTYPE g [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;">]>',
        b'<!DOCTYPE g SYSTEM "http://127.0.0.1/x.dtd">',
        b'<!DOCTYPE g [<!ENTITY x SYSTEM "file:///etc/passwd">]>',
    ],
    ids=["entities in entities", "another file", "a file of this machine"],
)
def test_hostile_xml_is_refused_before_it_is_read(doctype: bytes):
    content = gpx().replace(b"?>\n", b"?>\n" + doctype + b"\n", 1).replace(b"610.0", b"&x;", 1)
    assert told(content) == "f.gpx:2: expected no document type (it can do harm), got <!DOCTYPE>"


def test_deep_nesting_is_refused():
    assert told(gpx("<a>" * 100_000 + "</a>" * 100_000)).startswith("f.gpx:4: expected at most 64 elements")


def test_namespaces_without_end_are_refused_at_once():
    assert told(gpx("<a>" + " xmlns" * 100_000 + "</a>")).endswith("got xmlns without a name")


def test_broken_xml_is_told_with_its_line():
    assert told(gpx()[:400]).startswith("f.gpx:6: expected whole XML, got ")


def test_another_xml_file_is_told():
    assert told(b"<html></html>") == "f.gpx:1: expected a GPX file, got <html>"


def test_a_track_without_times_is_refused():
    points = '<trkpt lat="1" lon="1"/><trkpt lat="1" lon="1.1"/>'
    assert "at least two fixes with time and place, got 0 of 2" in told(gpx(points))


def test_bytes_that_are_no_utf_8_are_told_with_their_line():
    assert told(gpx().replace(b"nobody", b"nob\xffdy")) == "f.gpx:2: expected UTF-8, got other bytes"
