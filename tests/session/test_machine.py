"""The session as a dialogue: the pilot's words and the clock on one side, the coach on the other.

Headings are those of `first_outbound=240`, worked by hand (common practice, no source).
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from coach.session.actions import Finish, Record, Say, Silence, Sound, Tone
from coach.session.events import (
    BookmarkMade,
    EdgeFailed,
    NoteMade,
    PhraseHeard,
    SpeechEnded,
    SpeechStarted,
    TransmitEnded,
    TransmitStarted,
    Woken,
)
from coach.session.machine import Options
from coach.session.prompts import Talk
from tests.session.dialogue import Dialogue, eight_spoke

PASSAGE_S = 50.0


def flying(**settings: object) -> Dialogue:
    """The first passage at 50 s, understood 0.4 s later."""
    dialogue = Dialogue(eight_spoke(**settings)).wait_until(PASSAGE_S + 0.4)
    dialogue.hear("station passage", onset_s=PASSAGE_S)
    return dialogue


def on_reversal() -> Dialogue:
    return flying().wait_until(PASSAGE_S + 120.5)


def inbound() -> Dialogue:
    """Needle alive at 45 s into the reversal, as in nil wind."""
    dialogue = flying().wait_until(PASSAGE_S + 165)
    dialogue.hear("needle alive")
    return dialogue


def test_session_opens_with_the_first_outbound():
    assert Dialogue(eight_spoke()).texts == ["Ready. First outbound two four zero"]


def test_one_spoke_is_announced_leg_by_leg():
    dialogue = flying().wait_until(PASSAGE_S + 165)
    dialogue.hear("needle alive")
    dialogue.wait_until(PASSAGE_S + 230)
    dialogue.hear("established")
    dialogue.wait_until(PASSAGE_S + 310)
    dialogue.hear("station passage")
    assert dialogue.spoken[1:] == [
        (pytest.approx(50.7), "Left, two four zero"),
        (pytest.approx(100.0), "Ten seconds. Left, one niner five"),
        (pytest.approx(110.0), "Left, one niner five"),
        (pytest.approx(116.9), "Course zero six zero"),
        (pytest.approx(160.0), "Ten seconds. Right, zero one five"),
        (pytest.approx(170.0), "Right, zero one five"),
        (pytest.approx(215.3), "Inbound zero six zero"),
        (pytest.approx(344.0, abs=3.0), "Hold heading"),
        (pytest.approx(360.3), "Left, zero one five"),
    ]


def test_timed_leg_ends_exactly_at_its_time_from_the_words_onset():
    dialogue = flying()
    assert dialogue.shown.timer_from_s == PASSAGE_S
    assert dialogue.shown.ends_at_s == PASSAGE_S + 60.0
    dialogue.wait_until(PASSAGE_S + 60.0)
    assert dialogue.leg == "1 offset"
    assert dialogue.session.progress.begun_s == PASSAGE_S + 60.0


@pytest.mark.parametrize("delay_s", [0.0, 0.3, 1.0, 4.0, 30.0])
def test_recognisers_delay_does_not_move_the_leg_time(delay_s: float):
    dialogue = Dialogue(eight_spoke()).wait_until(PASSAGE_S + delay_s)
    dialogue.hear("station passage", onset_s=PASSAGE_S)
    assert dialogue.shown.ends_at_s == PASSAGE_S + 60.0


def test_one_clock_is_read_at_one_and_two_minutes():
    dialogue = flying().wait_until(PASSAGE_S + 60.1)
    assert dialogue.shown.timer_from_s == PASSAGE_S
    assert dialogue.shown.ends_at_s == PASSAGE_S + 120.0


def test_late_wakeup_still_ends_the_leg_at_its_time():
    dialogue = flying()
    dialogue.handle(Woken(at_s=PASSAGE_S + 63.0, onset_s=PASSAGE_S + 60.0))
    assert dialogue.leg == "1 offset"
    assert dialogue.session.progress.begun_s == PASSAGE_S + 60.0
    assert dialogue.texts == ["Left, one niner five"]


def test_wakeup_two_legs_late_is_on_the_right_leg_and_says_only_that():
    dialogue = flying()
    dialogue.handle(Woken(at_s=PASSAGE_S + 125.0, onset_s=PASSAGE_S + 60.0))
    assert dialogue.leg == "1 reversal"
    assert dialogue.texts == ["Right, zero one five"]


class TestTimerFromLevel:
    def test_clock_restarts_after_the_turns_standard_rate_time(self):
        dialogue = flying(timer_from="level")
        assert dialogue.shown.ends_at_s == PASSAGE_S + 15.0 + 60.0

    def test_wings_level_restarts_it_at_the_words_onset(self):
        dialogue = flying(timer_from="level").wait_until(PASSAGE_S + 18.5)
        dialogue.hear("wings level", onset_s=PASSAGE_S + 18.0)
        assert dialogue.shown.ends_at_s == PASSAGE_S + 78.0

    def test_wings_level_heard_after_the_leg_ended_takes_the_ending_back(self):
        dialogue = flying(timer_from="level").wait_until(PASSAGE_S + 75.2)
        assert dialogue.leg == "1 offset"
        dialogue.hear("wings level", onset_s=PASSAGE_S + 74.8)
        assert dialogue.leg == "1 outbound"
        assert dialogue.shown.ends_at_s == pytest.approx(PASSAGE_S + 134.8)


class TestUndo:
    def test_disregard_puts_the_old_timer_back(self):
        dialogue = flying().wait_until(PASSAGE_S + 40)
        dialogue.hear("next leg")
        assert dialogue.leg == "1 offset"
        dialogue.wait_until(PASSAGE_S + 45)
        dialogue.hear("disregard")
        assert dialogue.leg == "1 outbound"
        assert (dialogue.shown.timer_from_s, dialogue.shown.ends_at_s) == (PASSAGE_S, PASSAGE_S + 60.0)
        assert dialogue.texts == []

    def test_leg_time_call_is_made_after_an_undo_in_its_last_second(self):
        dialogue = flying().wait_until(PASSAGE_S + 59.5)
        dialogue.hear("next leg")
        dialogue.wait_until(PASSAGE_S + 59.7)
        dialogue.hear("disregard")
        dialogue.wait_until(PASSAGE_S + 63)
        assert dialogue.leg == "1 offset"
        assert (PASSAGE_S + 60.0, "Left, one niner five") in dialogue.spoken

    def test_time_that_ran_out_meanwhile_moves_the_drill_at_its_own_time(self):
        dialogue = flying().wait_until(PASSAGE_S + 58)
        dialogue.hear("next leg")
        dialogue.wait_until(PASSAGE_S + 64)
        dialogue.hear("disregard")
        assert dialogue.leg == "1 offset"
        assert dialogue.session.progress.begun_s == PASSAGE_S + 60.0

    def test_a_word_said_before_the_leg_time_and_understood_after_it_counts_where_it_was_said(self):
        dialogue = flying().wait_until(PASSAGE_S + 60.5)
        dialogue.hear("next leg", onset_s=PASSAGE_S + 59.9)
        assert dialogue.leg == "1 offset"
        assert dialogue.session.progress.begun_s == PASSAGE_S + 59.9
        assert dialogue.texts == []

    def test_each_disregard_goes_one_step_further_back(self):
        dialogue = inbound().wait_until(PASSAGE_S + 230)
        dialogue.hear("established")
        dialogue.hear("disregard")
        assert dialogue.session.progress.established_s is None
        dialogue.hear("disregard")
        assert dialogue.leg == "1 reversal"

    def test_step_of_long_ago_is_not_undone(self):
        dialogue = flying().wait_until(PASSAGE_S + 130)
        assert Sound(tone=Tone.LOW) in dialogue.hear("disregard")
        assert dialogue.leg == "1 reversal"

    def test_false_last_passage_can_be_undone_before_the_end(self):
        dialogue = inbound_on_last_spoke()
        dialogue.hear("station passage")
        assert dialogue.leg == "complete"
        dialogue.wait_until(dialogue.at_s + 5)
        dialogue.hear("disregard")
        assert dialogue.leg == "1 inbound"


def inbound_on_last_spoke() -> Dialogue:
    dialogue = flying(spokes=1).wait_until(PASSAGE_S + 165)
    dialogue.hear("needle alive")
    return dialogue.wait_until(PASSAGE_S + 310)


def test_last_passage_ends_the_drill_with_these_words_and_nothing_more():
    dialogue = inbound_on_last_spoke()
    dialogue.hear("station passage")
    assert dialogue.texts == ["Drill complete. Hold heading. Look out."]
    dialogue.wait_until(dialogue.at_s + 60)
    assert dialogue.spoken[-1][1] == "Drill complete. Hold heading. Look out."
    assert [action for _, actions in dialogue.all for action in actions if isinstance(action, Finish)] == [
        Finish()
    ]
    assert dialogue.session.next_wakeup_s is None


class TestEarlyAndOverdue:
    def test_word_before_half_of_the_leg_is_answered_early(self):
        dialogue = flying().wait_until(PASSAGE_S + 29)
        dialogue.hear("next leg")
        assert dialogue.texts == ["Early"]
        assert dialogue.leg == "1 outbound"

    def test_early_word_said_again_within_five_seconds_moves_the_drill(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        dialogue.hear("next leg")
        dialogue.wait_until(PASSAGE_S + 24)
        dialogue.hear("next leg")
        assert dialogue.leg == "1 offset"

    def test_early_word_said_again_later_is_early_again(self):
        dialogue = flying().wait_until(PASSAGE_S + 15)
        dialogue.hear("next leg")
        dialogue.wait_until(PASSAGE_S + 22)
        dialogue.hear("next leg")
        assert dialogue.texts == ["Early"]
        assert dialogue.leg == "1 outbound"

    def test_needle_alive_is_accepted_from_half_way_round_the_turn(self):
        dialogue = on_reversal().wait_until(PASSAGE_S + 149)
        dialogue.hear("needle alive")
        assert dialogue.texts == ["Early"]
        dialogue.wait_until(PASSAGE_S + 157)
        dialogue.hear("needle alive", onset_s=PASSAGE_S + 156.5)
        assert dialogue.texts == ["Inbound zero six zero"]

    def test_needle_alive_means_nothing_on_the_offset_leg(self):
        dialogue = flying().wait_until(PASSAGE_S + 100)
        assert "needle alive" not in dialogue.listening
        dialogue.hear("needle alive", by="key")
        assert dialogue.leg == "1 offset"

    def test_established_is_listened_for_only_after_needle_alive(self):
        assert "established" not in on_reversal().listening
        assert "established" in inbound().listening

    def test_overdue_passage_is_asked_for_once(self):
        dialogue = inbound().wait_until(PASSAGE_S + 600)
        assert [text for _, text in dialogue.spoken].count("Passage?") == 1


def test_next_leg_said_to_the_leg_time_call_is_acknowledged_without_effect():
    dialogue = flying().wait_until(PASSAGE_S + 61)
    assert Sound(tone=Tone.HEARD) in dialogue.hear("next leg", onset_s=PASSAGE_S + 60.7)
    assert dialogue.leg == "1 offset"


class TestHush:
    @pytest.mark.parametrize(
        "phrase", ["terminate drill", "traffic", "I have the flight controls", "you have the flight controls"]
    )
    def test_silence_words_silence_first_of_all(self, phrase: str):
        dialogue = flying().wait_until(PASSAGE_S + 49.2)
        assert dialogue.hear(phrase)[0] == Silence()
        assert dialogue.leg == "suspended"

    @pytest.mark.parametrize("at_s", [0.5, 10.0, 80.0, 125.0, 170.0, 400.0])
    def test_mute_key_silences_on_every_leg(self, at_s: float):
        dialogue = flying().wait_until(PASSAGE_S + at_s)
        assert dialogue.hear("mute", by="key")[0] == Silence()

    def test_nothing_is_said_or_moved_until_resume_drill(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        dialogue.hear("traffic")
        said = len(dialogue.spoken)
        for phrase in ("next leg", "where now", "say again", "disregard", "rejoin", "station passage"):
            dialogue.wait_until(dialogue.at_s + 10)
            assert not any(isinstance(action, Say | Sound) for action in dialogue.hear(phrase))
        dialogue.wait_until(PASSAGE_S + 200)
        assert len(dialogue.spoken) == said
        assert dialogue.session.progress.leg_i == 0

    def test_stand_by_drops_calls_and_tells_once_how_much_over(self):
        dialogue = flying().wait_until(PASSAGE_S + 65)
        dialogue.hear("stand by")
        said = len(dialogue.spoken)
        dialogue.wait_until(PASSAGE_S + 132)
        dialogue.hear("resume drill")
        assert dialogue.texts == ["Offset leg, twelve over"]
        dialogue.wait_until(PASSAGE_S + 170)
        assert len(dialogue.spoken) == said + 1
        dialogue.hear("next leg")
        assert dialogue.texts == ["Right, zero one five"]

    def test_resumed_in_time_the_leg_time_is_called_as_ever(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        dialogue.hear("stand by")
        dialogue.wait_until(PASSAGE_S + 40)
        dialogue.hear("resume drill")
        assert dialogue.texts == ["Outbound leg, twenty to go"]
        dialogue.wait_until(PASSAGE_S + 61)
        assert dialogue.spoken[-2:] == [
            (PASSAGE_S + 50, "Ten seconds. Left, one niner five"),
            (PASSAGE_S + 60, "Left, one niner five"),
        ]

    def test_checkpoints_count_silently_in_stand_by(self):
        dialogue = inbound().wait_until(PASSAGE_S + 250)
        dialogue.hear("stand by")
        dialogue.wait_until(PASSAGE_S + 313)
        assert not any(isinstance(action, Say) for action in dialogue.hear("station passage"))
        dialogue.wait_until(PASSAGE_S + 333)
        dialogue.hear("resume drill")
        assert dialogue.texts == ["Outbound leg, forty to go"]


class TestRejoin:
    def test_rejoin_begins_the_interrupted_spoke_again_from_passage(self):
        dialogue = flying().wait_until(PASSAGE_S + 90)
        dialogue.hear("rejoin")
        assert dialogue.texts == ["Direct to the station. Spoke one from passage, outbound two four zero"]
        dialogue.wait_until(PASSAGE_S + 200)
        dialogue.hear("station passage")
        assert dialogue.texts == ["Outbound, two four zero"]
        assert dialogue.leg == "1 outbound"

    def test_another_spoke_can_be_chosen(self):
        dialogue = flying().wait_until(PASSAGE_S + 90)
        dialogue.hear("rejoin")
        dialogue.hear("rejoin spoke four")
        assert dialogue.texts == ["Direct to the station. Spoke four from passage, outbound two eight five"]

    def test_rejoin_is_undone_by_disregard(self):
        dialogue = flying().wait_until(PASSAGE_S + 30)
        dialogue.hear("rejoin")
        dialogue.hear("disregard")
        assert dialogue.leg == "1 outbound"
        assert dialogue.shown.ends_at_s == PASSAGE_S + 60


class TestNotUnderstood:
    def test_low_tone_then_use_key_then_silence(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        first, second, third = (dialogue.mishear() for _ in range(3))
        assert [a for a in first if isinstance(a, Sound)] == [Sound(tone=Tone.LOW)]
        assert [a.text for a in second if isinstance(a, Say)] == ["Use key"]
        assert not [a for a in third if isinstance(a, Say | Sound)]

    def test_its_own_voice_in_the_microphone_is_not_answered(self):
        dialogue = flying().wait_until(PASSAGE_S + 61)
        assert not [a for a in dialogue.mishear() if isinstance(a, Say | Sound)]

    def test_anything_understood_begins_the_count_anew(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        dialogue.mishear()
        dialogue.hear("bookmark")
        assert [a for a in dialogue.mishear() if isinstance(a, Sound)] == [Sound(tone=Tone.LOW)]

    def test_the_word_just_counted_said_again_is_acknowledged_without_effect(self):
        dialogue = flying()
        dialogue.wait_until(PASSAGE_S + 4)
        assert Sound(tone=Tone.HEARD) in dialogue.hear("station passage")
        assert dialogue.leg == "1 outbound"


class TestOthersTalking:
    def test_answers_wait_for_the_end_of_somebodys_voice(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        dialogue.handle(SpeechStarted(at_s=dialogue.at_s, onset_s=dialogue.at_s))
        dialogue.hear("where now", by="key")
        assert dialogue.texts == []
        dialogue.wait_until(PASSAGE_S + 22)
        dialogue.handle(SpeechEnded(at_s=dialogue.at_s, onset_s=dialogue.at_s))
        dialogue.wait_until(PASSAGE_S + 23)
        assert dialogue.spoken[-1][1] == "Spoke one, outbound leg, forty to go, then left one niner five"

    def test_prompt_that_the_pilot_talks_over_stops_and_his_word_counts(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        dialogue.hear("where now")
        dialogue.wait_until(dialogue.at_s + 1.0)
        assert dialogue.hear("bookmark")[0] == Silence()
        assert Sound(tone=Tone.HEARD) in dialogue.actions

    def test_time_call_that_the_pilot_talks_over_goes_on(self):
        dialogue = flying().wait_until(PASSAGE_S + 60.5)
        assert dialogue.spoken[-1] == (PASSAGE_S + 60, "Left, one niner five")
        assert Silence() not in dialogue.hear("bookmark")

    def test_word_that_is_not_understood_stops_nothing(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        dialogue.hear("where now")
        dialogue.wait_until(dialogue.at_s + 1.0)
        assert dialogue.mishear() == ()

    def test_time_calls_are_made_over_a_voice(self):
        dialogue = flying().wait_until(PASSAGE_S + 55)
        dialogue.handle(TransmitStarted(at_s=dialogue.at_s, onset_s=dialogue.at_s))
        dialogue.wait_until(PASSAGE_S + 61)
        assert dialogue.spoken[-1] == (PASSAGE_S + 60, "Left, one niner five")
        dialogue.handle(TransmitEnded(at_s=dialogue.at_s, onset_s=dialogue.at_s))

    def test_voice_that_never_ends_holds_nothing_back_for_ever(self):
        dialogue = flying().wait_until(PASSAGE_S + 61)
        dialogue.handle(SpeechStarted(at_s=dialogue.at_s, onset_s=dialogue.at_s))
        dialogue.wait_until(PASSAGE_S + 90)
        assert "Course zero six zero" in [text for _, text in dialogue.spoken]

    def test_coach_never_hears_its_own_words(self):
        dialogue = flying().wait_until(PASSAGE_S + 30)
        dialogue.hear("rejoin")
        dialogue.wait_until(dialogue.at_s + 2.5)
        actions = dialogue.hear("station passage")
        assert Record(what="own words: station passage", onset_s=dialogue.at_s) in actions
        assert dialogue.leg == "arriving"


class TestAsking:
    def test_where_now_tells_spoke_leg_time_and_what_comes(self):
        dialogue = flying().wait_until(PASSAGE_S + 40)
        dialogue.hear("where now")
        assert dialogue.texts == ["Spoke one, outbound leg, twenty to go, then left one niner five"]

    def test_say_again_works_for_a_minute_and_then_tells_where_we_are(self):
        dialogue = inbound().wait_until(PASSAGE_S + 180)
        dialogue.hear("say again")
        assert dialogue.texts == ["Inbound zero six zero"]
        dialogue.wait_until(PASSAGE_S + 245)
        dialogue.hear("say again")
        assert dialogue.texts == ["Spoke one, inbound leg, then left zero one five"]

    def test_time_tells_the_seconds_left(self):
        dialogue = flying().wait_until(PASSAGE_S + 40)
        dialogue.hear("time")
        assert dialogue.texts == ["Twenty to go"]

    def test_bookmark_is_kept_at_the_words_onset(self):
        dialogue = flying().wait_until(PASSAGE_S + 40)
        actions = dialogue.hear("bookmark", onset_s=PASSAGE_S + 39)
        assert Record(what="bookmark", onset_s=PASSAGE_S + 39) in actions

    @pytest.mark.parametrize("phrase", ["stand by", "traffic", None], ids=str)
    def test_what_is_noted_beside_the_pilot_is_kept_without_a_sound(self, phrase: str | None):
        dialogue = flying().wait_until(PASSAGE_S + 30)
        if phrase:
            dialogue.hear(phrase)
        times = {"at_s": PASSAGE_S + 40, "onset_s": PASSAGE_S + 35}
        marked = dialogue.handle(BookmarkMade(**times, what="late"))
        noted = dialogue.handle(NoteMade(**times, text="drifted left"))
        assert marked == (Record(what="bookmark: late", onset_s=PASSAGE_S + 35),)
        assert noted == (Record(what="note: drifted left", onset_s=PASSAGE_S + 35),)

    def test_less_talk_says_less(self):
        dialogue = flying().wait_until(PASSAGE_S + 40)
        dialogue.hear("less talk")
        dialogue.wait_until(PASSAGE_S + 125)
        assert [text for _, text in dialogue.spoken[2:]] == ["Left, one niner five", "Right"]
        assert dialogue.tones == ["heard", "cue", "cue"]


def test_heading_indicator_is_asked_about_every_quarter_of_an_hour_inbound():
    dialogue = Dialogue(eight_spoke(), Options(talk=Talk.SHORT, heading_check_s=900.0)).wait_until(2000)
    dialogue.hear("station passage")
    dialogue.wait_until(2165)
    dialogue.hear("needle alive")
    dialogue.wait_until(2230)
    checks = [at_s for at_s, text in dialogue.spoken if text == "Check heading indicator"]
    assert len(checks) == 1
    assert 2165 + 45 <= checks[0] < 2000 + 314 - 40


def test_failed_edge_is_shown_in_one_line():
    dialogue = flying()
    dialogue.handle(
        EdgeFailed(at_s=dialogue.at_s, onset_s=dialogue.at_s, edge="microphone", reason="unplugged")
    )
    assert dialogue.shown.note == "microphone: unplugged"


def test_unsolicited_prompts_keep_five_seconds_apart():
    dialogue = Dialogue(eight_spoke(), Options(talk=Talk.FULL)).wait_until(PASSAGE_S)
    dialogue.hear("station passage")
    dialogue.wait_until(PASSAGE_S + 48)
    gaps = [
        later - (earlier + 0.4 * len(text.split()))
        for (earlier, text), (later, _) in pairwise(dialogue.spoken[1:])
    ]
    assert min(gaps) >= 5.0
    assert len(gaps) == 3


def test_key_and_voice_for_the_same_checkpoint_count_once():
    dialogue = flying()
    dialogue.handle(
        PhraseHeard(at_s=PASSAGE_S + 1, onset_s=PASSAGE_S + 0.8, phrase="station passage", by="key")
    )
    assert dialogue.leg == "1 outbound"
    assert dialogue.shown.ends_at_s == PASSAGE_S + 60.0
