"""The command line as typed: exit statuses, one line for each problem, JSON alone on standard output."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coach.cli import main
from coach.store.drills import drills_folder, list_drills

COMMANDS = ("list", "brief", "rehearse", "fly", "check")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    try:
        status = main(arguments)
    except SystemExit as exit_:
        status = int(exit_.code or 0)
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def test_help_names_every_command(capsys):
    status, out, _ = run(capsys, "--help")
    assert status == 0
    assert all(f"\n    {command}" in out for command in COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_explains_itself(capsys, command: str):
    status, out, _ = run(capsys, command, "--help")
    assert status == 0
    assert "usage: coach" in out


def test_list_names_the_drills_as_json(capsys):
    status, out, _ = run(capsys, "list", "--json")
    assert status == 0
    names = [drill["name"] for drill in json.loads(out)["drills"]]
    assert names == sorted(path.stem for path in drills_folder().glob("*.yaml"))
    assert "eight-spoke" in names
    assert set(json.loads(out)["drills"][0]) == {"name", "title", "source"}


def test_list_tells_every_source_once(capsys):
    status, out, _ = run(capsys, "list")
    assert status == 0
    for drill in list_drills():
        assert drill.title in out
        assert out.count(f": {drill.source}\n") == 1


def test_brief_gives_the_procedures_headings(capsys):
    """Worked by hand from 240 (common practice, no source)."""
    status, out, _ = run(capsys, "brief", "eight-spoke", "--set", "first_outbound=240", "--json")
    legs = json.loads(out)["legs"]
    assert status == 0
    assert [leg["heading_mag_deg"] for leg in legs if leg["leg"] == "outbound"] == [
        240, 15, 150, 285, 60, 195, 330, 105,
    ]  # fmt: skip
    assert [(leg["turn"], leg["heading_mag_deg"]) for leg in legs[:4]] == [
        ("left", 240), ("left", 195), ("right", 15), ("right", 60),
    ]  # fmt: skip
    assert len(legs) == 32


def test_true_wind_is_turned_by_the_stations_declination(capsys):
    station = ("--station", "-40,-110,12")
    _, true, _ = run(capsys, "brief", "eight-spoke", "--wind", "262T/20", *station, "--json")
    _, magnetic, _ = run(capsys, "brief", "eight-spoke", "--wind", "250M/20", *station, "--json")
    assert json.loads(true)["legs"] == json.loads(magnetic)["legs"]


def test_typed_rehearsal_gives_the_designs_json(capsys):
    status, out, err = run(capsys, "rehearse", "eight-spoke", "--typed", "--json", "--seed", "3")
    flown = json.loads(out)
    assert (status, err) == (0, "")
    assert flown["typed"] is True
    assert flown["heard"] == []
    assert len(flown["legs"]) == 32
    assert all(leg["flown_start_s"] is not None for leg in flown["legs"])
    assert 40 * 60 <= flown["simulated_s"] <= 48 * 60


BAD = [
    (("brief", "eight-spok"), "drill: expected the name of a drill (nearest: 'eight-spoke')"),
    (("brief", "no/such/file.yaml"), "no/such/file.yaml"),
    (("brief", "."), "."),
    (("brief", "eight-spoke", "--set", "spokes=0"), "0"),
    (("brief", "eight-spoke", "--set", "first_outbound=400"), "400"),
    (("brief", "eight-spoke", "--set", "spoke=4"), "spokes"),
    (("brief", "eight-spoke", "--set", "spokes"), "--set: expected KEY=VALUE, got 'spokes'"),
    (("brief", "eight-spoke", "--wind", "250"), "--wind: expected DIR/KT"),
    (("brief", "eight-spoke", "--wind", "250/120"), "wind"),
    (("brief", "eight-spoke", "--station", "95,0,0"), "--station: expected LAT,LON,DECLINATION"),
    (("brief", "eight-spoke", "--station", "nan,0,0"), "--station: expected LAT,LON,DECLINATION"),
    (("brief", "eight-spoke", "--tas", "fast"), "--tas"),
    (("rehearse", "eight-spoke", "--talk", "loud"), "--talk"),
    (("rehearse", "eight-spoke", "--typed", "--cabin", "loud"), "--cabin"),
    (("rehearse", "eight-spoke", "--typed", "--seed", "x"), "--seed"),
]


@pytest.mark.parametrize(("arguments", "says"), BAD, ids=[" ".join(arguments) for arguments, _ in BAD])
def test_bad_input_is_told_in_a_line_and_exits_with_two(capsys, arguments: tuple[str, ...], says: str):
    status, out, err = run(capsys, *arguments)
    assert status == 2
    assert says in err
    assert out == ""
    assert "Traceback" not in err
    assert all(line.startswith("coach") for line in err.splitlines())


def test_all_problems_are_told_at_once(capsys):
    arguments = ("--wind", "x", "--tas", "0", "--station", "1,2", "--set", "spokes=0")
    _, _, err = run(capsys, "brief", "eight-spoke", *arguments)
    assert len(err.splitlines()) == 4


def test_file_of_fifty_megabytes_is_refused_unread(capsys, tmp_path: Path):
    path = tmp_path / "big.yaml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    status, _, err = run(capsys, "brief", str(path))
    assert status == 2
    assert len(err.splitlines()) == 1
