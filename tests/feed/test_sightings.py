"""What was seen of a feed, counted."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from coach.feed.sightings import MOST_LOSSES, Sightings, encode_sightings
from coach.fixes.continuity import Lost
from coach.fixes.tally import Tally
from tests.fixes.samples import flight


def seen(*skipped: int, count: int = 20) -> Sightings:
    sightings = Sightings()
    for n, fix in enumerate(flight(count)):
        if n not in skipped:
            sightings.take((fix,), fix.at_s)
    return sightings


def test_nothing_seen_is_none_and_not_zero():
    nothing = Sightings()
    assert (nothing.last, nothing.fixes_per_s, nothing.longest_gap_s) == (None, None, None)
    assert seen(count=1).fixes_per_s is None


def test_rate_is_that_between_the_first_and_the_last_fix():
    assert seen().fixes_per_s == pytest.approx(1.0)
    assert seen(7, 8, 9).n_fixes == 17


def test_lost_fixes_are_gaps_and_a_steady_feed_has_none():
    assert (seen().n_gaps, seen().longest_gap_s) == (0, 1.0)
    gappy = seen(5, 9, 10)
    assert (gappy.n_gaps, gappy.longest_gap_s) == (2, 3.0)


@pytest.mark.parametrize(("is_replay", "arrived_s"), [(True, 0.01), (False, 1.0)])
def test_gaps_of_a_replay_are_the_recordings_and_those_of_a_live_feed_its_arrivals(
    is_replay, arrived_s: float
):
    """The other clock of each has no gap."""
    sightings = Sightings(is_replay=is_replay)
    for n, fix in enumerate(flight(20)):
        skipped = 2 if n > 5 else 0
        own_s = 34_200.0 + n + (skipped if is_replay else 0)
        at_s = (n + (0 if is_replay else skipped)) * arrived_s
        sightings.take((replace(fix, at_s=at_s, utc_of_day_s=own_s),), at_s)
    assert (sightings.n_gaps, sightings.longest_gap_s) == (1, 3.0)


def test_fields_are_counted_with_their_latest_value():
    given = seen(count=3).given
    assert given["ground_speed_kt"] == (3, 90.0)
    assert "heading_mag_deg" not in given


def test_losses_are_kept_up_to_a_number_and_counted_beyond():
    sightings = Sightings()
    for n in range(MOST_LOSSES + 5):
        sightings.take((Lost(reason="silent", since_s=0.0),), float(n))
    assert (len(sightings.losses), sightings.n_losses) == (MOST_LOSSES, MOST_LOSSES + 5)


def test_everything_is_json():
    tally = Tally()
    tally.reject("checksum", b"$GP\xff", 0.0)
    told = json.loads(json.dumps(encode_sightings(seen(), tally, {"jumping": 2}, 20.0), allow_nan=False))
    assert told["rejected"] == {"checksum": {"count": 1, "last": "$GP\\xff"}}
    assert told["fields"]["utc"]["last"] == "2031-05-04T09:30:19+00:00"
    assert (told["fixes"], told["not_believed"], told["gaps"]) == (
        20,
        {"jumping": 2},
        {"count": 0, "longest_s": 1.0},
    )
