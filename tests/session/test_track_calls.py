"""Calls about the track: their form, their band, their spacing, and the moments when none is made."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import pytest

from coach.nav.aircraft import Aircraft
from coach.nav.angles import wrap_deg
from coach.session import prompts
from coach.session.events import SpeechEnded, SpeechStarted
from coach.session.machine import Options
from coach.session.outlook import Role
from coach.session.prompts import Talk
from tests.session.fed import FIRST_S, FedDialogue, flown, planned

PASSAGE = "station passage"
OUTBOUND = 240
PLAN = planned(spokes=1, leg_s=300)
Where = Callable[[float], Aircraft]


def out_on(radial: float, *, out_nm: float = 0.0, heading: float | None = None) -> Where:
    """Straight in on the plan, then out on a radial from the first passage on, at 90 kt."""

    def where(at_s: float) -> Aircraft:
        if at_s <= FIRST_S:
            return flown(PLAN, at_s)
        angle, distance_nm = math.radians(radial), out_nm + (at_s - FIRST_S) * 0.025
        east, north = distance_nm * math.sin(angle), distance_nm * math.cos(angle)
        return Aircraft(east, north, wrap_deg(radial if heading is None else heading), 90.0)

    return where


def outbound(where: Where, **more: object) -> FedDialogue:
    """The first passage said by key as it happens; the needle is then watched on the outbound leg."""
    dialogue = FedDialogue(PLAN, where=where, **more).fly_until(FIRST_S)  # type: ignore[arg-type]
    dialogue.hear(PASSAGE, by="key")
    return dialogue


def needles(dialogue: FedDialogue) -> list[tuple[float, str]]:
    return [(at_s, text) for at_s, text in dialogue.spoken if text.startswith("Needle")]


@pytest.mark.parametrize(
    ("deflection_deg", "dots", "text"),
    [
        (10.0, 5, "Needle right, five dots"),
        (-30.0, 5, "Needle left, five dots"),
        (5.0, 5, "Needle right, two dots"),
        (6.1, 5, "Needle right, three dots"),
        (-5.5, 4, "Needle left, two dots"),
        (-5.5, 2, "Needle left, one dot"),
        (9.0, 2, "Needle right, two dots"),
    ],
)
def test_the_form_is_the_needles_side_and_its_dots(deflection_deg: float, dots: int, text: str):
    assert prompts.needle(deflection_deg, 10.0, dots) == text


def test_ten_seconds_beyond_full_scale_is_called_and_then_once_in_twenty_seconds():
    dialogue = outbound(out_on(OUTBOUND + 12)).fly_until(FIRST_S + 90.0)
    calls = needles(dialogue)
    assert {text for _, text in calls} == {"Needle left, five dots"}
    first_s = calls[0][0]
    # The cone at 2,000 ft is 0.39 NM: 16 s of flight.
    assert FIRST_S + 16.0 <= first_s <= FIRST_S + 20.0
    assert all(later - earlier >= 20.0 for (earlier, _), (later, _) in pairwise(calls))


def test_the_pilot_with_two_dots_a_side_is_told_in_his_dots():
    dialogue = outbound(out_on(OUTBOUND - 12), dots=2).fly_until(FIRST_S + 40.0)
    assert needles(dialogue)[0][1] == "Needle right, two dots"


def test_beyond_half_scale_nothing_is_called_until_the_needle_has_taught_its_zero():
    dialogue = outbound(out_on(OUTBOUND + 8)).fly_until(FIRST_S + 90.0)
    assert needles(dialogue) == []


def taught(zero_deg: float, then_deg: float) -> FedDialogue:
    """Established where the feed sees `zero_deg` right of the needle's centre, taught, then beside it."""

    def where(at_s: float) -> Aircraft:
        radial = OUTBOUND - zero_deg if at_s <= FIRST_S + 60.0 else OUTBOUND - zero_deg - then_deg
        return out_on(radial)(at_s)

    dialogue = outbound(where).fly_until(FIRST_S + 58.0)
    dialogue.hear("needle centered")
    return dialogue


