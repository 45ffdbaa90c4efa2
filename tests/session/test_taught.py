"""Recall and callouts as dialogues with the whole session.

Headings are those of `first_outbound=240`, worked by hand (common practice, no source): outbound 240, left
195, right 015, inbound 060; then left 015.
"""

from __future__ import annotations

import pytest

from coach.drill.plan import plan_drill
from coach.session.actions import Action, Expect, Record, Sound, Tone
from coach.session.answers import Direction, Kind
from coach.session.asking import settled_s
from coach.session.events import AnswerHeard, EdgeFailed, EdgeRecovered, NotUnderstood, TransmitStarted
from coach.session.machine import Options
from coach.session.mastery import Element, Mastery, Step
from coach.session.progress import Progress, State
from coach.session.prompts import Talk
from coach.session.teacher import Mode
from coach.store.drills import read_drill
from tests.session.dialogue import Dialogue, eight_spoke

PASSAGE_S = 50.0


def known(step: Step, *elements: Element) -> tuple[Mastery, ...]:
    return tuple(
        Mastery(element=element, known=0.95, answers=60, step=step) for element in elements or tuple(Element)
    )


def flying(mode: Mode = Mode.RECALL, mastery: tuple[Mastery, ...] = (), talk: Talk = Talk.SHORT) -> Dialogue:
    """The first passage at 50 s, understood 0.4 s later."""
    options = Options(mode=mode, known=mastery, talk=talk)
    dialogue = Dialogue(eight_spoke(), options).wait_until(PASSAGE_S + 0.4)
    dialogue.hear("station passage", onset_s=PASSAGE_S)
    return dialogue


def asked(mastery: tuple[Mastery, ...] = ()) -> Dialogue:
    """The coming turn has been asked for, 25 s before leg time, and the question is over."""
    return flying(mastery=mastery).wait_until(PASSAGE_S + 38.0)


def answer(
    dialogue: Dialogue,
    digits: str,
    side: str | None = "left",
    kind: Kind = Kind.HEADING,
    after_s: float = 1.5,
) -> tuple[Action, ...]:
    onset_s = dialogue.at_s
    dialogue.wait_until(onset_s + after_s)
    return dialogue.handle(
        AnswerHeard(
            at_s=dialogue.at_s,
            onset_s=onset_s,
            kind=kind,
            digits=digits,
            direction=None if side is None else Direction(side),
            is_right=False,
        )
    )


def said_after(dialogue: Dialogue, at_s: float) -> list[tuple[float, str]]:
    return [(round(start_s - PASSAGE_S, 1), text) for start_s, text in dialogue.spoken if start_s >= at_s]


def expected(dialogue: Dialogue) -> list[str | None]:
    told = [action for _, actions in dialogue.all for action in actions if isinstance(action, Expect)]
    return [None if one.answer is None else str(one.answer) for one in told]


def records(dialogue: Dialogue) -> list[str]:
    return [action.what for _, actions in dialogue.all for action in actions if isinstance(action, Record)]


