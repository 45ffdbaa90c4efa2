"""Plans that go on otherwise; the spokes of the procedure, worked by hand from 240: 240 015 150 285 …"""

from __future__ import annotations

import pytest

from coach.drill.plan import Plan
from coach.session.altered_plan import has_reversals, with_hold, with_radial, with_reversals_swapped
from tests.session.dialogue import eight_spoke

PLAN = eight_spoke(spokes=3)
INBOUND = 3


def rows(plan: Plan, first: int, last: int) -> list[tuple[str, str, int, int | None, int | None]]:
    legs = [planned.leg for planned in plan.legs[first:last]]
    return [(leg.leg, leg.turn.value, leg.turn_deg, leg.heading_mag_deg, leg.course_mag_deg) for leg in legs]


def test_another_radial_turns_the_spoke_and_the_turns_about_it():
    plan = with_radial(PLAN, INBOUND, 35)
    assert rows(plan, 4, 9) == [
        ("outbound", "left", 25, 35, 35),
        ("offset", "right", 45, 80, 215),
        ("reversal", "left", 180, 260, 215),
        ("inbound", "left", 45, 215, 215),
        ("outbound", "left", 65, 150, 150),
    ]


def test_a_radial_straight_on_has_no_turn():
    plan = with_radial(PLAN, INBOUND, 60)
    assert rows(plan, 4, 5) == [("outbound", "none", 0, 60, 60)]


def test_reversals_swap_sides_on_every_spoke_to_come():
    plan = with_reversals_swapped(PLAN, INBOUND)
    assert rows(plan, 4, 8) == [
        ("outbound", "left", 45, 15, 15),
        ("offset", "left", 45, 330, 195),
        ("reversal", "right", 180, 150, 195),
        ("inbound", "right", 45, 195, 195),
    ]
    assert rows(plan, 9, 10) == [("offset", "right", 45, 195, 330)]


def test_swapped_twice_is_as_before():
    assert with_reversals_swapped(with_reversals_swapped(PLAN, INBOUND), INBOUND) == PLAN


def test_a_hold_is_flown_once_round_before_the_next_spoke():
    plan = with_hold(PLAN, INBOUND)
    assert rows(plan, 4, 7) == [
        ("hold_outbound", "right", 180, 240, 60),
        ("hold_inbound", "right", 180, 60, 60),
        ("outbound", "left", 45, 15, 15),
    ]
    assert [planned.leg.n for planned in plan.legs] == list(range(1, 15))


@pytest.mark.parametrize(
    "altered", [with_radial(PLAN, 3, 30), with_reversals_swapped(PLAN, 3), with_hold(PLAN, 3)]
)
def test_what_is_flown_already_stays_as_it_is(altered: Plan):
    assert altered.legs[:3] == PLAN.legs[:3]
    assert altered.legs[3].leg == PLAN.legs[3].leg


def test_after_the_last_spoke_nothing_can_be_altered():
    assert has_reversals(PLAN, 3)
    assert not has_reversals(PLAN, 11)
    assert not has_reversals(PLAN, 4)
