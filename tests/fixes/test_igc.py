"""IGC: valid fixes only, midnight, dates old and new, broken lines."""

from __future__ import annotations

import pytest

from coach.errors import TrackError
from coach.fixes.igc import decode_igc
from tests.fixes.track_files import igc

B = "B{time}4000000S11000000W{validity}0061000650\n"


def file(*times: str, head: str = "HFDTE140326\n") -> bytes:
    return ("AXXX001\n" + head + "".join(B.format(time=time, validity="A") for time in times)).encode()


def test_altitudes_are_feet():
    track = decode_igc(igc(), name="f")
    assert track.pressure_altitude_ft is not None
    assert track.pressure_altitude_ft[0] == pytest.approx(610 / 0.3048)
    assert track.geo_altitude_ft is not None
    assert track.geo_altitude_ft[0] == pytest.approx(650 / 0.3048)


def test_midnight_goes_on_to_the_next_day():
    track = decode_igc(file("235958", "235959", "000000", "000001"), name="f")
    assert track.time_s.tolist() == [0.0, 1.0, 2.0, 3.0]
    assert track.render_utc(3.0) == "2026-03-15T00:00:01.0Z"


@pytest.mark.parametrize(
    ("head", "date"),
    [
        ("HFDTEDATE:050822,01\n", "2022-08-05"),
        ("HFDTE160795\n", "1995-07-16"),
        ("HFDTE 050822\n", "2022-08-05"),
    ],
)
def test_the_date_is_read_in_both_forms(head: str, date: str):
    assert decode_igc(file("100000", "100001", head=head), name="f").render_utc(0.0).startswith(date)


def test_without_a_date_there_is_only_a_time_of_day():
    track = decode_igc(file("100000", "100001", head="HFDTE320199\n"), name="f")
    assert track.render_utc(0.0) == "10:00:00.0Z"
    assert track.notes == ("The file names no date: times of day only.",)


def test_invalid_fixes_and_broken_lines_are_left_out_and_told():
    content = (
        file("100000", "100001", "100002") + b"B1000030\n" + B.format(time="100004", validity="V").encode()
    )
    track = decode_igc(content, name="f")
    assert len(track) == 3
    assert track.notes == (
        "Broken B records left out: 1, the first on line 6.",
        "Fixes marked as not valid left out: 1.",
    )


def test_a_file_without_fixes_is_refused():
    with pytest.raises(TrackError, match="at least two fixes"):
        decode_igc(file(), name="f")
