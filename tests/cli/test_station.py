"""`coach station` and `--station IDENT` as typed; the stations are invented, in the middle of an ocean."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coach.cli import main
from coach.store import stations

FILE = """\
id,ident,name,type,frequency_khz,latitude_deg,longitude_deg,elevation_ft,iso_country,slaved_variation_deg
1,QQQ,Nowhere Deep,VOR-DME,113000,-40.0,-110.0,,,12.267
2,QQQ,Nowhere Deeper,VOR,114200,-45.5,-120.25,,,19.001
3,ZZQ,Blank Water,VORTAC,110200,-30.0,-100.0,0,,
4,ZQ,Odd Tenths,VOR,110100,-30.5,-100.0,0,,1.0
5,ZX,Beacon,NDB,373,-30.5,-100.0,0,,1.0
6,WET,Alone,VOR,115000,-20.0,-120.0,0,,9.011
"""


@pytest.fixture(autouse=True)
def table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "kept" / "stations.csv"
    monkeypatch.setattr(stations, "stations_path", lambda: path)
    return path


@pytest.fixture
def file(tmp_path: Path) -> str:
    path = tmp_path / "navaids.csv"
    path.write_text(FILE)
    return str(path)


@pytest.fixture
def imported(file: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["station", "import", file]) == 0
    capsys.readouterr()


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(arguments)
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def brief(capsys: pytest.CaptureFixture[str], station: str) -> tuple[int, str, str]:
    return run(capsys, "brief", "eight-spoke", "--set", "spokes=1", "--station", station, "--json")


def test_import_tells_what_it_took_and_what_it_left_out(capsys, file: str, table: Path):
    status, out, err = run(capsys, "station", "import", file)
    assert (status, err) == (0, "")
    assert out.splitlines() == [
        f"4 stations in {table}",
        "1 of them without a declination: give it with the position, from a chart",
        "Not taken, since no VOR: 1 NDB",
        "Declinations in such a file can be many years old: check yours against a current chart",
        "Left out",
        f"- {file}:5: frequency_khz: expected a VOR's frequency, below 112 MHz with even tenths "
        "(odd ones are a localizer's), got '110100'",
    ]


def test_import_gives_json_alone(capsys, file: str, table: Path):
    status, out, err = run(capsys, "station", "import", file, "--json")
    summary = json.loads(out)
    assert (status, err) == (0, "")
    assert (summary["table"], summary["stations"], summary["without_declination"]) == (str(table), 4, 1)
    assert len(summary["left_out"]) == 1
    assert summary["others"] == {"NDB": 1}


def test_a_file_without_a_vor_leaves_the_table_as_it_was(capsys, tmp_path: Path, imported, table: Path):
    before = table.read_text()
    path = tmp_path / "none.csv"
    path.write_text(FILE.splitlines()[0] + "\n")
    status, _, err = run(capsys, "station", "import", str(path))
    assert (status, err) == (2, f"coach: {path}: expected at least one VOR that can be used, got none\n")
    assert table.read_text() == before


def test_find_lists_all_that_share_an_ident(capsys, imported):
    status, out, _ = run(capsys, "station", "find", "qqq")
    assert status == 0
    assert out.splitlines() == [
        "QQQ@-40.0,-110.0  Nowhere Deep, VOR-DME 113.00 MHz, declination 12 E, --.- --.- --.-",
        "QQQ@-45.5,-120.2  Nowhere Deeper, VOR 114.20 MHz, declination 19 E, --.- --.- --.-",
        "2 stations share the ident: give --station as the line of the one you mean begins.",
    ]


def test_find_puts_the_nearest_first(capsys, imported):
    _, out, _ = run(capsys, "station", "find", "QQQ", "--near", "-46,-120", "--json")
    found = json.loads(out)["stations"]
    assert [station["name"] for station in found] == ["Nowhere Deeper", "Nowhere Deep"]
    # By the flat earth: 30.0 NM of latitude and 10.5 of longitude.
    assert found[0]["distance_nm"] == pytest.approx(31.8, abs=0.2)


def test_every_line_of_find_can_be_given_as_it_begins(capsys, imported):
    _, out, _ = run(capsys, "station", "find", "QQQ")
    for choice, name in zip(out.splitlines()[:2], ("Nowhere Deep", "Nowhere Deeper"), strict=True):
        status, briefing, _ = brief(capsys, choice.split()[0])
        assert status == 0
        assert json.loads(briefing)["station"]["name"] == name


def test_an_ident_alone_is_enough_where_nothing_shares_it(capsys, imported):
    status, out, _ = brief(capsys, "wet")
    station = json.loads(out)["station"]
    assert status == 0
    assert (station["ident"], station["declination_deg"]) == ("WET", 9.0)


def test_an_ident_and_its_place_give_the_same_plan(capsys, imported):
    by_ident, by_place = (
        run(capsys, "brief", "eight-spoke", "--wind", "250T/20", "--station", text, "--json")[1]
        for text in ("WET", "-20,-120,9")
    )
    assert json.loads(by_ident)["legs"] == json.loads(by_place)["legs"]


def test_rehearse_takes_an_ident(capsys, imported):
    status, out, err = run(
        capsys, "rehearse", "eight-spoke", "--set", "spokes=1", "--station", "WET",
        "--feed", "nmea+udp", "--json",
    )  # fmt: skip
    assert (status, err) == (0, "")
    assert json.loads(out)["legs"]


@pytest.mark.parametrize(
    ("station", "line"),
    [
        (
            "QQQ",
            "expected one station, chosen as IDENT@LAT,LON, got 'QQQ', which 2 share: "
            "QQQ@-40.0,-110.0 (Nowhere Deep), QQQ@-45.5,-120.2 (Nowhere Deeper)",
        ),
        (
            "ZZQ",
            "expected -30.0000,-100.0000,DECLINATION with the station's declination from a chart, "
            "got ZZQ (Blank Water), for which the table has none",
        ),
        ("QQZ", "expected an ident of your table of stations (nearest: 'QQQ'), got 'QQZ'"),
        ("QQQ@x", "expected LAT,LON in degrees such as -40,-110 behind the @, got 'QQQ@x'"),
        ("QQQ@95,0", "expected LAT,LON in degrees such as -40,-110 behind the @, got 'QQQ@95,0'"),
        (
            "-40,-110",
            "expected LAT,LON,DECLINATION in degrees such as -40,-110,12, or an ident "
            "(ABC or ABC@-40,-110), got '-40,-110'",
        ),
    ],
)
def test_a_station_that_is_not_one_is_one_clear_line(capsys, imported, station: str, line: str):
    assert brief(capsys, station) == (2, "", f"coach: --station: {line}\n")


def test_a_place_far_from_every_station_of_the_ident_is_refused(capsys, imported):
    status, _, err = brief(capsys, "QQQ@10,10")
    assert status == 2
    assert err.startswith(
        "coach: --station: expected a place within 150 NM of a station QQQ, got 'QQQ@10,10', "
    )
    assert err.endswith("NM from the nearest (QQQ@-40.0,-110.0 (Nowhere Deep))\n")


def test_a_bad_place_for_find_is_one_clear_line(capsys, imported):
    status, _, err = run(capsys, "station", "find", "QQQ", "--near", "here")
    assert status == 2
    assert err == "coach: --near: expected LAT,LON in degrees such as -40,-110, got 'here'\n"


@pytest.mark.parametrize(
    "arguments", [("station", "find", "QQQ"), ("brief", "eight-spoke", "--station", "QQQ")]
)
def test_without_a_table_the_remedy_is_named(capsys, arguments: tuple[str, ...]):
    status, out, err = run(capsys, *arguments)
    assert (status, out) == (3, "")
    assert err == (
        "coach: There is no table of stations on this machine: `coach station import FILE` makes it.\n"
    )


def test_brief_shows_the_station_where_one_is_given(capsys, imported):
    _, out, _ = run(capsys, "brief", "eight-spoke", "--station", "QQQ@-40,-110", "--height-ft", "3000")
    assert "- QQQ (Nowhere Deep), VOR-DME 113.00 MHz, ident --.- --.- --.-\n" in out
    assert "radius 0.59 NM, 47 s across at 90 kt\n" in out
    assert "Check the declination against a current chart." in out


def test_brief_without_a_station_says_nothing_of_one(capsys):
    _, out, _ = run(capsys, "brief", "eight-spoke", "--json")
    assert "station" not in json.loads(out)
