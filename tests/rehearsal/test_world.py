"""The simulated world gives facts in order of time, wakes on time, and ends a drill that does not end."""

from __future__ import annotations

import itertools

import pytest

from coach.drill.plan import plan_drill
from coach.errors import CoachError
from coach.rehearsal.cabin import Cabin
from coach.rehearsal.card import print_card
from coach.rehearsal.flight import Flight, arriving
from coach.rehearsal.headset import Headset, unvoiced
from coach.rehearsal.microphone import COMPUTING_S, Microphone
from coach.rehearsal.pilot import Pilot
from coach.rehearsal.transcript import Transcript
from coach.rehearsal.world import RehearsalWorld
from coach.session.actions import Finish, Listen, Record, Say, Show, Silence, Sound, Tone
from coach.session.events import (
    NotUnderstood,
    PhraseHeard,
    PromptDropped,
    PromptFinished,
    PromptStarted,
    SpeechEnded,
    SpeechStarted,
    Woken,
)
from coach.store.phrases import read_phrases
from tests.drill.eight_spoke import eight_spoke
from tests.rehearsal.tone_ear import TONES_HZ, WORD_S, ToneEar, tone_voice

PLAN = plan_drill(eight_spoke())


def world(*, ear=None, limit_s=600.0, tell=None):
    pilot = Pilot(print_card(PLAN), seed=1, only_keys=ear is None, full_scale_deg=10.0)
    flight = Flight(pilot, arriving(285, 90.0, PLAN.wind), full_scale_deg=10.0)
    microphone = None
    if ear is not None:
        microphone = Microphone(ear, read_phrases(), tone_voice, Cabin(seed=1), 20.0)
    transcript = Transcript(tell=tell) if tell else Transcript()
    made = RehearsalWorld(flight, Headset(unvoiced), transcript, microphone=microphone, limit_s=limit_s)
    if ear is not None:
        made.do(Listen(phrases=tuple(TONES_HZ)))
    return made


def say(prompt, text="Course two four zero", *, due_s=None):
    return Say(prompt=prompt, text=text, due_s=due_s, stale_s=1e6, is_time_call=due_s is not None)


def events(made, until_s):
    """Every fact up to a time."""
    found = []
    while not isinstance(event := made.wait(until_s), Woken):
        found.append(event)
    return found


def test_wakes_at_the_very_time_asked_for():
    made = world()
    assert made.wait(0.037) == Woken(at_s=0.037, onset_s=0.037)
    assert made.wait(12.3456) == Woken(at_s=12.3456, onset_s=12.3456)
    assert made.now_s() == 12.3456


def test_waking_for_the_past_is_at_once_and_now():
    made = world()
    made.wait(5.0)
    assert made.wait(3.0) == Woken(at_s=5.0, onset_s=3.0)


def test_passage_comes_as_a_key_pressed_when_it_was_pressed():
    (event, *_) = events(world(), 63.0)
    assert isinstance(event, PhraseHeard)
    assert (event.phrase, event.by) == ("station passage", "key")
    assert 60.5 <= event.at_s <= 62.0
    assert event.onset_s == event.at_s


def test_waiting_without_a_time_waits_for_a_fact():
    assert isinstance(world().wait(None), PhraseHeard)


def test_prompt_is_reported_at_its_word_and_its_end():
    made = world()
    made.wait(1.0)
    made.do(say(7, due_s=3.0))
    started, finished = events(made, 10.0)
    assert started == PromptStarted(at_s=pytest.approx(3.0, abs=0.11), onset_s=3.0, prompt=7)
    assert isinstance(finished, PromptFinished)
    assert finished.onset_s == pytest.approx(3.0 + 4 * 0.42)


def test_silence_takes_a_prompt_back():
    made = world()
    made.do(say(1, due_s=20.0))
    made.wait(1.0)
    made.do(Silence())
    (dropped,) = events(made, 30.0)
    assert isinstance(dropped, PromptDropped)


def test_word_goes_through_the_ear_and_takes_its_time():
    made = world(ear=ToneEar())
    made.do(Sound(tone=Tone.CUE))
    started, *rest = events(made, 65.0)
    assert isinstance(started, SpeechStarted)
    (heard,) = [event for event in rest if isinstance(event, PhraseHeard)]
    (ended,) = [event for event in rest if isinstance(event, SpeechEnded)]
    assert (heard.phrase, heard.by) == ("station passage", "voice")
    assert heard.onset_s == pytest.approx(started.onset_s)
    assert heard.at_s == pytest.approx(heard.onset_s + WORD_S + COMPUTING_S, abs=0.15)
    assert heard.at_s == pytest.approx(ended.at_s + COMPUTING_S, abs=0.15)


def test_unanswered_pilot_says_it_again_and_then_presses_the_key():
    found = events(world(ear=ToneEar(is_deaf=True)), 90.0)
    pressed = [(event.phrase, event.by) for event in found if isinstance(event, PhraseHeard)]
    assert pressed == [("station passage", "key"), ("resume drill", "key"), ("station passage", "key")]
    first = next(event for event in found if isinstance(event, PhraseHeard))
    assert 70.5 <= first.at_s <= 72.5


def test_word_outside_the_grammar_is_not_understood():
    made = world(ear=ToneEar())
    made.do(Listen(phrases=("say again",)))
    kinds = {type(event) for event in events(made, 64.0)}
    assert NotUnderstood in kinds
    assert PhraseHeard not in kinds


def test_facts_come_in_order_of_time():
    made = world(ear=ToneEar(misses=1))
    for prompt in range(1, 30):
        made.do(say(prompt, due_s=3.0 * prompt))
    found = events(made, 100.0)
    assert len(found) > 50
    assert all(before.at_s <= after.at_s for before, after in itertools.pairwise(found))
    assert all(event.onset_s <= event.at_s for event in found)


def test_what_needs_no_hands_is_let_pass():
    made = world()
    made.do(Record(what="leg 1", onset_s=0.0))
    made.do(Finish())
    made.do(
        Show(
            state="flying", leg_n=1, spoke=1, leg="outbound", heading_mag_deg=240, course_mag_deg=240,
            timer_from_s=None, ends_at_s=None, coming="", note="",
        )
    )  # fmt: skip
    assert isinstance(made.wait(1.0), Woken)


def test_drill_that_does_not_end_is_ended_with_one_line():
    made = world(limit_s=120.0)
    with pytest.raises(CoachError, match="the rehearsal did not come to an end within 2 minutes of flight"):
        events(made, 1e6)


def test_flight_is_told_as_it_goes():
    lines = []
    made = world(tell=lines.append)
    made.do(say(1))
    events(made, 64.0)
    assert [line.split()[1:] for line in lines] == [
        ["coach", "Course", "two", "four", "zero"],
        ["flight", "spoke", "1", "outbound", "240,", "turns", "left"],
        ["pilot", "[station", "passage]", "(key)"],
    ]
