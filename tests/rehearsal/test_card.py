"""The card holds the legs as published and refuses what the simulated pilot cannot fly."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.drill.model import Ending, TimerFrom
from coach.drill.plan import plan_drill
from coach.errors import DrillError
from coach.nav.wind import Wind
from coach.rehearsal.card import print_card
from tests.drill.eight_spoke import eight_spoke


def test_card_holds_the_legs_as_published_whatever_the_wind():
    calm = print_card(plan_drill(eight_spoke()))
    windy = print_card(plan_drill(eight_spoke(), wind=Wind(from_deg=200, speed_kt=20)))
    assert windy == calm
    assert [leg.heading_mag_deg for leg in calm.legs[:4]] == [240, 195, 15, 60]
    assert calm.arrive_course_mag_deg == 285
    assert calm.timer_from is TimerFrom.TURN


def test_ending_that_he_cannot_fly_to_is_refused_leg_by_leg():
    plan = plan_drill(eight_spoke())
    altered = replace(plan.legs[2].leg, ends_on=Ending.ALTITUDE)
    broken = replace(plan, legs=(*plan.legs[:2], replace(plan.legs[2], leg=altered), *plan.legs[3:]))
    with pytest.raises(DrillError) as caught:
        print_card(broken)
    expected = "leg 3: ends_on: expected passage or time or intercept (to rehearse), got altitude"
    assert str(caught.value) == expected
