"""A prompt's words are laid beside the card: is it this leg's, another's, or none?"""

from __future__ import annotations

import pytest

from coach.rehearsal.told import as_printed, is_opening, is_standing, is_told
from coach.session import prompts
from tests.drill.eight_spoke import eight_spoke

OUTBOUND, OFFSET, REVERSAL, INBOUND = eight_spoke().legs[:4]


@pytest.mark.parametrize("leg", [OUTBOUND, OFFSET, REVERSAL], ids=lambda leg: leg.leg)
def test_leg_is_told_by_the_coachs_own_prompt_for_it(leg):
    assert is_opening(prompts.checkpoint(leg))
    assert is_told(leg, prompts.checkpoint(leg))
    assert is_told(leg, prompts.way(leg))


def test_inbound_is_told_by_its_course():
    assert is_told(INBOUND, prompts.inbound(INBOUND))
    assert not is_told(INBOUND, "Inbound one niner five")


def test_other_legs_prompt_is_not_this_ones():
    assert not is_told(OFFSET, prompts.checkpoint(REVERSAL))
    assert not is_told(OFFSET, "Left, two four zero")
    assert not is_told(OFFSET, prompts.rejoin(OUTBOUND))


@pytest.mark.parametrize(
    "text",
    [
        prompts.ten_seconds(OFFSET),
        prompts.ready(OUTBOUND),
        prompts.course(OFFSET),
        prompts.HOLD_HEADING,
        prompts.PASSAGE_OVERDUE,
        prompts.EARLY_NEEDLE,
        prompts.CHECK_HEADING_INDICATOR,
        prompts.resumed(OUTBOUND, to_go_s=-12.0),
    ],
)
def test_prompt_that_opens_nothing_is_known(text):
    assert not is_opening(text)


def test_where_the_coach_stands_is_told_from_what_it_opens():
    assert is_standing(prompts.resumed(OFFSET, to_go_s=20.0))
    assert not is_standing(prompts.checkpoint(OFFSET))


def test_leg_is_printed_as_on_the_card():
    assert as_printed(OFFSET) == "spoke 1 offset 195, turns left"
