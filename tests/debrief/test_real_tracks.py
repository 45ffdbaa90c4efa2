"""The five real flights against the truth tables: every tight radial, every passage through.

Outside data (`COACH_SHARED`): flights of the package `traffic` (MIT, crowd-sourced ADS-B), segments and
passages found by an independent script."""

from __future__ import annotations

import csv
import os
from datetime import datetime
from functools import cache
from pathlib import Path

import pytest

from coach.debrief.flight import Flight, see_flight
from coach.debrief.passages import find_passages
from coach.debrief.radials import find_arcs, find_radials
from coach.fixes.track import Track
from coach.nav.station import Station
from coach.store.tracks import read_track
from tests.debrief.flown import off_deg

FOLDER = Path(os.environ.get("COACH_SHARED", "nowhere")) / "data" / "tracks"
TIGHT_DEG, LONG_NM = 0.4, 8.0
WITHIN_DEG, LEAST_COVERED, MOST_OUTSIDE_S = 0.5, 0.8, 60.0
CONTRADICTS_ITS_TRACK = ("guatemala", "SJO", "2018-03-26T18:47:30Z")
"""Its radial is given as 16.5 degrees; the fixes of its seconds lie on 17.5 to 18.1, by the geodesic too."""

pytestmark = pytest.mark.skipif(not FOLDER.is_dir(), reason=f"needs COACH_SHARED, no {FOLDER}")


def rows(name: str) -> list[dict[str, str]]:
    if not FOLDER.is_dir():
        return []
    with (FOLDER / name).open() as file:
        return list(csv.DictReader(file))


def is_tight(row: dict[str, str]) -> bool:
    length_nm = abs(float(row["d_end_nm"]) - float(row["d_start_nm"]))
    return float(row["bearing_std_deg"]) < TIGHT_DEG and length_nm > LONG_NM


@cache
def station(vor: str) -> Station:
    (row,) = [row for row in rows("stations.csv") if row["vor"] == vor]
    return Station(
        latitude_deg=float(row["lat"]),
        longitude_deg=float(row["lon"]),
        declination_deg=float(row["declination"]),
    )


@cache
def track(name: str) -> Track:
    return read_track(FOLDER / f"{name}.csv")


@cache
def flight(name: str, vor: str) -> Flight:
    return see_flight(track(name), station(vor))


def span(row: dict[str, str], seen: Flight) -> tuple[float, float]:
    began = seen.track.began_utc
    start, end = (datetime.fromisoformat(row[key].replace("Z", "+00:00")) for key in ("start", "end"))
    return (start - began).total_seconds(), (end - began).total_seconds()


@pytest.mark.parametrize(
    "row",
    [row for row in rows("truth_radial_segments.csv") if is_tight(row)],
    ids=lambda row: f"{row['flight']} {row['vor']} {row['start'][11:19]}",
)
def test_every_tight_radial_is_found(row: dict[str, str]):
    seen = flight(row["flight"], row["vor"])
    start_s, end_s = span(row, seen)
    covered = {
        radial: min(end_s, radial.end_s) - max(start_s, radial.start_s)
        for radial in find_radials(seen)
        if radial.direction == row["dir"]
    }
    best = max(covered, key=lambda radial: covered[radial])
    assert covered[best] >= LEAST_COVERED * (end_s - start_s)
    assert (best.end_s - best.start_s) - covered[best] <= MOST_OUTSIDE_S
    if (row["flight"], row["vor"], row["start"]) == CONTRADICTS_ITS_TRACK:
        pytest.skip("the row's radial is none of its own fixes'")
    assert off_deg(best.radial_mag_deg, float(row["radial_mag"])) <= WITHIN_DEG


@pytest.mark.parametrize(
    "row",
    [
        row
        for row in rows("truth_station_passages.csv")
        if row["flight"] != "guatemala" or row["vor"] != "AUR"
    ],
    ids=lambda row: f"{row['flight']} {row['vor']} {row['time'][11:19]}",
)
def test_every_passage_is_found_in_its_five_seconds(row: dict[str, str]):
    """One row of a taxiing aircraft at 34 kt is no passage; one contradicts its track (`tests/nav`)."""
    seen = flight(row["flight"], row["vor"])
    at = datetime.fromisoformat(row["time"].replace("Z", "+00:00"))
    at_s = (at - seen.track.began_utc).total_seconds()
    found = [passage for passage in find_passages(seen) if abs(passage.at_s - at_s) <= 5.0]
    if float(row["gs_kt"]) < 40.0:
        assert found == []
        return
    (passage,) = found
    assert passage.distance_nm == pytest.approx(float(row["d_min_nm"]), abs=0.1)
    if row["kind"] == "through":
        assert passage.inbound_radial_mag_deg is not None
        assert passage.outbound_radial_mag_deg is not None
        assert off_deg(passage.inbound_radial_mag_deg, float(row["on_radial_inbound_mag"])) <= 1.5
        assert off_deg(passage.outbound_radial_mag_deg, float(row["on_radial_outbound_mag"])) <= 1.5


@pytest.mark.parametrize(
    "row", rows("truth_orbits.csv"), ids=lambda row: f"{row['flight']} {row['vor']} {row['start'][11:19]}"
)
def test_every_orbit_is_covered_by_an_arc_of_its_radius(row: dict[str, str]):
    seen = flight(row["flight"], row["vor"])
    start_s, end_s = span(row, seen)
    way = "counterclockwise" if row["dir"] == "ccw" else "clockwise"
    best = max(find_arcs(seen), key=lambda arc: min(end_s, arc.end_s) - max(start_s, arc.start_s))
    assert min(end_s, best.end_s) - max(start_s, best.start_s) >= 0.9 * (end_s - start_s)
    assert best.direction == way
    assert best.radius_nm == pytest.approx(float(row["radius_nm"]), abs=0.4)
