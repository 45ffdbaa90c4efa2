"""Surprises: repeatable, bounded, told inbound."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from coach.drill.model import Ending
from coach.session.prompts import NEVER_SAID
from coach.session.surprises import (
    FAILURES,
    Limits,
    Surprise,
    SurpriseKind,
    find_altered,
    find_refusal,
    plan_surprises,
)
from tests.session.dialogue import TABLE, eight_spoke

PLAN = eight_spoke()
ALL = tuple(SurpriseKind)
WIDE = Limits(lowest_ft=2000.0, farthest_nm=8.0, is_simulator=True)


def planned(seed: int, limits: Limits = WIDE, kinds: tuple[SurpriseKind, ...] = ALL) -> tuple[Surprise, ...]:
    return plan_surprises(PLAN, kinds, limits, seed=seed)


def test_the_same_number_gives_the_same_and_others_give_others():
    assert planned(7) == planned(7)
    assert len({planned(seed) for seed in range(12)}) > 6


def test_all_kinds_come_up():
    assert {surprise.kind for seed in range(30) for surprise in planned(seed)} == set(ALL)


def test_they_are_told_on_the_way_inbound_and_never_two_in_a_row():
    for seed in range(30):
        legs = [PLAN.legs[surprise.leg_i].leg for surprise in planned(seed)]
        assert 1 <= len(legs) <= 3
        assert all(leg.ends_on is Ending.PASSAGE for leg in legs)
        assert all(after.n - before.n > 4 for before, after in pairwise(legs))


def test_failures_need_a_simulator_or_an_instructor():
    alone = replace(WIDE, is_simulator=False)
    for seed in range(20):
        assert not {surprise.kind for surprise in planned(seed, alone)} & set(FAILURES)
    with_instructor = replace(alone, has_instructor=True)
    assert {one.kind for seed in range(20) for one in planned(seed, with_instructor, FAILURES)} == set(
        FAILURES
    )


def test_nothing_is_planned_that_would_lead_beyond_the_distance():
    assert planned(1, replace(WIDE, farthest_nm=PLAN.reach_nm - 0.5)) == ()
    for seed in range(20):
        for surprise in planned(seed, replace(WIDE, farthest_nm=PLAN.reach_nm + 0.05)):
            altered = find_altered(PLAN, surprise)
            assert altered is not None
            assert altered.reach_nm <= PLAN.reach_nm + 0.05


def test_one_spoke_has_no_room_for_any():
    assert plan_surprises(eight_spoke(spokes=1), ALL, WIDE, seed=1) == ()


@pytest.mark.parametrize(
    ("altitude_ft", "distance_nm", "refusal"),
    [
        (1999.0, 2.0, "below 2000 ft"),
        (2000.0, 8.1, "beyond 8 NM"),
        (2000.0, 8.0, None),
        (None, 2.0, "altitude and distance are not known"),
        (3000.0, None, "altitude and distance are not known"),
    ],
)
def test_none_is_opened_below_the_altitude_or_beyond_the_distance(
    altitude_ft: float | None, distance_nm: float | None, refusal: str | None
):
    alone = replace(WIDE, is_simulator=False)
    assert find_refusal(alone, altitude_ft=altitude_ft, distance_nm=distance_nm) == refusal


def test_an_instructor_may_know_what_the_coach_does_not_but_is_bound_by_what_it_does():
    limits = replace(WIDE, is_simulator=False, has_instructor=True)
    assert find_refusal(limits, altitude_ft=None, distance_nm=None) is None
    assert find_refusal(limits, altitude_ft=1000.0, distance_nm=1.0) == "below 2000 ft"


def test_each_opens_with_simulated_and_holds_no_phrase_of_the_pilot_or_of_atc():
    texts = {surprise.text for seed in range(30) for surprise in planned(seed)}
    ways = [way.lower() for phrase in TABLE.phrases for way in phrase.ways]
    assert all(text.startswith("Simulated. ") for text in texts)
    assert [
        text for text in texts for way in (*ways, *NEVER_SAID) if re.search(rf"\b{way}\b", text.lower())
    ] == []
