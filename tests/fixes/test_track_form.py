"""Every form of file, told by what it holds, gives the same flight."""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from coach.errors import TrackError
from coach.fixes.track_form import decode_track, find_form
from tests.fixes.mutated_bytes import mutate
from tests.fixes.track_files import FILES, N

SHARED = Path(os.environ.get("COACH_SHARED", "nowhere")) / "data"
MUTATIONS = 150
"""Of each form; `tests/debrief/test_mutations.py` reads 100,000 with COACH_LONG=1."""


def check_read(content: bytes) -> None:
    """A track, or an error that names the file."""
    try:
        track = decode_track(content, name="any")
    except TrackError as error:
        assert str(error).startswith("any")  # noqa: PT017
        return
    assert (track.time_s[1:] > track.time_s[:-1]).all()
    assert (abs(track.lat_deg) <= 90.0).all()


@pytest.mark.parametrize("form", FILES)
def test_each_form_is_told_by_its_content_and_read(form: str):
    track = decode_track(FILES[form], name="any")
    assert (find_form(FILES[form]), track.form) == (form, form)
    assert len(track) == N
    assert track.time_s[-1] == N - 1
    assert track.notes == ()
    assert track.has_date == (form != "gdl90")


@pytest.mark.parametrize("form", FILES)
def test_mutated_files_give_a_track_or_one_clear_error(form: str):
    chance = random.Random(7)
    for _ in range(MUTATIONS):
        check_read(mutate(FILES[form], chance))


@pytest.mark.parametrize("form", FILES)
def test_a_file_cut_anywhere_gives_a_track_or_one_clear_error(form: str):
    content = FILES[form]
    for end in range(0, len(content), max(1, len(content) // 60)):
        check_read(content[:end])


@pytest.mark.parametrize("content", [b"", b"hello\n", b"\x00\x01\x02" * 30, b"\xff\xfe<\x00"])
def test_what_is_no_track_is_refused_in_one_line(content: bytes):
    with pytest.raises(TrackError) as error:
        decode_track(content, name="x.bin")
    (problem,) = error.value.problems
    assert str(problem).startswith("x.bin:1: expected GPX, IGC, an NMEA 0183 log, a GDL 90 capture, or CSV")


@pytest.mark.skipif(not SHARED.is_dir(), reason=f"needs COACH_SHARED, no {SHARED}")
@pytest.mark.parametrize("name", ["ajaccio", "guatemala", "liege_sprimont", "monastir", "perth"])
def test_real_flights_read_whole(name: str):
    content = (SHARED / "tracks" / f"{name}.csv").read_bytes()
    assert len(decode_track(content, name=name)) == content.count(b"\n") - 1


@pytest.mark.skipif(not SHARED.is_dir(), reason=f"needs COACH_SHARED, no {SHARED}")
def test_real_igc_files_read_and_a_broken_line_costs_itself():
    for path in sorted((SHARED / "igc").glob("*.igc")):
        track = decode_track(path.read_bytes(), name=path.name)
        assert track.form == "igc"
        assert len(track) >= 8
