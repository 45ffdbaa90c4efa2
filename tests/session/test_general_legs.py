"""Legs beyond the eight-spoke drill: a start on the pilot's word, laps, tones, reminders, corrected times."""

from __future__ import annotations

import pytest

from coach.drill.compiler import compile_drill
from coach.drill.plan import Plan, plan_drill
from coach.errors import DrillError
from coach.session.actions import Sound, Tone
from coach.session.machine import Options
from coach.session.progress import State, ends_at_s
from coach.session.prompts import Talk, budget_words
from coach.store.documents import parse_document
from coach.store.drills import read_drill
from tests.session.dialogue import Dialogue

HEAD = """
title: Legs
source: common practice, no source
settings:
  start: {kind: course, default: 360, means: Where it begins.}
  laps: {kind: count, range: [1, 5], default: 2, means: How often.}
  leg_s: {kind: time, unit: s, range: [10, 600], default: 60, means: How long.}
  sides: {kind: choice, choices: [alternate, left, right], default: alternate, means: The side.}
begins: {by: word, heading: start}
"""


def planned(name: str, **settings: str) -> Plan:
    return plan_drill(read_drill(name, settings), tas_kt=90)


def of_legs(*legs: str, more: str = "") -> Plan:
    text = HEAD + more + "legs:\n" + "".join(f"  - {leg}\n" for leg in legs)
    source = parse_document(text, DrillError, name="legs", file="legs.yaml")
    return plan_drill(compile_drill(source, {}), tas_kt=90)


ON = "{leg: on, turn: none, heading: previous, lasts: leg_s, ends_on: time}"


def test_drill_waits_for_the_pilots_word_on_its_heading() -> None:
    dialogue = Dialogue(planned("timed-turns"))
    assert dialogue.texts == ["Ready. Start heading three six zero. First right zero seven five"]
    assert "next leg" in dialogue.listening
    assert "station passage" not in dialogue.listening
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    assert dialogue.texts == ["Right, zero seven five"]


def test_drill_that_begins_on_passage_does_not_take_next_leg_for_it() -> None:
    dialogue = Dialogue(planned("hold-station"))
    assert "station passage" in dialogue.listening
    assert "next leg" not in dialogue.listening


def test_turn_that_lasts_its_own_time_ends_by_the_clock() -> None:
    dialogue = Dialogue(planned("timed-turns"))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    dialogue.wait_until(60.0)
    at_s = next(at_s for at_s, text in dialogue.spoken if text == "Zero seven five")
    assert at_s == pytest.approx(45.0)


def test_turn_to_a_heading_never_ends_by_the_clock() -> None:
    dialogue = Dialogue(planned("turns-to-headings"))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    dialogue.wait_until(500.0)
    assert dialogue.leg == "None right_turn"
    dialogue.hear("next leg")
    assert dialogue.leg == "None after_right"


def test_tone_sounds_every_ten_seconds_of_a_turn_and_at_no_other_time() -> None:
    dialogue = Dialogue(planned("standard-rate"))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    dialogue.wait_until(20.0 + 149.0)
    due = [
        action.due_s
        for _, actions in dialogue.all
        for action in actions
        if isinstance(action, Sound) and action.tone is Tone.CUE
    ]
    assert due == [20.0 + 10.0 * k for k in range(1, 12)]


def test_reminder_is_said_once_and_not_with_the_least_talk() -> None:
    said = []
    for talk in Talk:
        dialogue = Dialogue(planned("standard-rate"), Options(talk=talk))
        dialogue.wait_until(20.0)
        dialogue.hear("next leg")
        dialogue.wait_until(130.0)
        said.append([text for _, text in dialogue.spoken].count("Thirty degrees each tone"))
    assert said == [1, 1, 0]


def test_words_of_the_drills_own_open_a_leg() -> None:
    dialogue = Dialogue(planned("vertical-s"))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    assert dialogue.texts == ["Up phase"]
    dialogue.wait_until(140.0)
    dialogue.hear("next leg")
    assert dialogue.texts == ["Down phase"]


