"""The card holds the legs as published, and nothing the pilot must find out himself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.drill.model import Ending, TimerFrom
from coach.drill.plan import plan_drill
from coach.nav.wind import Wind
from coach.rehearsal.card import find_word_needed, print_card
from coach.store.drills import read_drill
from tests.drill.eight_spoke import eight_spoke


def test_card_holds_the_legs_as_published_whatever_the_wind():
    calm = print_card(plan_drill(eight_spoke()))
    windy = print_card(plan_drill(eight_spoke(), wind=Wind(from_deg=200, speed_kt=20)))
    assert windy == calm
    assert [leg.heading_mag_deg for leg in calm.legs[:4]] == [240, 195, 15, 60]
    assert calm.arrive_course_mag_deg == 285
    assert calm.timer_from is TimerFrom.TURN


def test_card_says_what_begins_the_drill():
    assert print_card(plan_drill(eight_spoke())).begins_on is Ending.PASSAGE
    worded = replace(eight_spoke(), begins_on=Ending.WORD)
    assert print_card(plan_drill(worded)).begins_on is Ending.WORD


@pytest.mark.parametrize(
    ("name", "waiting"),
    [
        ("eight-spoke", None),
        ("hold-station", None),
        ("timed-turns", "the beginning"),
        ("dme-arc", "the beginning"),
    ],
)
def test_what_waits_for_a_word_though_the_feed_is_seen_is_known(name: str, waiting: str | None):
    assert find_word_needed(plan_drill(read_drill(name, {}))) == waiting


def test_leg_that_ends_on_an_altitude_waits_for_a_word():
    plan = plan_drill(eight_spoke())
    altered = replace(plan.legs[1].leg, ends_on=Ending.ALTITUDE)
    changed = replace(plan, legs=(plan.legs[0], replace(plan.legs[1], leg=altered), *plan.legs[2:]))
    assert find_word_needed(changed) == "leg 2 offset"