def test_needle_centered_teaches_the_zero_and_calls_begin_at_half_scale():
    dialogue = taught(3.0, 6.0)
    assert dialogue.tones[-1] == "heard"
    assert "needle centered: the receiver is +3.0 degrees off by the feed" in [
        record.what for record in dialogue.records
    ]
    dialogue.fly_until(FIRST_S + 85.0)
    assert [text for _, text in needles(dialogue)] == ["Needle right, three dots"]


def test_the_pilots_needle_is_the_authority():
    # By position 9 degrees off, by his needle 4.5: less than half scale.
    dialogue = taught(4.5, 4.5).fly_until(FIRST_S + 120.0)
    assert needles(dialogue) == []


@pytest.mark.parametrize(("off_deg", "is_legal"), [(5.9, True), (6.2, False), (8.0, False)])
def test_a_needle_may_be_six_degrees_off_and_no_more(off_deg: float, is_legal: bool):
    # V23: 6 degrees airborne are legal.
    dialogue = outbound(out_on(OUTBOUND - off_deg)).fly_until(FIRST_S + 50.0)
    dialogue.hear("needle centered")
    assert dialogue.texts == (
        [] if is_legal else [f"Position and needle differ by {words[round(off_deg)]} degrees"]
    )
    assert ("heard" in dialogue.tones) == is_legal


words = {6: "six", 8: "eight"}


def test_a_needle_that_is_too_far_off_turns_the_calls_off_until_it_is_taught_anew():
    # With the full budget of words, so that it is not this that keeps the calls away.
    options = Options(talk=Talk.FULL)
    dialogue = outbound(out_on(OUTBOUND - 8), options=options).fly_until(FIRST_S + 50.0)
    dialogue.hear("needle centered")
    dialogue.where = out_on(OUTBOUND + 20)
    dialogue.fly_until(FIRST_S + 110.0)
    assert needles(dialogue) == []
    dialogue.where = out_on(OUTBOUND - 2)
    dialogue.fly_until(FIRST_S + 130.0)
    dialogue.hear("needle centered")
    dialogue.where = out_on(OUTBOUND + 20)
    dialogue.fly_until(FIRST_S + 160.0)
    assert len(needles(dialogue)) == 1


def test_needle_centered_is_listened_for_only_where_it_can_teach():
    dialogue = outbound(out_on(OUTBOUND)).fly_until(FIRST_S + 3.0)
    assert "needle centered" not in dialogue.listening
    dialogue.fly_until(FIRST_S + 40.0)
    assert "needle centered" in dialogue.listening
    dialogue.lose()
    assert "needle centered" not in dialogue.listening


def test_a_needle_that_comes_in_is_not_called():
    # On a heading 20 degrees toward the radial, from 14 degrees beside it.
    def where(at_s: float) -> Aircraft:
        start = out_on(OUTBOUND + 14, out_nm=1.0)(FIRST_S + 1.0)
        cut = Aircraft(start.east_nm, start.north_nm, OUTBOUND - 20.0, 90.0)
        return flown(PLAN, at_s) if at_s <= FIRST_S else cut.step(at_s - FIRST_S)

    dialogue = outbound(where).fly_until(FIRST_S + 25.0)
    assert needles(dialogue) == []


def test_no_call_is_made_in_a_turn():
    def where(at_s: float) -> Aircraft:
        start = out_on(OUTBOUND + 40, out_nm=3.0)(FIRST_S + 1.0)
        return flown(PLAN, at_s) if at_s <= FIRST_S else start.step(at_s - FIRST_S, 3.0)

    dialogue = outbound(where).fly_until(FIRST_S + 110.0)
    assert needles(dialogue) == []
    assert dialogue.said("Reverse") == []


def test_no_call_is_made_in_the_cone():
    # At 12,000 ft the cone reaches 2.4 NM out: 94 s.
    dialogue = outbound(out_on(OUTBOUND + 12), height_ft=12_000.0).fly_until(FIRST_S + 92.0)
    assert needles(dialogue) == []


