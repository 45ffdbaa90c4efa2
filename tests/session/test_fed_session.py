"""A session with a feed, as a dialogue: fixes on one side, words on the other, and never twice the same."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from coach.nav.aircraft import Aircraft
from coach.nav.wind import Wind
from coach.nav.wind_estimate import difference_kt
from coach.session.actions import Action, Record, Say, Silence
from coach.session.events import FeedLost, SpeechEnded, SpeechStarted
from coach.session.machine import Options
from coach.session.outlook import Role
from coach.session.prompts import Talk
from tests.session.fed import FIRST_S, FedDialogue, flown, planned

WIND = Wind(from_deg=250.0, speed_kt=25.0)
PASSAGE = "station passage"


def at_outbound(**more: object) -> FedDialogue:
    """Three seconds after the first passage."""
    return FedDialogue(planned(spokes=2), **more).fly_until(FIRST_S + 3.0)  # type: ignore[arg-type]


# ---- the feed decides


def test_passage_moves_the_drill_without_a_word_and_is_dated_back():
    dialogue = at_outbound()
    assert dialogue.leg == "1 outbound"
    assert dialogue.seen(PASSAGE) == [pytest.approx(FIRST_S, abs=0.05)]
    assert dialogue.said("Left, two four zero") == [pytest.approx(FIRST_S + 2.3, abs=0.3)]


def test_the_leg_timer_runs_from_the_event_not_from_its_sighting():
    dialogue = at_outbound()
    assert dialogue.shown.timer_from_s == pytest.approx(FIRST_S, abs=0.05)
    dialogue.fly_until(FIRST_S + 62.0)
    assert dialogue.said("Left, one niner five") == [pytest.approx(FIRST_S + 60.0, abs=0.05)]


@pytest.mark.parametrize("every_s", [0.2, 1.0, 2.0, 5.0])
def test_the_whole_drill_is_flown_by_feed_alone(every_s: float):
    plan = planned(WIND)
    dialogue = FedDialogue(plan, told=planned()).fly_until(FIRST_S + plan.total_s + 12.0, every_s=every_s)
    passages = [FIRST_S] + [FIRST_S + leg.end_s for leg in plan.legs if leg.leg.leg == "inbound"]
    assert dialogue.seen(PASSAGE) == pytest.approx(passages, abs=1.0)
    assert dialogue.leg == "complete"
    assert dialogue.said("Drill complete") != []


def test_needle_alive_is_dated_when_the_needle_left_the_stop():
    plan = planned(spokes=1)
    reversal = plan.legs[2]
    assert reversal.needle_alive_s is not None
    dialogue = FedDialogue(plan).fly_until(FIRST_S + reversal.end_s)
    alive_s = max(reversal.needle_alive_s, reversal.start_s + reversal.turn_s / 2)
    assert dialogue.seen("needle alive") == [pytest.approx(FIRST_S + alive_s, abs=1.0)]
    assert dialogue.said("Inbound zero six zero") != []


def test_needle_alive_is_never_seen_on_the_offset_leg():
    plan = planned(WIND)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + plan.total_s)
    half_ways = [
        (FIRST_S + leg.start_s + leg.turn_s / 2, FIRST_S + leg.end_s)
        for leg in plan.legs
        if leg.leg.leg == "reversal"
    ]
    alive = dialogue.seen("needle alive") + dialogue.seen("lead point")
    assert len(alive) == 8
    for at_s, (half_way_s, end_s) in zip(sorted(alive), half_ways, strict=True):
        assert half_way_s - 1.5 <= at_s <= end_s + 1.5


def test_where_the_needle_never_pegs_the_lead_point_is_the_checkpoint():
    # Outbound near three minutes: the needle goes to 9.5 degrees only (procedure, nil wind).
    plan = planned(spokes=1, leg_s=190)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + plan.legs[3].start_s + 3.0)
    assert dialogue.seen("needle alive") == []
    assert dialogue.seen("lead point") == [pytest.approx(FIRST_S + plan.legs[3].start_s, abs=1.5)]
    assert dialogue.leg == "1 inbound"


def test_established_is_seen_after_needle_alive_and_says_nothing():
    plan = planned(spokes=1)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + plan.legs[3].start_s + 40.0)
    established = [at_s for at_s in dialogue.seen("established") if at_s > FIRST_S + plan.legs[2].start_s]
    assert established == [pytest.approx(FIRST_S + plan.legs[3].established_s, abs=12.0)]
    assert dialogue.session.progress.established_s == established[0]
    (sighted,) = [
        actions
        for event, actions in dialogue.all
        if event.at_s > established[0] and any(is_established(action) for action in actions)
    ]
    assert not any(isinstance(action, Say | Silence) for action in sighted)


def is_established(action: Action) -> bool:
    return isinstance(action, Record) and action.what == "seen: established"


def test_wings_level_restarts_a_timer_that_counts_from_it():
    plan = planned(spokes=1, timer_from="level")
    dialogue = FedDialogue(plan).fly_until(FIRST_S + 40.0)
    level_s = FIRST_S + plan.legs[0].turn_s
    assert dialogue.seen("wings level") == [pytest.approx(level_s, abs=2.0)]
    assert dialogue.shown.timer_from_s == dialogue.seen("wings level")[0]


def test_heading_reached_is_seen_with_a_heading_or_a_known_wind_only():
    plan = planned(spokes=1)
    offset = plan.legs[1]
    without = FedDialogue(plan).fly_until(FIRST_S + offset.end_s - 10.0)
    assert without.seen("heading reached") == []
    dialogue = FedDialogue(plan)
    while dialogue.at_s < FIRST_S + offset.end_s - 10.0:
        at_s = dialogue.at_s + 1.0
        dialogue.wait_until(at_s)
        dialogue.fix(at_s, heading_mag_deg=flown(plan, at_s).heading_mag_deg)
    turned_s = FIRST_S + offset.start_s + offset.turn_s
    assert dialogue.seen("heading reached") == [pytest.approx(turned_s, abs=2.5)]


# ---- voice and feed together


@pytest.mark.parametrize("said_s", [-2.0, -0.5, 0.5, 1.0, 1.5])
def test_a_word_before_the_feed_is_sure_moves_once_and_the_timer_runs_from_the_passage(said_s: float):
    dialogue = FedDialogue(planned(spokes=2))
    dialogue.fly_until(FIRST_S + int(said_s - 1)).wait_until(FIRST_S + said_s)
    dialogue.hear(PASSAGE)
    assert dialogue.leg == "1 outbound"
    dialogue.fly_until(FIRST_S + 20.0)
    assert dialogue.leg == "1 outbound"
    assert dialogue.shown.timer_from_s == pytest.approx(FIRST_S, abs=0.05)
    assert len(dialogue.said("Left, two four zero")) == 1


@pytest.mark.parametrize("late_s", [0.2, 3.0, 10.0])
def test_a_word_after_the_feed_has_moved_is_acknowledged_and_counts_nothing(late_s: float):
    dialogue = at_outbound()
    before = dialogue.session.progress
    assert PASSAGE in dialogue.listening
    dialogue.wait_until(dialogue.at_s + late_s).hear(PASSAGE)
    assert dialogue.session.progress == before
    assert dialogue.tones[-1] == "heard"
    assert len(dialogue.said("Left, two four zero")) == 1


def test_a_word_that_began_before_the_feed_moved_and_is_understood_after_it_counts_nothing():
    dialogue = at_outbound()
    before = dialogue.session.progress
    dialogue.hear(PASSAGE, onset_s=FIRST_S + 1.0)
    assert dialogue.session.progress == before


def test_a_word_that_is_understood_while_its_answer_sounds_does_not_cut_it_off():
    dialogue = FedDialogue(planned(spokes=2)).fly_until(FIRST_S + 1.0)
    dialogue.handle(SpeechStarted(at_s=FIRST_S + 1.2, onset_s=FIRST_S + 1.1))
    dialogue.fly_until(FIRST_S + 3.0)
    dialogue.handle(SpeechEnded(at_s=FIRST_S + 3.1, onset_s=FIRST_S + 3.0))
    dialogue.wait_until(FIRST_S + 3.8)
    assert len(dialogue.said("Left, two four zero")) == 1
    assert Silence() not in dialogue.hear(PASSAGE, onset_s=FIRST_S + 1.1)


def test_the_word_is_not_listened_for_any_more_when_the_passage_is_long_over():
    dialogue = at_outbound().fly_until(FIRST_S + 30.0)
    assert PASSAGE not in dialogue.listening


def test_needle_alive_said_and_seen_moves_once():
    plan = planned(spokes=1)
    dialogue = FedDialogue(plan)
    while "needle alive" not in dialogue.listening or dialogue.leg != "1 inbound":
        dialogue.fly_until(dialogue.at_s + 1.0)
    dialogue.hear("needle alive")
    assert dialogue.leg == "1 inbound"
    assert len(dialogue.said("Inbound")) == 1


def test_disregard_takes_back_what_the_feed_did_and_the_feed_does_not_do_it_again():
    dialogue = at_outbound()
    dialogue.hear("disregard")
    assert dialogue.leg == "arriving"
    dialogue.fly_until(dialogue.at_s + 30.0)
    assert dialogue.leg == "arriving"


def test_nothing_moves_while_the_drill_is_suspended():
    dialogue = FedDialogue(planned(spokes=2)).fly_until(FIRST_S - 5.0)
    dialogue.hear("terminate drill")
    dialogue.fly_until(FIRST_S + 20.0)
    assert dialogue.seen(PASSAGE) != []
    assert dialogue.session.progress.leg_i == 0
    assert dialogue.spoken[-1][0] < FIRST_S - 5.0


def test_on_stand_by_the_feed_moves_the_drill_and_says_nothing():
    dialogue = FedDialogue(planned(spokes=2)).fly_until(FIRST_S - 5.0)
    dialogue.hear("stand by")
    count = len(dialogue.spoken)
    dialogue.fly_until(FIRST_S + 20.0)
    assert dialogue.shown.state == "standing by"
    assert dialogue.shown.timer_from_s == pytest.approx(FIRST_S, abs=0.05)
    assert len(dialogue.spoken) == count


def test_what_passage_leads_to_waits_until_the_pilot_has_spoken():
    dialogue = FedDialogue(planned(spokes=2)).fly_until(FIRST_S)
    dialogue.handle(SpeechStarted(at_s=FIRST_S + 0.1, onset_s=FIRST_S + 0.1))
    dialogue.fly_until(FIRST_S + 3.0)
    assert dialogue.leg == "1 outbound"
    assert dialogue.said("Left, two four zero") == []
    dialogue.handle(SpeechEnded(at_s=FIRST_S + 3.2, onset_s=FIRST_S + 3.2))
    dialogue.wait_until(FIRST_S + 5.0)
    assert len(dialogue.said("Left, two four zero")) == 1


# ---- the pilot decides, or nobody


def test_the_pilot_decides_and_is_reminded_once():
    dialogue = at_outbound(role=Role.REMIND).fly_until(FIRST_S + 30.0)
    assert dialogue.leg == "arriving"
    assert dialogue.spoken[1:] == [
        (pytest.approx(FIRST_S + 6.3, abs=1.0), "You passed the station six seconds ago")
    ]
    dialogue.hear(PASSAGE)
    assert dialogue.leg == "1 outbound"
    assert dialogue.shown.timer_from_s == FIRST_S + 30.0


def test_a_pilot_who_has_said_it_is_not_reminded_and_his_word_starts_the_timer():
    dialogue = FedDialogue(planned(spokes=2), role=Role.REMIND).fly_until(FIRST_S).wait_until(FIRST_S + 0.8)
    dialogue.hear(PASSAGE)
    dialogue.fly_until(FIRST_S + 30.0)
    assert dialogue.said("You passed") == []
    assert dialogue.shown.timer_from_s == FIRST_S + 0.8


def test_recorded_only_the_feed_says_and_moves_nothing():
    plan = planned(WIND, spokes=1)
    dialogue = FedDialogue(plan, role=Role.RECORD, told=planned(spokes=1)).fly_until(FIRST_S + plan.total_s)
    assert dialogue.leg == "arriving"
    assert len(dialogue.spoken) == 1
    assert dialogue.seen(PASSAGE) != []


def test_without_a_feed_fixes_change_nothing():
    plan = planned(spokes=1)
    dialogue = FedDialogue(plan)
    dialogue.session._feed = None
    dialogue.fly_until(FIRST_S + 10.0)
    dialogue.lose()
    assert dialogue.leg == "arriving"
    assert dialogue.records == []


# ---- the feed goes and comes


def test_a_lost_feed_is_said_once_and_the_pilots_words_take_over():
    dialogue = FedDialogue(planned(spokes=2)).fly_until(FIRST_S - 20.0)
    dialogue.lose()
    assert dialogue.texts == ["Feed lost"]
    dialogue.wait_until(FIRST_S)
    dialogue.hear(PASSAGE)
    assert dialogue.leg == "1 outbound"
    dialogue.find()
    assert dialogue.texts == []
    assert dialogue.shown.note == "Feed is back"
    dialogue.fly_until(FIRST_S + 20.0)
    dialogue.lose()
    assert dialogue.texts == []


@pytest.mark.parametrize("role", [Role.REMIND, Role.RECORD])
def test_a_lost_feed_that_moves_nothing_is_shown_only(role: Role):
    dialogue = FedDialogue(planned(spokes=2), role=role).fly_until(FIRST_S - 20.0)
    dialogue.lose()
    assert dialogue.texts == []
    assert dialogue.shown.note == "Feed lost"


def test_a_feed_found_again_sees_the_next_passage():
    plan = planned(spokes=2)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + 70.0)
    dialogue.lose()
    dialogue.wait_until(FIRST_S + 110.0)
    dialogue.find()
    dialogue.fly_until(FIRST_S + plan.legs[3].end_s + 5.0)
    assert dialogue.leg == "2 outbound"


@pytest.mark.parametrize(
    ("reason", "is_passage"), [("jumping", False), ("back in time", False), ("silent", True)]
)
def test_a_jump_over_the_station_is_no_passage_but_a_short_silence_there_hides_none(
    reason: str, is_passage: bool
):
    dialogue = FedDialogue(planned(spokes=2)).fly_until(FIRST_S - 6.0)
    dialogue.handle(FeedLost(at_s=dialogue.at_s, onset_s=dialogue.at_s, reason=reason))
    dialogue.wait_until(FIRST_S + 6.0)
    dialogue.find()
    dialogue.fly_until(FIRST_S + 20.0)
    assert (dialogue.seen(PASSAGE) != []) == is_passage


def test_a_gap_across_the_passage_is_no_passage():
    plan = planned(spokes=2)
    dialogue = FedDialogue(plan).fly_until(FIRST_S - 17.0)
    dialogue.wait_until(FIRST_S + 17.0).fly_until(FIRST_S + 30.0)
    assert dialogue.seen(PASSAGE) == []


def test_the_plans_passage_question_is_not_asked_while_the_feed_sees_the_aircraft_inbound():
    plan = planned(Wind(from_deg=60.0, speed_kt=25.0), spokes=1)
    told = planned(Wind(from_deg=240.0, speed_kt=25.0), spokes=1)
    dialogue = FedDialogue(plan, told=told, role=Role.REMIND)
    dialogue.fly_until(FIRST_S + 1.0).hear(PASSAGE)
    dialogue.fly_until(FIRST_S + plan.legs[2].start_s + 50.0).hear("needle alive")
    dialogue.fly_until(FIRST_S + plan.total_s - 5.0)
    assert dialogue.said("Passage?") == []
    assert len(dialogue.said("Hold heading")) == 1


def test_a_passage_that_went_by_while_the_drill_was_suspended_is_asked_for():
    plan = planned(spokes=2)
    passage_s = FIRST_S + plan.legs[3].end_s
    dialogue = FedDialogue(plan).fly_until(passage_s - 15.0)
    dialogue.hear("traffic")
    dialogue.fly_until(passage_s + 10.0)
    dialogue.hear("resume drill")
    dialogue.fly_until(passage_s + 60.0)
    assert dialogue.leg == "1 inbound"
    assert len(dialogue.said("Passage?")) == 1


# ---- the wind


def test_legs_are_planned_anew_in_the_wind_that_is_found():
    plan = planned(WIND)
    dialogue = FedDialogue(plan, told=planned()).fly_until(FIRST_S + plan.legs[8].start_s)
    assert [record.what for record in dialogue.records if "planned" in record.what] == [
        "planned anew for wind 250/25"
    ]
    assert difference_kt(dialogue.session._plan.wind, WIND) < 1.0
    # What the plan warns of on the offset leg hangs on the wind.
    assert dialogue.said("Late needle") + dialogue.said("Early needle") != []


def test_a_plan_in_the_right_wind_stands():
    plan = planned(WIND, spokes=2)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + plan.total_s)
    assert [record for record in dialogue.records if "planned" in record.what] == []


def test_only_recorded_the_plan_is_left_alone():
    plan = planned(WIND, spokes=2)
    dialogue = FedDialogue(plan, told=planned(spokes=2), role=Role.RECORD).fly_until(FIRST_S + plan.total_s)
    assert [record for record in dialogue.records if "planned" in record.what] == []


def test_the_same_facts_give_the_same_actions():
    plan = planned(WIND, spokes=2)
    dialogue = FedDialogue(plan, told=planned(spokes=2)).fly_until(FIRST_S + plan.total_s + 15.0)
    again = FedDialogue(plan, told=planned(spokes=2))
    for event, actions in dialogue.all[1:]:
        assert again.session.handle(event) == actions


@pytest.mark.parametrize("talk", list(Talk))
def test_every_amount_of_talk_is_flown_by_feed(talk: Talk):
    plan = planned(spokes=1)
    dialogue = FedDialogue(plan, options=replace(Options(), talk=talk))
    dialogue.fly_until(FIRST_S + plan.total_s + 5.0)
    assert dialogue.leg == "complete"


# ---- arriving otherwise than planned


def test_arriving_from_elsewhere_the_turn_is_left_to_the_pilot():
    # The drill expects 285 inbound; he comes in on 020, where no flag is watched for.
    def where(at_s: float) -> Aircraft:
        angle, along_nm = math.radians(20.0), (at_s - FIRST_S) * 0.025
        return Aircraft(along_nm * math.sin(angle), along_nm * math.cos(angle), 20.0, 90.0)

    dialogue = FedDialogue(planned(spokes=1), where=where).fly_until(FIRST_S + 4.0)
    assert dialogue.seen(PASSAGE) == [pytest.approx(FIRST_S, abs=0.1)]
    assert dialogue.said("Outbound, two four zero") != []


def test_after_rejoin_the_station_is_found_from_anywhere():
    plan = planned(spokes=2)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + 100.0)
    dialogue.hear("rejoin")
    begun, begun_s = flown(plan, dialogue.at_s), dialogue.at_s
    track = begun.radial_mag_deg + 180.0
    back = Aircraft(begun.east_nm, begun.north_nm, track % 360.0, 90.0)
    dialogue.where = lambda at_s: back.step(at_s - begun_s)
    passage_s = begun_s + begun.distance_nm / 0.025
    dialogue.fly_until(passage_s + 4.0)
    assert dialogue.seen(PASSAGE)[-1] == pytest.approx(passage_s, abs=0.1)
    assert dialogue.leg == "1 outbound"


def test_taxiing_past_a_station_on_the_field_is_no_passage():
    def where(at_s: float) -> Aircraft:
        return Aircraft(0.0, (at_s - FIRST_S) * 20.0 / 3600.0, 360.0, 20.0)

    dialogue = FedDialogue(planned(spokes=1, arrive_course=360), where=where).fly_until(FIRST_S + 60.0)
    assert dialogue.seen(PASSAGE) == []


def test_a_gap_from_the_reversal_to_near_the_station_is_caught_up_with():
    plan = planned(spokes=2)
    passage_s = FIRST_S + plan.legs[3].end_s
    dialogue = FedDialogue(plan).fly_until(FIRST_S + plan.legs[2].start_s + 20.0)
    assert dialogue.leg == "1 reversal"
    dialogue.wait_until(passage_s - 8.0).fly_until(passage_s + 4.0)
    assert dialogue.leg == "2 outbound"
    assert dialogue.shown.timer_from_s == pytest.approx(passage_s, abs=0.1)


def test_after_the_drill_is_complete_a_lost_feed_is_not_said():
    plan = planned(spokes=1)
    dialogue = FedDialogue(plan).fly_until(FIRST_S + plan.total_s + 4.0)
    assert dialogue.leg == "complete"
    dialogue.lose()
    assert dialogue.texts == []