class TestRecall:
    def test_the_coming_turn_is_asked_for_25_s_before_leg_time(self):
        dialogue = asked()
        assert said_after(dialogue, PASSAGE_S + 10) == [(35.3, "Coming turn?")]
        assert expected(dialogue) == ["left 195"]

    def test_a_right_answer_is_acknowledged_by_a_tone_and_not_told_at_ten_seconds(self):
        dialogue = asked()
        assert answer(dialogue, "195")[1:] == (Sound(tone=Tone.HEARD), Expect(kind=None), dialogue.shown)
        dialogue.wait_until(PASSAGE_S + 60.5)
        assert said_after(dialogue, PASSAGE_S + 38) == [(60.0, "Left, one niner five")]
        assert dialogue.all[-1][1] == () or dialogue.tones[-1] == "cue"

    def test_the_journal_has_the_answer_and_its_time(self):
        dialogue = asked()
        answer(dialogue, "195")
        assert "asked coming turn, left 195: answered left 195 after 1.9 s, right" in records(dialogue)

    @pytest.mark.parametrize(
        ("digits", "side", "text"),
        [
            ("190", "left", "Near. Coming left, one niner five"),
            ("195", "right", "Other side. Coming left, one niner five"),
            ("015", "left", "Reciprocal. Coming left, one niner five"),
            ("195", None, "Coming left, one niner five"),
            ("300", "left", "No. Coming left, one niner five"),
        ],
    )
    def test_whatever_is_wrong_is_corrected_in_time_for_the_turn(
        self, digits: str, side: str | None, text: str
    ):
        dialogue = asked()
        answer(dialogue, digits, side)
        assert dialogue.texts == [text]
        dialogue.wait_until(PASSAGE_S + 60.5)
        assert said_after(dialogue, PASSAGE_S + 42) == [(60.0, "Left, one niner five")]

    def test_no_answer_is_told_at_ten_seconds(self):
        dialogue = asked().wait_until(PASSAGE_S + 60.5)
        assert said_after(dialogue, PASSAGE_S + 37) == [
            (50.0, "Ten seconds. Left, one niner five"),
            (60.0, "Left, one niner five"),
        ]
        assert "asked coming turn, left 195: no answer" in records(dialogue)

    def test_an_answer_begun_within_eight_seconds_counts_however_long_it_takes(self):
        dialogue = asked().wait_until(PASSAGE_S + 43.9)
        answer(dialogue, "195", after_s=2.4)
        assert "right" in records(dialogue)[-1]

    def test_an_answer_begun_later_does_not(self):
        dialogue = asked().wait_until(PASSAGE_S + 44.5)
        answer(dialogue, "195")
        assert dialogue.wait_until(PASSAGE_S + 51).spoken[-1][1] == "Ten seconds. Left, one niner five"

    def test_an_answer_to_nothing_changes_nothing(self):
        dialogue = flying().wait_until(PASSAGE_S + 20)
        assert answer(dialogue, "195") == ()

    def test_what_is_coming_is_not_shown_before_it_is_told_or_answered(self):
        dialogue = asked()
        assert dialogue.shown.coming == ""
        answer(dialogue, "195")
        assert dialogue.shown.coming == "Left, one niner five"

    def test_the_screen_says_why(self):
        assert asked().shown.note == "Coming turn? (next leg: full, not asked yet)"

    def test_a_voice_that_is_not_understood_gets_a_low_tone_and_no_use_key(self):
        dialogue = asked()
        for _ in range(3):
            dialogue.mishear()
        assert dialogue.tones[-3:] == ["low"] * 3
        assert "Use key" not in [text for _, text in dialogue.spoken]

    def test_an_answer_that_is_never_understood_is_told_and_tells_nothing(self):
        dialogue = asked()
        dialogue.mishear()
        dialogue.wait_until(PASSAGE_S + 51)
        assert dialogue.spoken[-1][1] == "Ten seconds. Left, one niner five"
        assert {mastery.answers for mastery in dialogue.session.mastery} == {0}
        assert "asked coming turn, left 195: not understood" in records(dialogue)

    @pytest.mark.parametrize("phrase", ["stand by", "traffic", "rejoin", "where now"])
    def test_who_says_something_else_is_not_judged(self, phrase: str):
        dialogue = asked()
        dialogue.hear(phrase)
        assert expected(dialogue)[-1] is None
        dialogue.wait_until(PASSAGE_S + 58)
        assert not [line for line in records(dialogue) if line.startswith("asked")]

    def test_who_transmits_is_not_judged_but_may_answer_by_push_to_talk(self):
        dialogue = asked()
        dialogue.handle(TransmitStarted(at_s=dialogue.at_s, onset_s=dialogue.at_s))
        dialogue.wait_until(PASSAGE_S + 60.5)
        assert {mastery.answers for mastery in dialogue.session.mastery} == {0}
        other = asked()
        other.handle(TransmitStarted(at_s=other.at_s, onset_s=other.at_s))
        answer(other, "195")
        assert "right" in records(other)[-1]

    @pytest.mark.parametrize("mode", [Mode.RECALL, Mode.CALLOUT])
    @pytest.mark.parametrize("edge", ["ear", "microphone"])
    def test_without_an_ear_everything_is_told_and_nothing_judged(self, mode: Mode, edge: str):
        dialogue = flying(mode, known(Step.SILENCE))
        times = {"at_s": dialogue.at_s, "onset_s": dialogue.at_s}
        dialogue.handle(EdgeFailed(**times, edge=edge, reason="gone"))  # type: ignore[arg-type]
        dialogue.wait_until(PASSAGE_S + 61)
        assert [text for _, text in said_after(dialogue, PASSAGE_S + 10)] == [
            "Ten seconds. Left, one niner five",
            "Left, one niner five",
        ]
        times = {"at_s": dialogue.at_s, "onset_s": dialogue.at_s}
        dialogue.handle(EdgeRecovered(**times, edge=edge))  # type: ignore[arg-type]
        assert {mastery.answers for mastery in dialogue.session.mastery} == {60}
        said = len(dialogue.spoken)
        assert (len(dialogue.wait_until(PASSAGE_S + 75).spoken) > said) is (mode is Mode.CALLOUT)

    def test_the_other_question_comes_inbound_never_in_the_last_forty_seconds(self):
        dialogue = asked()
        answer(dialogue, "195")
        dialogue.wait_until(PASSAGE_S + 98)
        answer(dialogue, "015", "right")
        dialogue.wait_until(PASSAGE_S + 165)
        dialogue.hear("needle alive")
        dialogue.wait_until(PASSAGE_S + 359)
        questions = [(at_s, text) for at_s, text in said_after(dialogue, 0) if text.endswith("?")]
        assert [text for _, text in questions][:2] == ["Coming turn?"] * 2 or len(questions) > 2
        others = [(at_s, text) for at_s, text in questions if at_s > 165 and text != "Passage?"]
        assert len(others) <= 1
        assert all(165 + 45 <= at_s <= 345 - 40 for at_s, _ in others)

    @pytest.mark.parametrize("mode", [Mode.TOLD, Mode.CALLOUT])
    def test_the_other_modes_ask_nothing(self, mode: Mode):
        dialogue = flying(mode).wait_until(PASSAGE_S + 119)
        assert not [text for _, text in dialogue.spoken if text.endswith("turn?")]