@pytest.mark.parametrize("role", [Role.RECORD])
def test_recorded_only_nothing_is_called(role: Role):
    assert needles(outbound(out_on(OUTBOUND + 12), role=role).fly_until(FIRST_S + 90.0)) == []


def test_the_least_talk_has_no_calls():
    dialogue = outbound(out_on(OUTBOUND + 12), options=Options(talk=Talk.CUE)).fly_until(FIRST_S + 90.0)
    assert needles(dialogue) == []


def test_on_stand_by_nothing_is_called():
    dialogue = outbound(out_on(OUTBOUND + 12)).fly_until(FIRST_S + 10.0)
    dialogue.hear("stand by")
    dialogue.fly_until(FIRST_S + 90.0)
    assert needles(dialogue) == []


def test_nothing_is_called_while_the_pilot_speaks():
    dialogue = outbound(out_on(OUTBOUND + 12)).fly_until(FIRST_S + 12.0)
    dialogue.handle(SpeechStarted(at_s=dialogue.at_s, onset_s=dialogue.at_s))
    dialogue.fly_until(FIRST_S + 23.0)
    assert needles(dialogue) == []
    dialogue.handle(SpeechEnded(at_s=dialogue.at_s, onset_s=dialogue.at_s))
    dialogue.fly_until(FIRST_S + 26.0)
    assert len(needles(dialogue)) == 1


def test_reverse_sensing_is_called_on_a_tracked_leg_flown_the_wrong_way():
    # He should fly out on 240 and flies in on it from 4 NM.
    where = out_on(OUTBOUND, out_nm=4.0, heading=60.0)

    def inward(at_s: float) -> Aircraft:
        if at_s <= FIRST_S:
            return flown(PLAN, at_s)
        start = where(FIRST_S + 0.01)
        return Aircraft(start.east_nm, start.north_nm, 60.0, 90.0).step(at_s - FIRST_S)

    dialogue = outbound(inward).fly_until(FIRST_S + 45.0)
    assert [text for _, text in dialogue.spoken if text.startswith("Reverse")][:1] == ["Reverse sensing"]
    assert dialogue.said("Reverse")[0] >= FIRST_S + 10.0


def test_offset_and_intercept_legs_are_never_called():
    # Both are flown far beside the course that is set, the offset leg at 135 degrees to it.
    plan = planned(spokes=1)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + plan.legs[3].start_s)
    assert needles(dialogue) == []
    assert dialogue.said("Reverse") == []


def test_hold_heading_is_said_once_by_where_the_aircraft_is():
    plan = planned(spokes=1)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + plan.total_s + 3.0)
    passage_s = FIRST_S + plan.total_s
    (held_s,) = dialogue.said("Hold heading")
    assert passage_s - 21.0 <= held_s <= passage_s - 15.0


def test_the_last_mile_has_no_call_but_hold_heading():
    plan = planned(spokes=1)
    passage_s = FIRST_S + plan.total_s

    def where(at_s: float) -> Aircraft:
        aircraft = flown(plan, at_s)
        if at_s < passage_s - 60.0:
            return aircraft
        # From there on 15 degrees beside the inbound radial of 240, straight for the station.
        angle, distance_nm = math.radians(255.0), aircraft.distance_nm
        return Aircraft(distance_nm * math.sin(angle), distance_nm * math.cos(angle), 75.0, 90.0)

    dialogue = FedDialogue(plan, where=where).fly_until(passage_s - 2.0)
    late = [text for at_s, text in dialogue.spoken if at_s > passage_s - 40.0]
    assert late == ["Hold heading"]


def test_calls_leave_the_spokes_budget_to_the_drill():
    dialogue = outbound(out_on(OUTBOUND + 12)).fly_until(FIRST_S + 290.0)
    words = [prompts.count_of_words(text) for _, text in needles(dialogue)]
    # Of forty words the drill itself takes 33 here.
    assert 1 <= len(words) <= 2
