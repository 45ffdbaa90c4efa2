"""Mutated track files of each kind, read and debriefed: a debrief or one clear error, no crash, no hang.

100,000 of each kind with COACH_LONG=1, all of them read and one in ten of those that can be read debriefed.
"""

from __future__ import annotations

import os
import random

import numpy as np
import pytest

from coach.debrief.encoding import encode_debrief
from coach.debrief.make import debrief_track
from coach.errors import TrackError
from coach.fixes.track_cleaning import clean_track
from coach.fixes.track_form import decode_track
from coach.nav.station import Station
from tests.fixes.mutated_bytes import mutate
from tests.fixes.track_files import FILES

MUTATIONS, ONE_IN = (100_000, 10) if os.environ.get("COACH_LONG") else (60, 1)
STATION = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)


def mutate_digits(content: bytes, chance: random.Random) -> bytes:
    """About one digit in a hundred another character of a number: XML stays XML."""
    changed = bytearray(content)
    for i, byte in enumerate(content):
        if 48 <= byte <= 57 and chance.random() < 0.01:
            changed[i] = chance.choice(b"0123456789.-eE:Z ")
    return bytes(changed)


def debriefed(content: bytes, n: int) -> str:
    """What became of the file of that number."""
    try:
        track = decode_track(content, name="any")
    except TrackError as error:
        return str(error)
    if n % ONE_IN == 0:
        encode_debrief(debrief_track(track, STATION))
    return ""


@pytest.mark.parametrize("form", FILES)
def test_mutated_files_are_debriefed_or_refused(form: str):
    chance = random.Random(8)
    contents = ((mutate_digits if n % 3 else mutate)(FILES[form], chance) for n in range(MUTATIONS))
    refused = [told for n, content in enumerate(contents) if (told := debriefed(content, n))]
    assert all(told.startswith("any") for told in refused)
    assert len(refused) < MUTATIONS


def test_fixes_a_century_apart_take_no_time():
    n = 400
    track = clean_track(
        "csv",
        name="t",
        posix_s=np.linspace(-2.0e9, 7.0e9, n),
        lat_deg=np.linspace(-80.0, 80.0, n),
        lon_deg=np.linspace(-179.0, 179.0, n),
        given={},
    )
    debrief = debrief_track(track, STATION)
    assert (debrief.passages, debrief.radials, debrief.turns) == ((), (), ())


def test_noise_for_a_flight_is_no_flight():
    chance = np.random.default_rng(4)
    n = 3000
    track = clean_track(
        "csv",
        name="t",
        posix_s=np.cumsum(chance.exponential(1.0, n)),
        lat_deg=chance.uniform(-90.0, 90.0, n),
        lon_deg=chance.uniform(-180.0, 180.0, n),
        given={
            "heading_mag_deg": chance.uniform(0.0, 360.0, n),
            "airspeed_kt": chance.uniform(0.0, 300.0, n),
        },
    )
    assert debrief_track(track, STATION).radials == ()