def test_word_before_half_of_an_altitude_phase_is_early() -> None:
    dialogue = Dialogue(planned("vertical-s"))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    dialogue.wait_until(50.0)
    dialogue.hear("next leg")
    assert dialogue.texts == ["Early"]


def test_leg_that_is_the_pilots_own_ends_whenever_he_says() -> None:
    dialogue = Dialogue(planned("orientation"))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    dialogue.wait_until(32.0)
    dialogue.hear("next leg")
    assert dialogue.texts == ["Which radial?"]


def test_last_leg_that_is_timed_completes_the_drill_with_one_call() -> None:
    dialogue = Dialogue(of_legs(ON))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    dialogue.wait_until(100.0)
    assert dialogue.session.progress.state is State.COMPLETE
    assert [text for _, text in dialogue.spoken].count("Drill complete. Hold heading. Look out.") == 1


def test_where_now_names_the_lap() -> None:
    dialogue = Dialogue(planned("racetrack"))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    dialogue.wait_until(220.0)
    dialogue.hear("where now")
    assert dialogue.texts[0].startswith("Lap one, outbound leg")


def test_rejoin_goes_back_to_the_present_lap() -> None:
    dialogue = Dialogue(planned("hold-station"))
    dialogue.wait_until(60.0)
    dialogue.hear("station passage")
    dialogue.wait_until(180.0)
    dialogue.wait_until(290.0)
    dialogue.hear("station passage")
    dialogue.wait_until(310.0)
    dialogue.hear("rejoin")
    assert dialogue.texts == ["Direct to the station. From passage, outbound, one one zero"]
    assert dialogue.session.progress.leg_i == 2


def test_rejoin_of_a_drill_begun_by_word_begins_again_on_its_heading() -> None:
    dialogue = Dialogue(planned("80-260"))
    dialogue.wait_until(20.0)
    dialogue.hear("next leg")
    dialogue.wait_until(40.0)
    dialogue.hear("rejoin")
    assert dialogue.texts == ["Again. Start heading three six zero"]


def hold_a_lap(dialogue: Dialogue, inbound_s: float) -> float:
    """One lap of a hold from its passage on, so long inbound with the wings level; the outbound time."""
    passage_s = dialogue.at_s
    ends_s = ends_at_s(dialogue.session._plan, dialogue.session.progress) or 0.0
    dialogue.wait_until(ends_s + 60.0 + inbound_s)
    dialogue.hear("station passage")
    return ends_s - passage_s - 60.0


@pytest.mark.parametrize(("inbound_s", "change"), [(60.0, 0), (80.0, -1), (45.0, 1)])
def test_outbound_time_of_a_hold_is_corrected_by_the_lap_before(inbound_s: float, change: int) -> None:
    dialogue = Dialogue(planned("hold-station"))
    dialogue.wait_until(60.0)
    dialogue.hear("station passage")
    first_s = hold_a_lap(dialogue, inbound_s)
    second_s = hold_a_lap(dialogue, 60.0)
    assert first_s == pytest.approx(60.0)
    assert (second_s > first_s) - (second_s < first_s) == change


def test_abeam_starts_the_clock_of_an_outbound_leg() -> None:
    dialogue = Dialogue(planned("hold-station"))
    dialogue.wait_until(60.0)
    dialogue.hear("station passage")
    dialogue.wait_until(110.0)
    assert {"abeam", "wings level"} <= set(dialogue.listening)
    dialogue.hear("abeam")
    assert ends_at_s(dialogue.session._plan, dialogue.session.progress) == pytest.approx(170.0)


def test_sides_alternate_lap_by_lap() -> None:
    plan = of_legs(
        ON,
        "{leg: back, turn: side, heading: {of: previous, turned: 180 side}, ends_on: heading}",
        more="repeat: laps\n",
    )
    assert [leg.leg.turn.value for leg in plan.legs] == ["none", "left", "none", "right"]
    assert [leg.leg.lap for leg in plan.legs] == [1, 1, 2, 2]


def test_budget_is_a_spokes_for_every_four_legs_and_never_less() -> None:
    assert [budget_words(Talk.SHORT, legs) for legs in (1, 4, 8, 10)] == [40, 40, 80, 100]
