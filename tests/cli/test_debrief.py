"""`coach debrief` from the command line."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from coach.cli import main
from coach.fixes.track import Track
from coach.nav.station import Station
from coach.store.journals import read_journal
from tests.debrief.flown import Receiver, path_of, reported, start_of

SOUTH = Station(latitude_deg=-31.9, longitude_deg=115.9, declination_deg=-2.0)


def write_csv(track: Track, path: Path) -> None:
    rows = (
        f"{track.render_utc(at_s)},{lat:.7f},{lon:.7f}\n"
        for at_s, lat, lon in zip(track.time_s.tolist(), track.lat_deg, track.lon_deg, strict=True)
    )
    path.write_text("time_utc,lat,lon\n" + "".join(rows))


@pytest.fixture
def track_file(tmp_path: Path) -> Path:
    """Four miles in on the 270 radial and four out on the 090, by a station in the south."""
    path = path_of(start_of(-4.0, 0.0, 90.0), [("straight", 320.0)])
    write_csv(reported(path, Receiver(), SOUTH), tmp_path / "flown.csv")
    return tmp_path / "flown.csv"


def test_a_track_alone_gives_passages_and_radials_as_json(
    track_file: Path, capsys: pytest.CaptureFixture[str]
):
    assert main(["debrief", "--track", str(track_file), "--station", "-31.9,115.9,-2", "--json"]) == 0
    out = capsys.readouterr()
    told = json.loads(out.out)
    assert out.err == ""
    (passage,) = told["passages"]
    assert passage["distance_nm"] < 0.01
    assert passage["inbound_radial_mag_deg"] == pytest.approx(270.0, abs=0.1)
    assert passage["outbound_radial_mag_deg"] == pytest.approx(90.0, abs=0.1)
    assert [(radial["direction"], round(radial["radial_mag_deg"])) for radial in told["radials"]] == [
        ("inbound", 270),
        ("outbound", 90),
    ]
    assert told["legs"] == []


def test_people_get_a_summary(track_file: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["debrief", "--track", str(track_file), "--station", "-31.9,115.9,-2"]) == 0
    out = capsys.readouterr().out
    assert "A track, 2030-03-17T17:46:40.0Z, 5 minutes, 321 fixes" in out
    assert "270.0" in out
    assert "A training aid" in out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ["--track", "none.gpx", "--station", "1,2,3"],
            "coach: none.gpx: expected a file of positions, got no such file\n",
        ),
        (
            ["--track", "x"],
            "coach: --station: expected LAT,LON,DECLINATION or an ident, to see the track from, got none\n",
        ),
        (["nowhere.jsonl"], "coach: nowhere.jsonl: expected a journal, got no such file\n"),
    ],
)
def test_what_is_missing_is_one_line_and_status_2(
    arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]
):
    assert main(["debrief", *arguments]) == 2
    assert capsys.readouterr().err == message


def test_a_rehearsed_sessions_turns_are_found_where_its_pilot_began_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    journals, flown = tmp_path / "journals", tmp_path / "flown.nmea"
    rehearse = ["rehearse", "eight-spoke", "--typed", "--set", "spokes=1", "--feed", "nmea+udp"]
    assert main([*rehearse, "--feed-out", str(flown), "--journal", str(journals), "--json"]) == 0
    truth_s = [leg["flown_start_s"] for leg in json.loads(capsys.readouterr().out)["legs"]]
    (journal,) = journals.glob("*.jsonl")
    began = read_journal(journal).journal.header.began_utc
    for arguments, form in ((), "session"), (("--track", str(flown)), "nmea"):
        assert main(["debrief", str(journal), *arguments, "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert told["track"]["form"] == form
        assert [leg["leg"] for leg in told["legs"]] == ["outbound", "offset", "reversal", "inbound"]
        assert {leg["how"] for leg in told["legs"]} == {"flown"}
        begun = [
            datetime.fromisoformat(leg["turn"]["start_utc"].replace("Z", "+00:00")) for leg in told["legs"]
        ]
        if form == "session":
            assert [(at - began).total_seconds() for at in begun] == pytest.approx(truth_s, abs=0.6)
        apart = [(at - begun[0]).total_seconds() for at in begun]
        assert apart == pytest.approx([at_s - truth_s[0] for at_s in truth_s], abs=0.6)
        assert len(told["workflow"]) == 4


def test_a_session_is_found_by_name_with_or_without_its_ending_or_as_the_newest(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("coach.cli.debrief_session.journals_folder", lambda: tmp_path)
    assert main(["debrief"]) == 2
    assert capsys.readouterr().err == f"coach: {tmp_path}: expected a journal of a flight, got none\n"
    rehearse = ["rehearse", "eight-spoke", "--typed", "--set", "spokes=1", "--journal", str(tmp_path)]
    assert main([*rehearse, "--json"]) == 0
    (journal,) = tmp_path.glob("*.jsonl")
    capsys.readouterr()
    for named in ([journal.stem], [journal.name], [str(journal)], []):
        assert main(["debrief", *named]) == 0
        out = capsys.readouterr().out
        assert out.startswith("Eight spokes over a VOR, ")
        assert "There is no track: only what was said and when is told." in out