class TestFading:
    def test_at_full_everything_is_said_that_the_told_mode_says(self):
        told = flying(Mode.TOLD).wait_until(PASSAGE_S + 61)
        recall = asked().wait_until(PASSAGE_S + 61)
        assert [text for _, text in recall.spoken if text != "Coming turn?"] == [
            text for _, text in told.spoken
        ]

    def test_at_silence_nothing_is_said_and_nothing_sounds(self):
        dialogue = flying(mastery=known(Step.SILENCE))
        tones = len(dialogue.tones)
        dialogue.wait_until(PASSAGE_S + 75)
        assert said_after(dialogue, PASSAGE_S) == []
        assert len(dialogue.tones) == tones
        assert dialogue.leg == "1 offset"

    def test_at_cue_a_tone_marks_ten_seconds_and_the_turn(self):
        dialogue = flying(mastery=known(Step.CUE)).wait_until(PASSAGE_S + 61)
        assert dialogue.tones[-2:] == ["cue", "cue"]
        assert said_after(dialogue, PASSAGE_S + 20) == []

    def test_a_heading_that_is_known_is_left_out_and_the_side_still_said(self):
        for element, left in ((Element.HEADING, "Left"), (Element.SIDE, "One niner five")):
            dialogue = asked(known(Step.SILENCE, element))
            answer(dialogue, "195")
            dialogue.wait_until(PASSAGE_S + 61)
            assert dialogue.spoken[-1][1] == left

    def test_the_course_fades_to_its_name(self):
        dialogue = flying(mastery=known(Step.CUE, Element.COURSE)).wait_until(PASSAGE_S + 75)
        assert dialogue.spoken[-1][1] == "Course"

    def test_a_mistake_is_told_in_full_at_the_turn(self):
        dialogue = flying(mastery=known(Step.CUE)).wait_until(PASSAGE_S + 98)
        assert dialogue.spoken[-1][1] == "Coming turn?"
        answer(dialogue, "300")
        dialogue.wait_until(PASSAGE_S + 121)
        assert dialogue.spoken[-1] == (PASSAGE_S + 120.0, "Right, zero one five")

    def test_what_is_known_is_asked_more_rarely(self):
        legs = (Step.FULL, 1), (Step.CUE, 2), (Step.SILENCE, 3)
        for step, every in legs:
            dialogue = flying(mastery=known(step)).wait_until(PASSAGE_S + 100)
            assert ("Coming turn?" in dialogue.spoken[-1][1]) is (every <= 2)

    def test_more_talk_brings_it_back(self):
        dialogue = flying(mastery=known(Step.CUE)).wait_until(PASSAGE_S + 20)
        dialogue.hear("more talk")
        dialogue.wait_until(PASSAGE_S + 61)
        assert dialogue.spoken[-1][1] == "Left, one niner five"

    def test_less_talk_takes_it_away(self):
        dialogue = asked(known(Step.SHORT))
        answer(dialogue, "195")
        dialogue.hear("less talk")
        dialogue.wait_until(PASSAGE_S + 61)
        assert dialogue.spoken[-1][1] == "Coming turn?"

    def test_the_told_mode_fades_nothing(self):
        told = flying(Mode.TOLD).wait_until(PASSAGE_S + 200).spoken
        assert flying(Mode.TOLD, known(Step.SILENCE)).wait_until(PASSAGE_S + 200).spoken == told

    def test_what_was_learnt_is_there_afterwards(self):
        dialogue = asked()
        answer(dialogue, "195")
        elements = {mastery.element: mastery for mastery in dialogue.session.mastery}
        assert elements[Element.HEADING].known == 1.0
        assert elements[Element.TIMER].answers == 0


