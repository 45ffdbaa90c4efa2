"""The summary says what happened, in the shape the interface promises."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from coach.drill.plan import plan_drill
from coach.rehearsal.rehearse import Conditions, rehearse
from coach.rehearsal.summary import encode_rehearsal, render_rehearsal, words_by_spoke
from coach.rehearsal.transcript import Called, Heard, Said
from coach.session.prompts import BUDGET_WORDS, Talk
from coach.settings import Settings
from coach.store.phrases import read_phrases
from tests.drill.eight_spoke import eight_spoke

TABLE = read_phrases()


def typed(talk=Talk.SHORT, **drill):
    plan = plan_drill(eight_spoke(**drill))
    return rehearse(plan, Conditions(table=TABLE, typed=True, settings=Settings(talk=talk)))


@pytest.fixture(scope="module")
def rehearsal():
    return typed(spokes=2)


def call(at_s, what, due_s=None):
    return Called(at_s=at_s, due_s=due_s, what=what, is_time_call=due_s is not None)


def test_json_has_the_keys_of_the_interface(rehearsal):
    encoded = json.loads(json.dumps(encode_rehearsal(rehearsal)))
    assert {"drill", "legs", "heard", "calls", "words_a_spoke", "simulated_s", "wall_s", "typed"} <= set(
        encoded
    )
    assert encoded["drill"] == "eight-spoke"
    assert encoded["typed"] is True
    assert encoded["heard"] == []
    assert set(encoded["calls"][0]) == {"at_s", "due_s", "what"}


def test_legs_are_the_briefings_rows_and_what_was_flown(rehearsal):
    legs = encode_rehearsal(rehearsal)["legs"]
    assert [leg["leg"] for leg in legs] == ["outbound", "offset", "reversal", "inbound"] * 2
    offset = legs[1]
    assert (offset["n"], offset["spoke"], offset["turn"], offset["heading_mag_deg"]) == (2, 1, "left", 195)
    assert offset["flown_heading_mag_deg"] == 195
    assert offset["flown_start_s"] == pytest.approx(rehearsal.legs[1].start_s, abs=0.05)


def test_leg_never_begun_has_nothing_flown(rehearsal):
    cut_short = replace(rehearsal, legs=rehearsal.legs[:3])
    legs = encode_rehearsal(cut_short)["legs"]
    assert (legs[3]["flown_start_s"], legs[3]["flown_heading_mag_deg"]) == (None, None)


def test_words_are_counted_from_passage_to_passage(rehearsal):
    first_s, second_s = rehearsal.legs[0].start_s, rehearsal.legs[4].start_s
    calls = (
        call(first_s - 5, "Ready"),
        call(first_s + 0.3, "Left, two four zero"),
        call(second_s - 1, "Hold heading"),
        call(second_s + 1, "Left"),
        call(rehearsal.simulated_s, "Drill complete."),
    )
    assert words_by_spoke(replace(rehearsal, calls=calls)) == (6, 1)


@pytest.mark.parametrize("talk", list(Talk))
def test_coach_keeps_within_its_budget_of_words(talk):
    rehearsal = typed(talk)
    words = words_by_spoke(rehearsal)
    assert len(words) == 8
    assert 0 < max(words) <= BUDGET_WORDS[talk]
    assert encode_rehearsal(rehearsal)["words_a_spoke"] == max(words)


def test_heard_rows_show_said_and_understood(rehearsal):
    heard = Heard(at_s=11.5, onset_s=10.01, said="established", understood=None, onset_error_s=0.01)
    assert encode_rehearsal(replace(rehearsal, heard=(heard,)))["heard"] == [
        {"at_s": 11.5, "onset_s": 10.01, "said": "established", "understood": None, "onset_error_ms": 10.0}
    ]


def test_typed_flight_is_summed_up_in_three_lines(rehearsal):
    flown, coach, pilot = render_rehearsal(replace(rehearsal, wall_s=0.42, simulated_s=734.4))
    assert flown == "Flown: 12:14 in 0.4 s; 8 heading changes of 8 planned"
    assert coach.startswith(
        f"Coach: at most {max(words_by_spoke(rehearsal))} words a spoke (the budget of short is 40)"
    )
    assert pilot == "Pilot: 7 keys pressed, nothing spoken"


def test_spoken_flight_tells_misses_false_alarms_and_onsets(rehearsal):
    heard = (
        Heard(at_s=3, onset_s=2, said="established", understood="established", onset_error_s=0.012),
        Heard(at_s=9, onset_s=8, said="needle alive", understood=None, onset_error_s=-0.004),
        Heard(at_s=20, onset_s=19, said=None, understood="next leg", onset_error_s=None),
    )
    said = (Said(onset_s=15.0, ends_s=15.0, phrase="needle alive", by_key=True),)
    lines = render_rehearsal(
        replace(rehearsal, typed=False, heard=heard, said=said, ear="an ear", snr_db=20.0, band_snr_db=25.6)
    )
    assert lines[2:] == (
        "Ear: 1 of 2 words understood, 1 heard that were not said, 1 keys pressed (an ear)",
        "Cabin: SNR 20 dB, 26 dB within 300-3400 Hz",
        "Onsets: dated -4 to +12 ms from the word's first sample, median +12 ms",
    )


def test_silent_cabin_is_told():
    lines = render_rehearsal(replace(typed(spokes=1), typed=False, ear="an ear", snr_db=None))
    assert "Cabin: silent" in lines


def test_time_calls_are_measured_against_their_due_time(rehearsal):
    late = replace(rehearsal, calls=(call(10.0123, "Left", due_s=10.0), call(20.0, "Right", due_s=20.0)))
    assert "2 time calls, at most 12.3 ms from their due time" in render_rehearsal(late)[1]
    assert "no time calls" in render_rehearsal(replace(rehearsal, calls=()))[1]
