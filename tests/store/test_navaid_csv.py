"""The open navaid CSV format; its stations here are invented and stand in the middle of an ocean."""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import SettingsError
from coach.nav.navaid import Navaid
from coach.store.navaid_csv import parse_navaids, render_navaids

WORLD = Path(os.environ.get("COACH_SHARED", "nowhere")) / "data" / "navaids" / "ourairports_navaids.csv"

HEADER = (
    "id,ident,name,type,frequency_khz,latitude_deg,longitude_deg,elevation_ft,iso_country,"
    "slaved_variation_deg,magnetic_variation_deg\n"
)
GOOD = '1,QQQ,"Nowhere, Deep",VOR-DME,113000,-40.0,-110.0,,ZZ,12.267,17.5\n'
NOWHERE = Navaid(
    ident="QQQ", name="Nowhere, Deep", kind="VOR-DME", country="ZZ", frequency_khz=113_000,
    latitude_deg=-40.0, longitude_deg=-110.0, elevation_ft=None, declination_deg=12,
)  # fmt: skip


def parse(*rows: str):
    return parse_navaids("".join((HEADER, *rows)).encode(), "f.csv")


def test_a_vor_is_read_as_it_stands() -> None:
    assert parse(GOOD).navaids == (NOWHERE,)


def test_a_byte_order_mark_and_line_ends_of_windows_are_taken() -> None:
    content = b"\xef\xbb\xbf" + (HEADER + GOOD).replace("\n", "\r\n").encode()
    assert parse_navaids(content, "f.csv").navaids == (NOWHERE,)


@pytest.mark.parametrize(
    ("written", "declination_deg"),
    [("19.011", 19), ("-18.007", -18), ("-0.207", 0), ("0.011", 0), ("", None), ("-48.005", -48)],
)
def test_of_the_declination_only_the_whole_number_counts(written: str, declination_deg: int | None) -> None:
    assert parse(GOOD.replace("12.267", written)).navaids[0].declination_deg == declination_deg


def test_what_no_vor_receiver_can_use_is_counted_and_not_taken() -> None:
    kinds = ("NDB", "TACAN", "DME", "NDB")
    file = parse(GOOD, *(GOOD.replace("VOR-DME", kind) for kind in kinds))
    assert len(file.navaids) == 1
    assert file.others == {"NDB": 2, "TACAN": 1, "DME": 1}
    assert file.left_out == ()


def test_types_that_nobody_knows_are_counted_together() -> None:
    kinds = ("", "\x1b[2J", "VOR/DME")
    assert parse(*(GOOD.replace("VOR-DME", kind) for kind in kinds)).others == {"another type": 3}


def test_stations_that_share_an_ident_are_all_kept() -> None:
    file = parse(GOOD, GOOD.replace("-110.0", "-150.0"))
    assert [navaid.longitude_deg for navaid in file.navaids] == [-110.0, -150.0]


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ("QQQ", "Q?Q", "ident: expected 1 to 4 letters and digits, got 'Q?Q'"),
        ("QQQ", "", "ident: expected 1 to 4 letters and digits, got ''"),
        ("113000", "11300", "frequency_khz: expected a VOR's frequency, 108000 to 117950 kHz, got '11300'"),
        ("113000", "113.0", "frequency_khz: expected whole kHz, got '113.0'"),
        ("113000", "113025", "frequency_khz: expected a VOR's frequency, a multiple of 50 kHz, got '113025'"),
        ("-40.0", "-95", "latitude_deg: expected -90 to 90, got '-95'"),
        ("-40.0", "nan", "latitude_deg: expected -90 to 90, got 'nan'"),
        ("-110.0", "", "longitude_deg: expected -180 to 180, got ''"),
        ("12.267", "east", "slaved_variation_deg: expected -180 to 180, got 'east'"),
        (",ZZ,", ",ZZZ,", "iso_country: expected at most 2 printable characters, got 'ZZZ'"),
        (
            "Nowhere",
            "No\x1bwhere",
            "name: expected at most 80 printable characters, got 'No\\x1bwhere, Deep'",
        ),
    ],
)
def test_a_row_that_cannot_be_used_is_left_out_and_told(old: str, new: str, problem: str) -> None:
    file = parse(GOOD.replace(old, new), GOOD)
    assert file.navaids == (NOWHERE,)
    assert [str(each) for each in file.left_out] == [f"f.csv:2: {problem}"]


def test_every_problem_of_a_row_is_told() -> None:
    file = parse(GOOD.replace("113000", "x").replace("-40.0", "y"))
    assert [each.where for each in file.left_out] == ["f.csv:2: frequency_khz", "f.csv:2: latitude_deg"]


@pytest.mark.parametrize("row", ["1,QQQ\n", GOOD.strip() + ",more\n"])
def test_a_row_of_another_length_is_told(row: str) -> None:
    assert [str(each) for each in parse(row).left_out] == [
        "f.csv:2: expected a value for each column, got fewer or more"
    ]


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "f.csv:1: expected the column 'ident', got columns that begin nothing"),
        (b"a,b\n1,2\n", "f.csv:1: expected the column 'ident', got columns that begin 'a', 'b'"),
        (HEADER.encode() + b"\xff\n", "f.csv:2: expected UTF-8, got the byte 0xff"),
        (HEADER.encode() + b'1,"QQ"Q\n', "f.csv:2: expected CSV, got a fault here"),
    ],
)
def test_what_is_no_such_file_is_refused(content: bytes, problem: str) -> None:
    with pytest.raises(SettingsError) as caught:
        parse_navaids(content, "f.csv")
    assert str(caught.value.problems[0]).startswith(problem)


@given(
    st.builds(
        replace,
        st.just(NOWHERE),
        name=st.text(st.characters(categories=("L", "Nd", "P")), max_size=80),
        latitude_deg=st.floats(-90, 90),
        longitude_deg=st.floats(-180, 180),
        elevation_ft=st.none() | st.floats(-1_500, 30_000),
        declination_deg=st.none() | st.integers(-180, 180),
    )
)
def test_what_is_written_is_read_as_itself(navaid: Navaid) -> None:
    file = parse_navaids(render_navaids((navaid, NOWHERE)).encode(), "f.csv")
    assert file.navaids == (navaid, NOWHERE)


@given(st.binary(max_size=300))
def test_no_bytes_make_anything_but_a_clear_refusal(content: bytes) -> None:
    try:
        problems = parse_navaids(HEADER.encode() + GOOD.encode() + content, "f.csv").left_out
    except SettingsError as error:
        problems = error.problems
    assert all(str(problem).startswith("f.csv:") for problem in problems)


@pytest.mark.skipif(not WORLD.exists(), reason="no navaids/ourairports_navaids.csv in COACH_SHARED")
def test_the_worlds_navaids_are_read() -> None:
    """OurAirports, public domain: 11,008 navaids; 3,653 VORs, 735 of them without a declination."""
    file = parse_navaids(WORLD.read_bytes(), "world.csv")
    assert len(file.navaids) + len(file.left_out) == 3_653
    assert len(file.navaids) + len(file.left_out) + sum(file.others.values()) == 11_008
    assert [problem.got for problem in file.left_out] == ["'11495'", "'111550'", "'-1'"]
    # One of the three left out has a declination; two have none.
    assert 732 <= sum(navaid.declination_deg is None for navaid in file.navaids) <= 735
    idents = Counter(navaid.ident for navaid in file.navaids)
    assert sum(n for n in idents.values() if n > 1) / len(file.navaids) == pytest.approx(0.27, abs=0.01)
