"""CSV: columns by name and unit, broken rows told with their line."""

from __future__ import annotations

import pytest

from coach.errors import TrackError
from coach.fixes.track_csv import COLUMNS, decode_csv
from tests.fixes.track_files import csv

HEAD = "time_utc,lat,lon\n"


def rows(*texts: str) -> bytes:
    return (HEAD + "".join(f"{text}\n" for text in texts)).encode()


def told(content: bytes) -> str:
    with pytest.raises(TrackError) as error:
        decode_csv(content, name="f.csv")
    return str(error.value)


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_other_delimiters_are_read(delimiter: str):
    track = decode_csv(csv().replace(b",", delimiter.encode()), name="f.csv")
    assert len(track) == 12


@pytest.mark.parametrize(
    ("column", "value", "name", "expected"),
    [
        ("altitude_m", "304.8", "altitude_ft", 1000.0),
        ("geo_altitude_ft", "5", "geo_altitude_ft", 5.0),
        ("ground_speed_kmh", "185.2", "ground_speed_kt", 100.0),
        ("airspeed_m_s", "46.3", "airspeed_kt", 90.0),
        ("heading_mag_deg", "17", "heading_mag_deg", 17.0),
    ],
)
def test_units_stand_in_the_name(column: str, value: str, name: str, expected: float):
    content = (
        f"time_utc,lat,lon,{column}\n2026-01-01T00:00:00Z,1,1,{value}\n2026-01-01T00:00:01Z,1,1,{value}\n"
    )
    track = decode_csv(content.encode(), name="f.csv")
    assert getattr(track, name).tolist() == pytest.approx([expected] * 2)


def test_times_with_a_zone_without_one_and_in_unix_seconds_agree():
    texts = {
        "zone": "time_utc,lat,lon\n2026-01-01T02:00:00+02:00,1,1\n2026-01-01T02:00:01.5+02:00,1,1\n",
        "none": "time_utc,lat,lon\n2026-01-01 00:00:00,1,1\n2026-01-01 00:00:01.5,1,1\n",
        "unix": "unix_s,lat,lon\n1767225600,1,1\n1767225601.5,1,1\n",
    }
    tracks = [decode_csv(text.encode(), name="f.csv") for text in texts.values()]
    assert {track.began_utc.isoformat() for track in tracks} == {"2026-01-01T00:00:00+00:00"}
    assert {float(track.time_s[1]) for track in tracks} == {1.5}


def test_a_broken_row_costs_itself_and_is_told_with_its_line():
    good = [f"2026-01-01T00:00:0{i}Z,1,1.000{i}" for i in range(4)]
    track = decode_csv(rows(*good[:2], "2026-01-01T00:00:02Z,one,1", *good[2:]), name="f.csv")
    assert len(track) == 4
    assert track.notes == ("Rows left out: 1, the first: f.csv:4: lat: expected a number, got 'one'.",)


def test_mostly_broken_rows_are_refused_line_by_line():
    assert told(rows("x,1,1", "2026-01-01T00:00:01Z,1", "2026-01-01T00:00:01Z,1,1")) == (
        "f.csv:2: time_utc: expected a date and time, got 'x'\nf.csv:3: expected a column lon, got 2 columns"
    )


def test_missing_columns_are_all_told_with_the_nearest_name():
    assert told(b"time_utc,latitud_deg,x\n") == (
        "f.csv:1: expected a column lat_deg (is it 'latitud_deg'?), got none\n"
        "f.csv:1: expected a column lon_deg, got none"
    )


def test_two_columns_for_one_quantity_are_refused():
    assert told(b"time_utc,lat,latitude,lon\n") == "f.csv:1: expected one column for lat_deg, got two or more"


def test_columns_that_are_not_known_are_told():
    content = b"time_utc,lat,lon,squawk\n2026-01-01T00:00:00Z,1,1,7000\n2026-01-01T00:00:01Z,1,1,7000\n"
    assert decode_csv(content, name="f.csv").notes == ("Columns not read: squawk.",)


def test_every_column_ends_in_its_unit_or_is_a_position():
    units = ("_s", "_deg", "_ft", "_m", "_kt", "_m_s", "_kmh")
    assert all(name.endswith(units) or name in ("lat", "lon", "latitude", "longitude") for name in COLUMNS)
