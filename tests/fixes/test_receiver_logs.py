"""Logs of real receivers (folder `nmea` of COACH_SHARED; gpsd, BSD-2-Clause), each read to its end.

The table is what the decoder gave when it was written, looked over by hand: `#` lines count as no sentence,
two logs are another maker's binary, two hold sentences of more than 80 characters (RTK receivers).
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from coach.fixes.fix import Fix
from coach.fixes.nmea import SAME_AGAIN, NmeaDecoder
from coach.fixes.nmea_fields import CHECKSUM, NOT_ASCII, NOT_VALID
from coach.fixes.sentences import CUT_OFF, NO_SENTENCE, too_long

SHARED = os.environ.get("COACH_SHARED")
TOO_LONG = too_long(80)
LOGS = {
    "bu303-climbing.log": (0, {NO_SENTENCE: 42, CUT_OFF: 22, CHECKSUM: 2, TOO_LONG: 7, NOT_ASCII: 4}),
    "bu303-moving.log": (0, {NO_SENTENCE: 70, CUT_OFF: 51, NOT_ASCII: 10}),
    "bundg_zeus_9.log": (148, {NO_SENTENCE: 8, SAME_AGAIN: 1}),
    "gp-320fw-2019-04-06-overflow.log": (20, {NO_SENTENCE: 11}),
    "hab-gpspi.log": (3, {NO_SENTENCE: 7}),
    "haicom-305N.log": (68, {NO_SENTENCE: 10, NOT_VALID: 11}),
    "iTrek.log": (35, {NO_SENTENCE: 12, NOT_VALID: 2}),
    "nmea-fuzzy-cases.log": (0, {NO_SENTENCE: 8, TOO_LONG: 28}),
    "nmea-rtk.log": (0, {NO_SENTENCE: 9, TOO_LONG: 244}),
    "sirfstarv-nmea.log": (59, {NO_SENTENCE: 10}),
    "ublox-neo-m9n-nmea.log": (61, {NO_SENTENCE: 11}),
}
"""Fixes and rejects by reason."""

LONG = {"nmea-fuzzy-cases.log": (14, {NO_SENTENCE: 8}), "nmea-rtk.log": (122, {NO_SENTENCE: 9})}
"""The same where 120 characters are allowed."""


@pytest.fixture
def folder() -> Path:
    places = [Path(SHARED) / inner for inner in ("nmea", "data/nmea")] if SHARED else []
    found = next((place for place in places if place.is_dir()), None)
    if found is None:
        pytest.skip("no folder nmea in COACH_SHARED")
    return found


def read(path: Path, longest: int = 80) -> tuple[list[Fix], NmeaDecoder]:
    decoder = NmeaDecoder(longest=longest)
    found = decoder.feed(path.read_bytes(), 0.0) + decoder.flush()
    return [thing for thing in found if isinstance(thing, Fix)], decoder


@pytest.mark.parametrize("name", LOGS)
def test_log_gives_its_fixes_and_rejects(name: str, folder: Path):
    fixes, decoder = read(folder / name)
    assert (len(fixes), decoder.tally.rejected) == LOGS[name]
    assert decoder.tally.n_bytes == (folder / name).stat().st_size


@pytest.mark.parametrize("name", LONG)
def test_receiver_of_long_sentences_is_read_where_they_are_allowed(name: str, folder: Path):
    fixes, decoder = read(folder / name, longest=120)
    assert (len(fixes), decoder.tally.rejected) == LONG[name]


@pytest.mark.parametrize("name", LOGS)
def test_no_fix_lies_at_zero_zero_or_far_from_its_neighbours(name: str, folder: Path):
    fixes, _ = read(folder / name, longest=120)
    assert not [fix for fix in fixes if abs(fix.lat_deg) < 1.0 and abs(fix.lon_deg) < 1.0]
    if fixes:
        assert max(fix.lat_deg for fix in fixes) - min(fix.lat_deg for fix in fixes) < 0.1


@pytest.mark.parametrize("name", LOGS)
def test_every_division_of_a_log_gives_the_same_fixes(name: str, folder: Path):
    whole, _ = read(folder / name)
    content = (folder / name).read_bytes()
    for step in (1, 7, 64, 1000):
        decoder = NmeaDecoder()
        parts = (content[n : n + step] for n in range(0, len(content), step))
        found = [thing for part in parts for thing in decoder.feed(part, 0.0)] + list(decoder.flush())
        assert [thing for thing in found if isinstance(thing, Fix)] == whole


def test_every_log_of_the_folder_is_in_the_table(folder: Path):
    assert {path.name for path in folder.glob("*.log")} == set(LOGS)
