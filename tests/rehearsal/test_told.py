"""A prompt's words are laid beside the card: is it this leg's, another's, or none?"""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.drill.model import Turn
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


KEEPS = replace(OUTBOUND, spoke=None, turn=Turn.NONE, turn_deg=0, heading_mag_deg=90)
OWN = replace(KEEPS, says="Up phase")


def test_heading_alone_opens_a_leg_that_keeps_it():
    assert is_opening("Zero niner zero")
    assert is_told(KEEPS, "Zero niner zero")
    assert is_told(KEEPS, "Level")
    assert not is_told(KEEPS, "One niner zero")
    assert not is_told(OFFSET, "One niner five")


def test_words_of_the_card_open_their_leg_only():
    assert not is_opening("Up phase")
    assert is_opening("Up phase", {"Up phase"})
    assert is_told(OWN, "Up phase")
    assert not is_told(OWN, "Down phase")
    assert not is_told(OWN, "Zero niner zero")


def test_course_that_answers_the_needle_opens_a_leg_of_any_name():
    final = replace(INBOUND, leg="final")
    assert is_opening(prompts.inbound(final), {"final"})
    assert is_told(final, prompts.inbound(final))
    assert not is_opening("Outbound leg, twenty to go", {"outbound"})


def test_lap_is_printed_as_on_the_card():
    assert as_printed(replace(KEEPS, lap=2)) == "lap 2 outbound 090"
