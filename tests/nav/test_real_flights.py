"""Five real flights around real VORs, sent through NMEA and the decoder at one fix every five seconds.

The flights and the truth table are outside data (`COACH_SHARED`): flights of the package `traffic` (MIT,
crowd-sourced ADS-B), passages found by an independent script.
"""

from __future__ import annotations

import csv
import math
import os
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path

import pytest

from coach.fixes.fix import Fix
from coach.fixes.nmea import NmeaDecoder
from coach.fixes.nmea_encoder import encode_nmea
from coach.nav.angles import difference_deg
from coach.nav.overflight import Overflight, Place, find_overflights
from coach.nav.station import Station

FOLDER = Path(os.environ.get("COACH_SHARED", "nowhere")) / "data" / "tracks"
FLIGHTS = ("ajaccio", "guatemala", "liege_sprimont", "monastir", "perth")
FIX_INTERVAL_S = 5.0
RADIAL_WITHIN_DEG = 1.5

pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason=f"needs COACH_SHARED with data/tracks, no {FOLDER}"
)


@dataclass(frozen=True)
class Row:
    """A passage of the truth table."""

    flight: str
    vor: str
    at_s: float
    nearest_nm: float
    inbound_deg: float
    outbound_deg: float
    kind: str


def read(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open() as file:
        return list(csv.DictReader(file))


def instant(text: str) -> datetime:
    return datetime.fromisoformat(text.replace("Z", "+00:00"))


@cache
def stations() -> dict[str, Station]:
    return {
        row["vor"]: Station(
            latitude_deg=float(row["lat"]),
            longitude_deg=float(row["lon"]),
            declination_deg=float(row["declination"]),
        )
        for row in read("stations.csv")
    }


@cache
def truth() -> tuple[Row, ...]:
    return tuple(
        Row(
            flight=row["flight"],
            vor=row["vor"],
            at_s=instant(row["time"]).timestamp(),
            nearest_nm=float(row["d_min_nm"]),
            inbound_deg=float(row["on_radial_inbound_mag"]),
            outbound_deg=float(row["on_radial_outbound_mag"]),
            kind=row["kind"],
        )
        for row in read("truth_station_passages.csv")
    )


@cache
def decoded(flight: str) -> tuple[Fix, ...]:
    """The flight as NMEA sentences, read again; `at_s` is the fix's own time."""
    decoder, fixes = NmeaDecoder(), []
    for row in read(f"{flight}.csv"):
        utc = instant(row["time_utc"])
        at_s = utc.timestamp()
        sent = Fix(
            at_s=at_s,
            source="track",
            lat_deg=float(row["lat"]),
            lon_deg=float(row["lon"]),
            utc=utc,
            utc_of_day_s=at_s % 86_400,
            ground_speed_kt=float(row["groundspeed_kt"]),
            track_true_deg=float(row["track_true_deg"]),
            altitude_ft=float(row["altitude_ft"]),
        )
        fixes += decoder.feed(encode_nmea(sent), at_s)
    fixes += decoder.flush()
    assert all(isinstance(fix, Fix) for fix in fixes)
    return tuple(fix for fix in fixes if isinstance(fix, Fix))


@cache
def places(flight: str, vor: str) -> tuple[Place, ...]:
    station = stations()[vor]
    return tuple((fix.at_s, *station.place(fix.lat_deg, fix.lon_deg)) for fix in decoded(flight))


def stations_near(flight: str) -> list[str]:
    """The stations that the flight came within half a degree of."""
    return [
        vor
        for vor, station in stations().items()
        if any(
            abs(fix.lat_deg - station.latitude_deg) < 0.5 and abs(fix.lon_deg - station.longitude_deg) < 0.5
            for fix in decoded(flight)
        )
    ]


@cache
def overflights(flight: str, vor: str) -> tuple[Overflight, ...]:
    return find_overflights(places(flight, vor))


def distance_at(row: Row) -> float:
    """How far from the station the decoded flight is at the time of a row."""
    _, east, north = min(places(row.flight, row.vor), key=lambda place: abs(place[0] - row.at_s))
    return math.hypot(east, north)


def contradicts_its_track(row: Row) -> bool:
    """A row whose nearest point lies farther from the track of its time than can be flown in a fix interval.

    One is: the last 165 s of `guatemala` are a straight line filled in at 44 kt between 1.88 NM before the
    station and the end of the track, while the speed given is 144 to 2 kt; the table has the passage 97 s
    before the track comes there, with radials that the track never was on.
    """
    return distance_at(row) - row.nearest_nm > 0.3


def through() -> list[Row]:
    return [row for row in truth() if row.kind == "through"] if FOLDER.is_dir() else []


def found_at(row: Row) -> Overflight | None:
    near = [o for o in overflights(row.flight, row.vor) if abs(o.passage.at_s - row.at_s) <= 60.0]
    return min(near, key=lambda o: abs(o.passage.at_s - row.at_s), default=None)


@pytest.mark.parametrize("flight", FLIGHTS)
def test_every_fix_comes_through_the_decoder(flight: str) -> None:
    rows = read(f"{flight}.csv")
    fixes = decoded(flight)
    assert len(fixes) == len(rows)
    assert max(abs(fix.lat_deg - float(row["lat"])) for fix, row in zip(fixes, rows, strict=True)) < 2e-7
    assert max(abs(fix.lon_deg - float(row["lon"])) for fix, row in zip(fixes, rows, strict=True)) < 2e-7


@pytest.mark.parametrize("row", through(), ids=lambda row: f"{row.flight} {row.vor} {row.at_s:.0f}")
def test_every_passage_through_is_found_in_time_and_on_its_radials(row: Row) -> None:
    if contradicts_its_track(row):
        pytest.skip(f"the track is {distance_at(row):.2f} NM away then: the row is not of this track")
    found = found_at(row)
    assert found is not None
    assert abs(found.passage.at_s - row.at_s) <= FIX_INTERVAL_S
    assert found.inbound_radial_mag_deg is not None
    assert found.outbound_radial_mag_deg is not None
    assert abs(difference_deg(found.inbound_radial_mag_deg, row.inbound_deg)) <= RADIAL_WITHIN_DEG
    assert abs(difference_deg(found.outbound_radial_mag_deg, row.outbound_deg)) <= RADIAL_WITHIN_DEG


def test_only_one_row_contradicts_its_track_and_its_passage_is_found_where_the_track_has_it() -> None:
    (row,) = [row for row in through() if contradicts_its_track(row)]
    nearest_s, _, _ = min(places(row.flight, row.vor)[1000:], key=lambda place: math.hypot(*place[1:]))
    (found,) = overflights(row.flight, row.vor)
    assert (row.flight, row.vor) == ("guatemala", "AUR")
    assert abs(found.passage.at_s - nearest_s) <= FIX_INTERVAL_S
    assert found.passage.distance_nm < 0.1


@pytest.mark.parametrize("flight", FLIGHTS)
def test_no_passage_is_invented_at_any_station(flight: str) -> None:
    for vor in stations_near(flight):
        for found in overflights(flight, vor):
            near = [p for p in places(flight, vor) if abs(p[0] - found.passage.at_s) <= 2 * FIX_INTERVAL_S]
            assert min(math.hypot(east, north) for _, east, north in near) <= 1.0
            assert any(
                row.flight == flight
                and row.vor == vor
                and (abs(row.at_s - found.passage.at_s) <= FIX_INTERVAL_S or contradicts_its_track(row))
                for row in truth()
            )


def test_passages_of_every_other_kind_are_found_too_but_the_one_that_ends_in_a_landing() -> None:
    missed = [row for row in truth() if row.kind != "through" and found_at(row) is None]
    assert [(row.flight, row.vor) for row in missed] == [("perth", "PH")]
