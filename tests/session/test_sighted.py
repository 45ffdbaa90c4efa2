"""What a sighting makes of the drill's standing, value by value."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.session.checkpoints import Seen, Sighting
from coach.session.progress import Progress, State
from coach.session.sighted import corrected, moved
from tests.session.fed import planned

PLAN = planned(spokes=2)
ARRIVING = Progress(state=State.ARRIVING)
COMPLETE = Progress(state=State.COMPLETE, leg_i=7)


def on_leg(leg_i: int, begun_s: float = 100.0) -> Progress:
    return Progress(
        state=State.FLYING, leg_i=leg_i, begun_s=begun_s, clock_from_s=begun_s, clock_reads_s=60.0
    )


def sighting(what: Seen, onset_s: float = 160.0, track: float | None = None) -> Sighting:
    return Sighting(what=what, onset_s=onset_s, track_mag_deg=track)


@pytest.mark.parametrize(
    ("leg_i", "what", "then_i"),
    [
        (0, Seen.PASSAGE, None),
        (0, Seen.LEVEL, None),
        (1, Seen.ALIVE, None),
        (1, Seen.PASSAGE, None),
        (2, Seen.ALIVE, 3),
        (2, Seen.LEAD, 3),
        (2, Seen.ESTABLISHED, None),
        (3, Seen.ALIVE, None),
        (3, Seen.PASSAGE, 4),
    ],
)
def test_a_sighting_ends_only_the_leg_that_waits_for_it(leg_i: int, what: Seen, then_i: int | None):
    fresh = moved(PLAN, on_leg(leg_i), sighting(what))
    assert (None if fresh is None else fresh.leg_i) == then_i


def test_a_passage_ends_the_reversal_and_the_inbound_leg_that_nobody_saw():
    fresh = moved(PLAN, on_leg(2), sighting(Seen.PASSAGE))
    assert fresh is not None
    assert (fresh.leg_i, fresh.begun_s, fresh.clock_from_s) == (4, 160.0, 160.0)


def test_a_passage_is_where_it_is_though_the_leg_before_it_began_later():
    fresh = moved(PLAN, on_leg(3, begun_s=161.0), sighting(Seen.PASSAGE))
    assert fresh is not None
    assert fresh.begun_s == 160.0


def test_what_was_seen_before_the_leg_began_begins_the_next_with_it():
    fresh = moved(PLAN, on_leg(2, begun_s=161.0), sighting(Seen.ALIVE))
    assert fresh is not None
    assert fresh.begun_s == 161.0


@pytest.mark.parametrize(
    ("track", "is_rejoin"), [(None, False), (285.0, False), (325.0, False), (20.0, True)]
)
def test_the_turn_is_known_only_where_the_aircraft_arrives_as_planned(track: float | None, is_rejoin: bool):
    fresh = moved(PLAN, ARRIVING, sighting(Seen.PASSAGE, track=track))
    assert fresh is not None
    assert fresh.is_rejoin == is_rejoin


@pytest.mark.parametrize("what", list(Seen))
def test_after_the_last_passage_nothing_moves_or_corrects(what: Seen):
    assert moved(PLAN, COMPLETE, sighting(what)) is None
    assert corrected(PLAN, COMPLETE, sighting(what), by_feed=False) is None


@pytest.mark.parametrize("what", [what for what in Seen if what is not Seen.PASSAGE])
def test_on_the_way_to_the_station_only_its_passage_counts(what: Seen):
    assert moved(PLAN, ARRIVING, sighting(what)) is None


def test_the_timer_of_a_leg_begun_by_word_runs_from_the_passage():
    fresh = corrected(PLAN, on_leg(0, begun_s=162.0), sighting(Seen.PASSAGE), by_feed=False)
    assert fresh is not None
    assert (fresh.begun_s, fresh.clock_from_s) == (160.0, 160.0)


@pytest.mark.parametrize(("leg_i", "by_feed"), [(0, True), (1, False), (3, False)])
def test_no_other_leg_is_corrected_by_a_passage(leg_i: int, by_feed: bool):
    assert corrected(PLAN, on_leg(leg_i), sighting(Seen.PASSAGE), by_feed=by_feed) is None


def test_established_is_kept_once_on_the_leg_to_the_station():
    fresh = corrected(PLAN, on_leg(3), sighting(Seen.ESTABLISHED), by_feed=True)
    assert fresh is not None
    assert fresh.established_s == 160.0
    assert corrected(PLAN, fresh, sighting(Seen.ESTABLISHED, 170.0), by_feed=True) is None
    assert corrected(PLAN, on_leg(0), sighting(Seen.ESTABLISHED), by_feed=True) is None


def test_wings_level_as_said_stands():
    said = replace(on_leg(0), level_s=158.0)
    assert corrected(PLAN, said, sighting(Seen.LEVEL), by_feed=False) is None
    seen = corrected(PLAN, on_leg(0), sighting(Seen.LEVEL), by_feed=False)
    assert seen is not None
    assert seen.level_s == 160.0
