"""`coach drill check`, `new` and `schema` as typed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coach.cli import main
from coach.drill.schema import make_schema
from coach.drill.starting_file import render_starting_file
from coach.store.drills import list_drills

MISSPELT = """\
title: A drill
source: common practice, no source
settings:
  heading: {kind: course, default: 360, means: The heading.}
  leg_s: {kind: time, unit: s, range: [20, 300], default: 60, means: The time.}
begins: {by: word, heading: headin}
legs:
  - leg: straight
    turn: none
    headding: previous
    lasts: leg_sec
    ends_on: tiem
"""

TOLD = [
    "6:29: begins.heading: expected the name of a course setting (nearest: 'heading'), got 'headin'",
    "10:5: legs[1].headding: expected a key of a leg (nearest: 'heading'), got 'headding'",
    "11:12: legs[1].lasts: expected turn or the name of a time setting (nearest: 'leg_s'), got 'leg_sec'",
    "12:14: legs[1].ends_on: expected one of passage, time, intercept, heading, established, altitude, "
    "distance, radial, word (nearest: 'time'), got 'tiem'",
]


@pytest.fixture
def misspelt(tmp_path: Path) -> str:
    path = tmp_path / "misspelt.yaml"
    path.write_text(MISSPELT)
    return str(path)


def test_check_tells_every_problem_with_its_place_and_the_nearest_name(capsys, misspelt: str):
    assert main(["drill", "check", misspelt]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.splitlines() == [f"coach: {misspelt}:{told}" for told in TOLD]


def test_check_gives_the_same_as_json(capsys, misspelt: str):
    assert main(["drill", "check", misspelt, "--json"]) == 2
    found = json.loads(capsys.readouterr().out)
    assert [(each["line"], each["column"], each["path"], each["got"]) for each in found["problems"]] == [
        (6, 29, "begins.heading", "'headin'"),
        (10, 5, "legs[1].headding", "'headding'"),
        (11, 12, "legs[1].lasts", "'leg_sec'"),
        (12, 14, "legs[1].ends_on", "'tiem'"),
    ]


def test_check_of_a_missing_file_is_a_problem_without_a_line(capsys):
    assert main(["drill", "check", "no/such.yaml", "--json"]) == 2
    (problem,) = json.loads(capsys.readouterr().out)["problems"]
    assert (problem["line"], problem["path"]) == (None, "no/such.yaml")


def test_check_tells_what_a_good_drill_is(capsys):
    assert main(["drill", "check", "80-260"]) == 0
    out = capsys.readouterr().out
    assert out.splitlines()[0] == "80-260: no problems"
    assert main(["drill", "check", "80-260", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["problems"], found["drill"], found["legs"]) == ([], "80-260", 3)


def test_check_refuses_what_can_never_be_planned(capsys, tmp_path: Path):
    path = tmp_path / "endless.yaml"
    text = MISSPELT.replace("headin}", "heading}").replace("headding", "heading").replace("leg_sec", "leg_s")
    path.write_text(text.replace("ends_on: tiem", "ends_on: word").replace("    lasts: leg_s\n", ""))
    assert main(["drill", "check", str(path)]) == 2
    told = capsys.readouterr().err
    assert told == "coach: leg 1 straight: expected a leg time to plan with, got none, and it ends on word\n"


@pytest.mark.parametrize("name", [listing.name for listing in list_drills()])
def test_every_drill_that_ships_passes_the_check(capsys, name: str):
    assert main(["drill", "check", name]) == 0


def test_new_writes_a_file_that_passes_and_never_over_another(capsys, tmp_path: Path):
    path = tmp_path / "my-drill.yaml"
    assert main(["drill", "new", "my-drill", "--out", str(path)]) == 0
    text = path.read_text("utf-8")
    assert text.startswith("# yaml-language-server: $schema=file:///")
    assert main(["drill", "check", str(path)]) == 0
    capsys.readouterr()
    assert main(["drill", "new", "my-drill", "--out", str(path)]) == 2
    assert capsys.readouterr().err == f"coach: {path}: expected no file there yet, got one\n"
    assert path.read_text("utf-8") == text


@pytest.mark.parametrize(
    ("arguments", "where", "rest"),
    [
        (["My Drill"], "NAME", "a name of small letters, digits, '-' and '_', at most 40, got 'My Drill'"),
        (["mine", "--out", "mine.txt"], "--out", "a name ending in .yaml, got 'mine.txt'"),
        (
            ["mine", "--out", "no/such/mine.yaml"],
            "no/such/mine.yaml",
            "a file that can be written, got no such file or directory",
        ),
    ],
)
def test_new_refuses_in_one_line(capsys, arguments: list[str], where: str, rest: str):
    assert main(["drill", "new", *arguments]) == 2
    assert capsys.readouterr().err == f"coach: {where}: expected {rest}\n"


def test_starting_file_explains_every_key_of_a_leg():
    text = render_starting_file("mine", "drill.schema.json")
    keys = make_schema()["$defs"]["a-leg"]["properties"]
    assert [key for key in keys if f"#   {key}:" not in text] == []
    assert max(map(len, text.splitlines())) <= 110


def test_schema_is_printed_as_it_ships(capsys):
    assert main(["drill", "schema"]) == 0
    assert json.loads(capsys.readouterr().out) == make_schema()


def test_rehearsal_by_feed_alone_says_what_waits_for_a_word(capsys):
    given = ("rehearse", "timed-turns", "--feed", "nmea+udp", "--station", "-40,-110,12")
    assert main(given) == 2
    expected = "--spoken beside it, since the beginning waits for the pilot's word"
    assert capsys.readouterr().err == f"coach: --feed: expected {expected}, got a pilot who says nothing\n"
