"""Surprises as dialogues with the whole session. Spokes from 240: 240, then 015 (worked by hand)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.session.actions import Record
from coach.session.machine import Options
from coach.session.surprised import Surprises
from coach.session.surprises import Limits, Surprise, SurpriseKind
from tests.session.dialogue import Dialogue, eight_spoke

PASSAGE_S = 50.0
LIMITS = Limits(lowest_ft=2000.0, farthest_nm=8.0, is_simulator=True)
INBOUND_I = 3
TOLD_S = PASSAGE_S + 250.0
SECOND_S = PASSAGE_S + 360.0


def inbound(kind: SurpriseKind, limits: Limits = LIMITS, **more: object) -> Dialogue:
    """On the way inbound of spoke 1; the surprise has been told."""
    surprise = Surprise(
        kind=kind, leg_i=INBOUND_I, radial_mag_deg=35 if kind is SurpriseKind.RADIAL else None
    )
    options = Options(surprises=Surprises(planned=(surprise,), limits=limits), **more)  # type: ignore[arg-type]
    dialogue = Dialogue(eight_spoke(), options).wait_until(PASSAGE_S)
    dialogue.hear("station passage")
    dialogue.wait_until(PASSAGE_S + 165)
    dialogue.hear("needle alive")
    return dialogue.wait_until(TOLD_S)


def second_spoke(kind: SurpriseKind, word: str | None = None) -> Dialogue:
    dialogue = inbound(kind)
    if word is not None:
        dialogue.hear(word)
    dialogue.wait_until(SECOND_S)
    dialogue.hear("station passage")
    return dialogue


def told(dialogue: Dialogue) -> list[tuple[float, str]]:
    return [(at_s, text) for at_s, text in dialogue.spoken if text.startswith("Simulated")]


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        (SurpriseKind.RADIAL, "Simulated. New radial, zero three five"),
        (SurpriseKind.REVERSALS, "Simulated. Reversals the other way"),
        (SurpriseKind.HOLD, "Simulated. Hold at the station"),
        (SurpriseKind.TIMER, "Simulated. Timer failed"),
        (SurpriseKind.PANEL, "Simulated. Heading indicator failed"),
    ],
)
def test_each_is_told_inbound_with_the_wings_level(kind: SurpriseKind, text: str):
    ((at_s, said),) = told(inbound(kind))
    assert said == text
    assert PASSAGE_S + 165 + 45 <= at_s <= PASSAGE_S + 345 - 40


def test_another_radial_is_flown():
    dialogue = second_spoke(SurpriseKind.RADIAL)
    assert dialogue.texts == ["Left, zero three five"]
    assert dialogue.shown.course_mag_deg == 35


def test_swapped_reversals_are_flown():
    dialogue = second_spoke(SurpriseKind.REVERSALS).wait_until(SECOND_S + 61)
    assert dialogue.spoken[-1][1] == "Left, three three zero"


def test_a_hold_is_flown_and_the_drill_goes_on_after_it():
    dialogue = second_spoke(SurpriseKind.HOLD)
    assert dialogue.texts == ["Right, two four zero"]
    dialogue.wait_until(SECOND_S + 61)
    assert dialogue.leg == "1 hold_inbound"
    dialogue.wait_until(SECOND_S + 240)
    dialogue.hear("station passage")
    assert dialogue.texts == ["Left, zero one five"]
    assert dialogue.leg == "2 outbound"


def test_a_failed_timer_calls_and_shows_no_time_on_the_next_spoke_and_does_on_the_one_after():
    dialogue = second_spoke(SurpriseKind.TIMER)
    assert dialogue.texts == ["Left, zero one five"]
    assert dialogue.shown.timer_from_s is None
    said = len(dialogue.spoken)
    dialogue.wait_until(SECOND_S + 61)
    assert [text for _, text in dialogue.spoken[said:]] == []
    assert dialogue.leg == "2 outbound"
    dialogue.hear("time")
    assert dialogue.texts == []
    dialogue.hear("next leg")
    assert dialogue.leg == "2 offset"
    dialogue.wait_until(SECOND_S + 121)
    dialogue.hear("next leg")
    dialogue.wait_until(SECOND_S + 168)
    dialogue.hear("needle alive")
    dialogue.wait_until(SECOND_S + 360)
    dialogue.hear("station passage")
    dialogue.wait_until(SECOND_S + 415)
    assert dialogue.shown.timer_from_s is not None
    assert dialogue.spoken[-1][1].startswith("Ten seconds. ")


@pytest.mark.parametrize("kind", [SurpriseKind.RADIAL, SurpriseKind.REVERSALS, SurpriseKind.HOLD])
def test_unable_takes_it_back(kind: SurpriseKind):
    dialogue = inbound(kind)
    assert "unable" in dialogue.listening
    dialogue.hear("unable")
    assert Record(what=f"unable: {kind} cancelled", onset_s=dialogue.at_s) in dialogue.actions
    assert "unable" not in dialogue.listening
    dialogue.wait_until(SECOND_S)
    dialogue.hear("station passage")
    assert dialogue.texts == ["Left, zero one five"]
    dialogue.wait_until(SECOND_S + 61)
    assert dialogue.spoken[-1][1] == "Right, zero six zero"


def test_a_failed_timer_is_taken_back_in_the_middle_of_its_spoke():
    dialogue = second_spoke(SurpriseKind.TIMER).wait_until(SECOND_S + 20)
    dialogue.hear("unable")
    assert dialogue.shown.timer_from_s is not None
    dialogue.wait_until(SECOND_S + 61)
    assert dialogue.spoken[-1][1] == "Right, zero six zero"


def test_unable_without_a_surprise_is_not_listened_for():
    dialogue = Dialogue(eight_spoke()).wait_until(PASSAGE_S)
    assert "unable" not in dialogue.listening
    dialogue.hear("unable", by="key")
    assert dialogue.tones[-1] == "low"


def test_without_altitude_and_distance_none_is_opened_in_an_aircraft():
    assert told(inbound(SurpriseKind.RADIAL, replace(LIMITS, is_simulator=False))) == []


def test_later_surprises_stay_with_their_spokes_after_a_hold():
    planned = (
        Surprise(kind=SurpriseKind.HOLD, leg_i=3),
        Surprise(kind=SurpriseKind.RADIAL, leg_i=11, radial_mag_deg=300),
    )
    options = Options(surprises=Surprises(planned=planned, limits=LIMITS))
    dialogue = Dialogue(eight_spoke(), options)
    dialogue.wait_until(PASSAGE_S)
    dialogue.hear("station passage")
    dialogue.wait_until(PASSAGE_S + 165)
    dialogue.hear("needle alive")
    dialogue.wait_until(TOLD_S)
    assert dialogue.session._to_come[0].leg_i == 13
    dialogue.hear("unable")
    assert dialogue.session._to_come[0].leg_i == 11


def asked_for(at_s: float) -> Dialogue:
    """A surprise planned for the third spoke's way inbound; the instructor presses at that time."""
    planned = (Surprise(kind=SurpriseKind.RADIAL, leg_i=11, radial_mag_deg=300),)
    options = Options(surprises=Surprises(planned=planned, limits=LIMITS))
    dialogue = Dialogue(eight_spoke(), options).wait_until(PASSAGE_S)
    dialogue.hear("station passage")
    dialogue.wait_until(at_s)
    assert "surprise" in dialogue.listening
    dialogue.hear("surprise", by="page")
    dialogue.wait_until(PASSAGE_S + 165)
    dialogue.hear("needle alive")
    return dialogue.wait_until(TOLD_S)


def test_an_instructor_brings_the_next_surprise_forward():
    dialogue = asked_for(PASSAGE_S + 20)
    assert [text for _, text in told(dialogue)] == ["Simulated. New radial, zero three zero"]
    assert "surprise" not in dialogue.listening


def test_without_planned_surprises_the_press_does_nothing():
    dialogue = Dialogue(eight_spoke()).wait_until(PASSAGE_S)
    assert "surprise" not in dialogue.listening
    dialogue.hear("surprise", by="page")
    assert told(dialogue) == []