class TestCallouts:
    def test_a_good_callout_is_answered_by_one_tone_and_no_word(self):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 1.0)
        tones = len(dialogue.tones)
        answer(dialogue, "240")
        dialogue.wait_until(PASSAGE_S + 3.2)
        dialogue.hear("time")
        answer(dialogue, "240", None, Kind.COURSE)
        dialogue.hear("throttle")
        assert len(dialogue.tones) == tones
        dialogue.hear("talk")
        assert dialogue.tones[tones:] == ["heard"]
        dialogue.wait_until(PASSAGE_S + 40)
        assert said_after(dialogue, PASSAGE_S) == []
        assert "callout complete in 4.7 s" in records(dialogue)

    def test_the_coach_says_nothing_at_leg_time(self):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 56)
        answer(dialogue, "195")
        dialogue.wait_until(PASSAGE_S + 61)
        assert dialogue.leg == "1 offset"
        assert not [text for at_s, text in said_after(dialogue, PASSAGE_S + 30)]

    def test_a_missing_turn_is_told_after_five_seconds_the_rest_after_fifteen(self):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 59).wait_until(PASSAGE_S + 82)
        said = said_after(dialogue, PASSAGE_S + 60)
        assert said[0] == (65.3, "Left, one niner five")
        assert "Clock runs on" in [text for _, text in said]
        assert [line for line in records(dialogue) if line.startswith("callout:")]

    @pytest.mark.parametrize(
        ("digits", "side", "text"),
        [("195", "right", "Other side. Left, one niner five"), ("200", "left", "Near. Left, one niner five")],
    )
    def test_a_wrong_turn_is_corrected_at_once(self, digits: str, side: str, text: str):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 61)
        answer(dialogue, digits, side)
        assert dialogue.texts == [text]

    def test_a_wrong_course_is_corrected_at_once(self):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 61)
        answer(dialogue, "195")
        answer(dialogue, "240", None, Kind.COURSE)
        assert dialogue.texts == ["Reciprocal. Course zero six zero"]

    def test_time_is_a_t_about_a_checkpoint_and_a_question_elsewhere(self):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 2)
        dialogue.hear("time")
        assert dialogue.texts == []
        dialogue.wait_until(PASSAGE_S + 35)
        dialogue.hear("time")
        assert dialogue.texts == ["Twenty-five to go"]

    def test_the_words_of_a_callout_are_listened_for_about_a_checkpoint_only(self):
        dialogue = flying(Mode.CALLOUT)
        assert {"throttle", "talk"} <= set(dialogue.listening)
        dialogue.wait_until(PASSAGE_S + 30)
        assert not {"throttle", "talk"} & set(dialogue.listening)
        assert not {"throttle", "talk"} & set(flying(Mode.RECALL).listening)

    def test_the_heading_is_listened_for_then_the_course(self):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 61)
        answer(dialogue, "195")
        assert expected(dialogue)[-2:] == ["left 195", "course 060"]

    def test_a_t_that_is_not_understood_gets_a_low_tone_and_no_use_key(self):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 2)
        for _ in range(2):
            dialogue.mishear()
        assert dialogue.tones[-2:] == ["low"] * 2
        assert dialogue.texts == []

    def test_a_callout_is_kept_as_what_is_known(self):
        dialogue = flying(Mode.CALLOUT).wait_until(PASSAGE_S + 25)
        elements = {mastery.element: mastery for mastery in dialogue.session.mastery}
        assert elements[Element.TIMER].answers == 1
        assert elements[Element.TIMER].known == 0.0


@pytest.mark.parametrize("mode", list(Mode))
def test_digits_that_are_none_are_let_go(mode: Mode):
    dialogue = flying(mode).wait_until(PASSAGE_S + 38)
    assert answer(dialogue, "999") == ()


def test_noise_while_nothing_is_asked_still_ends_at_the_key():
    dialogue = flying().wait_until(PASSAGE_S + 20)
    for _ in range(2):
        dialogue.handle(NotUnderstood(at_s=dialogue.at_s, onset_s=dialogue.at_s, reason="no phrase fits"))
    assert dialogue.texts == ["Use key"]


class TestSettled:
    """When a question may be asked: never before the wings are level for certain."""

    def test_after_an_intercept_the_last_turn_is_waited_for(self):
        dialogue = flying().wait_until(PASSAGE_S + 165)
        dialogue.hear("needle alive")
        progress, plan = dialogue.session.progress, eight_spoke()
        established_s = plan.legs[3].established_s or 0.0
        alive_s = plan.legs[2].needle_alive_s or 0.0
        assert settled_s(plan, progress) == progress.begun_s + max(45.0, established_s - alive_s)

    def test_the_pilots_word_settles_it(self):
        dialogue = flying().wait_until(PASSAGE_S + 165)
        dialogue.hear("needle alive")
        dialogue.wait_until(PASSAGE_S + 200)
        dialogue.hear("established")
        assert settled_s(eight_spoke(), dialogue.session.progress) == PASSAGE_S + 200

    def test_a_turn_of_a_minute_is_waited_for(self):
        drill = plan_drill(read_drill("hold-station", {}))
        progress = Progress(state=State.FLYING, leg_i=1, begun_s=100.0)
        assert settled_s(drill, progress) >= 160.0
