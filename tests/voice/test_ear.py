"""The ear: blocks in, facts out, on made-up sounds and a made-up recogniser."""

from __future__ import annotations

import numpy as np
import pytest

from coach.session.answers import Answer, Direction, Kind, heading
from coach.session.events import AnswerHeard, NotUnderstood, PhraseHeard, SpeechEnded, SpeechStarted
from coach.voice.answer_reading import AnswerReading, accept, refuse
from coach.voice.ear import Ear, Fact
from coach.voice.endpoint import ANSWER_END_FRAMES, EARLY_FRAMES, END_FRAMES
from coach.voice.gate import FRAME_S
from coach.voice.recogniser import SAMPLE_RATE_HZ, Reading, Samples, Ways
from coach.voice.voice_activity import GateActivity

WAYS: Ways = (("next leg", "next leg"), ("next", "next leg"), ("passage", "station passage"))


class FakeRecogniser:
    """Answers what it is told to, and keeps what it was asked."""

    name = "fake"

    def __init__(self, *answers: Reading) -> None:
        self.answers = list(answers)
        self.read_s: list[float] = []
        self.voice_s: list[float] = []
        self.ways: Ways = ()
        self.readings: list[AnswerReading] = [refuse("no answer fits")]
        self.expected: list[Answer] = []

    def listen_for(self, ways: Ways) -> None:
        self.ways = ways

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        return ()

    def read_answer(self, audio: Samples, voice_s: float, expected: Answer) -> AnswerReading:
        self.expected.append(expected)
        return self.readings.pop(0) if len(self.readings) > 1 else self.readings[0]

    def read(self, audio: Samples, voice_s: float) -> Reading:
        self.read_s.append(len(audio) / SAMPLE_RATE_HZ)
        self.voice_s.append(voice_s)
        return self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]


PASSAGE = Reading(phrase="station passage", way="passage", score=0.9)
NEXT = Reading(phrase="next leg", way="next", score=0.8)
NEXT_LEG = Reading(phrase="next leg", way="next leg", score=0.9)
NOTHING = Reading(phrase=None, way=None, score=0.0, reason="no phrase fits")


def make_sound(*voices: tuple[float, float], seconds: float) -> np.ndarray:
    """Quiet hiss with bursts of buzz at (start, end)."""
    rng = np.random.default_rng(3)
    sound = 0.001 * rng.standard_normal(round(seconds * SAMPLE_RATE_HZ))
    for start_s, end_s in voices:
        t = np.arange(round(start_s * SAMPLE_RATE_HZ), round(end_s * SAMPLE_RATE_HZ))
        sound[t] += 0.2 * np.sign(np.sin(2 * np.pi * 140 * t / SAMPLE_RATE_HZ))
    return (sound * 32767).astype(np.int16)


def make_ear(*answers: Reading) -> tuple[Ear, FakeRecogniser]:
    recogniser = FakeRecogniser(*answers)
    ear = Ear(recogniser, GateActivity())
    ear.listen_for(WAYS)
    return ear, recogniser


def hear(ear: Ear, sound: np.ndarray, *, block: int = 800, at_s: float = 100.0) -> list[Fact]:
    starts = range(0, len(sound), block)
    return [fact for k in starts for fact in ear.hear(sound[k : k + block], at_s + k / SAMPLE_RATE_HZ)]


def test_word_is_started_ended_and_heard_in_that_order() -> None:
    ear, _ = make_ear(PASSAGE)
    started, ended, heard = hear(ear, make_sound((1.0, 1.5), seconds=3))
    assert isinstance(started, SpeechStarted)
    assert isinstance(ended, SpeechEnded)
    assert isinstance(heard, PhraseHeard)
    assert (heard.phrase, heard.by, heard.score) == ("station passage", "voice", 0.9)


def test_onset_of_a_word_is_its_first_sound_on_the_session_clock() -> None:
    ear, _ = make_ear(PASSAGE)
    started, ended, heard = hear(ear, make_sound((1.0, 1.5), seconds=3))
    assert started.onset_s == pytest.approx(101.0, abs=0.015)
    assert heard.onset_s == started.onset_s
    assert ended.onset_s == pytest.approx(101.5, abs=0.04)


def test_sound_right_after_a_word_is_not_read_with_that_word_before_it() -> None:
    ear, recogniser = make_ear(PASSAGE)
    facts = hear(ear, make_sound((1.0, 1.6), (1.85, 2.15), seconds=4))
    started = [fact for fact in facts if isinstance(fact, SpeechStarted)]
    assert len(started) == 2
    assert started[1].onset_s > 101.6
    assert recogniser.read_s[-1] < 0.3 + (1.85 - 1.6) + 0.4


def test_half_a_phrase_taken_for_the_whole_is_waited_out() -> None:
    """ "Station ..." may read as "station passage": with its second half it is one utterance, heard once."""
    ear, _ = make_ear(Reading(phrase="station passage", way="station passage", score=0.9))
    facts = hear(ear, make_sound((1.0, 1.4), (1.62, 2.1), seconds=4))
    assert [type(fact) for fact in facts] == [SpeechStarted, SpeechEnded, PhraseHeard]


def test_complete_phrase_is_told_before_the_whole_silence_is_waited_out() -> None:
    ear, _ = make_ear(PASSAGE)
    *_, heard = hear(ear, make_sound((1.0, 1.5), seconds=3))
    assert heard.at_s - 101.5 == pytest.approx(EARLY_FRAMES * FRAME_S, abs=0.04)


def test_phrase_that_may_go_on_waits_for_the_whole_silence() -> None:
    ear, _ = make_ear(NEXT)
    *_, heard = hear(ear, make_sound((1.0, 1.5), seconds=3))
    assert heard.at_s - 101.5 == pytest.approx(END_FRAMES * FRAME_S, abs=0.04)


def test_reading_begun_in_a_pause_is_thrown_away_when_the_voice_goes_on() -> None:
    ear, recogniser = make_ear(NEXT, NEXT_LEG)
    facts = hear(ear, make_sound((1.0, 1.4), (1.6, 1.9), seconds=3))
    assert [type(fact) for fact in facts] == [SpeechStarted, SpeechEnded, PhraseHeard]
    assert facts[-1].score == NEXT_LEG.score
    assert len(recogniser.read_s) == 2
    assert recogniser.read_s[1] > recogniser.read_s[0] + 0.4


def test_what_is_no_command_is_told_with_its_reason() -> None:
    ear, _ = make_ear(NOTHING)
    *_, told = hear(ear, make_sound((1.0, 1.5), seconds=3))
    assert isinstance(told, NotUnderstood)
    assert told.reason == "no phrase fits"
    assert told.onset_s == pytest.approx(101.0, abs=0.015)


def test_recogniser_is_told_how_long_the_voice_lasts() -> None:
    ear, recogniser = make_ear(PASSAGE)
    hear(ear, make_sound((1.0, 1.6), seconds=3))
    assert recogniser.voice_s == pytest.approx([0.6], abs=0.05)


def test_sentence_longer_than_any_phrase_is_not_even_read() -> None:
    ear, recogniser = make_ear(PASSAGE)
    *_, told = hear(ear, make_sound((1.0, 4.0), seconds=6))
    assert isinstance(told, NotUnderstood)
    assert told.reason == "longer than any phrase"
    assert recogniser.read_s == []


def test_twelve_seconds_of_talk_are_too_long_and_never_read() -> None:
    ear, recogniser = make_ear(PASSAGE)
    facts = hear(ear, make_sound((1.0, 15.0), seconds=17))
    assert [type(fact) for fact in facts] == [SpeechStarted, NotUnderstood, SpeechEnded]
    assert facts[1].reason == "too long"
    assert facts[1].at_s == pytest.approx(113.0, abs=0.1)
    assert recogniser.read_s == []


def test_word_after_endless_talk_is_heard() -> None:
    ear, _ = make_ear(PASSAGE)
    facts = hear(ear, make_sound((1.0, 15.0), (18.0, 18.5), seconds=20))
    assert isinstance(facts[-1], PhraseHeard)
    assert facts[-1].onset_s == pytest.approx(118.0, abs=0.03)


def test_knock_is_no_word() -> None:
    ear, recogniser = make_ear(PASSAGE)
    facts = hear(ear, make_sound((1.0, 1.02), seconds=3))
    assert [fact for fact in facts if isinstance(fact, PhraseHeard | NotUnderstood)] == []
    assert recogniser.read_s == []


@pytest.mark.parametrize("block", [160, 512, 801, 1600, 48000])
def test_length_of_the_blocks_changes_nothing(block: int) -> None:
    sound = make_sound((1.0, 1.5), (2.5, 3.1), seconds=5)
    assert hear(make_ear(PASSAGE)[0], sound, block=block) == pytest.approx(hear(make_ear(PASSAGE)[0], sound))


def test_same_blocks_give_the_same_facts() -> None:
    sound = make_sound((1.0, 1.5), (2.5, 3.1), seconds=5)
    assert hear(make_ear(PASSAGE)[0], sound) == hear(make_ear(PASSAGE)[0], sound)


def test_lost_sound_breaks_the_utterance_off() -> None:
    ear, recogniser = make_ear(PASSAGE)
    sound = make_sound((1.0, 2.0), seconds=4)
    before = hear(ear, sound[:24000])
    after = hear(ear, sound[40000:], at_s=102.5)
    assert [type(fact) for fact in before + after] == [SpeechStarted, SpeechEnded, NotUnderstood]
    assert after[-1].reason == "sound was lost"
    assert recogniser.read_s == []


def test_grammar_changed_in_a_word_reads_it_again() -> None:
    ear, recogniser = make_ear(NEXT)
    sound = make_sound((1.0, 1.5), seconds=3)
    hear(ear, sound[:26000])
    ear.listen_for((("abeam", "abeam"),))
    hear(ear, sound[26000:], at_s=100 + 26000 / SAMPLE_RATE_HZ)
    assert len(recogniser.read_s) == 2


class FakeCleaner:
    """Takes the echo away sample by sample, and holds back what is no whole 10 ms."""

    def __init__(self) -> None:
        self.rest = np.empty(0, np.int16)

    def clean(self, block: np.ndarray, echo: np.ndarray) -> np.ndarray:
        clean = np.concatenate([self.rest, block - echo])
        whole = len(clean) // 160 * 160
        self.rest = clean[whole:]
        return clean[:whole]


@pytest.mark.parametrize("block", [800, 777])
def test_own_voice_is_taken_out_and_the_pilots_keeps_its_time(block: int) -> None:
    ear = Ear(FakeRecogniser(PASSAGE), GateActivity(), FakeCleaner())
    ear.listen_for(WAYS)
    coach = make_sound((0.5, 2.5), seconds=4)
    pilot = make_sound((3.0, 3.4), seconds=4)
    facts: list[Fact] = []
    for k in range(0, len(coach), block):
        echo = coach[k : k + block]
        facts += ear.hear(pilot[k : k + block] + echo, 100 + k / SAMPLE_RATE_HZ, echo)
    assert [type(fact) for fact in facts] == [SpeechStarted, SpeechEnded, PhraseHeard]
    assert facts[-1].onset_s == pytest.approx(103.0, abs=0.03)


def test_facts_never_happen_after_they_are_told() -> None:
    ear, _ = make_ear(PASSAGE)
    facts = hear(ear, make_sound((0.02, 0.5), (1.0, 1.2), (2.0, 16.0), seconds=18))
    assert facts
    assert all(fact.onset_s <= fact.at_s for fact in facts)


TURN = heading(315, Direction.LEFT)
RIGHT_TURN = accept(TURN, TURN, score=-0.4, margin=3.0)


def make_asking_ear(
    expected: Answer, *readings: AnswerReading, phrase: Reading = NOTHING
) -> tuple[Ear, FakeRecogniser]:
    ear, recogniser = make_ear(phrase)
    recogniser.readings = list(readings)
    ear.expect(expected)
    return ear, recogniser


def test_answer_is_told_beside_the_phrases() -> None:
    ear, recogniser = make_asking_ear(TURN, RIGHT_TURN)
    *_, told = hear(ear, make_sound((1.0, 2.0), seconds=4))
    assert told == AnswerHeard(
        at_s=told.at_s,
        onset_s=pytest.approx(101.0, abs=0.015),
        kind=Kind.HEADING,
        digits="315",
        direction=Direction.LEFT,
        is_right=True,
        score=-0.4,
    )
    assert recogniser.expected == [TURN]


def test_another_answer_is_told_as_what_was_heard_and_not_right() -> None:
    ear, _ = make_asking_ear(TURN, accept(heading(135), TURN, score=-0.4, margin=3.0))
    *_, told = hear(ear, make_sound((1.0, 2.0), seconds=4))
    assert (told.digits, told.direction, told.is_right) == ("135", None, False)


def test_phrase_comes_before_an_answer() -> None:
    ear, recogniser = make_asking_ear(TURN, RIGHT_TURN, phrase=PASSAGE)
    *_, told = hear(ear, make_sound((1.0, 2.0), seconds=4))
    assert isinstance(told, PhraseHeard)
    assert recogniser.expected == []


def test_answer_that_cannot_be_told_is_not_understood_for_its_own_reason() -> None:
    ear, _ = make_asking_ear(TURN, refuse("two answers fit"))
    *_, told = hear(ear, make_sound((1.0, 2.0), seconds=4))
    assert isinstance(told, NotUnderstood)
    assert told.reason == "two answers fit"


def test_answer_of_ten_seconds_is_read_though_no_phrase_is_so_long() -> None:
    number = Answer(kind=Kind.NUMBER, digits="123456789012")
    ear, recogniser = make_asking_ear(number, accept(number, number, score=-0.4, margin=3.0))
    *_, told = hear(ear, make_sound((1.0, 11.0), seconds=13))
    assert isinstance(told, AnswerHeard)
    assert recogniser.read_s == []


def test_number_with_a_long_pause_is_one_answer() -> None:
    number = Answer(kind=Kind.NUMBER, digits="4126")
    half = accept(Answer(kind=Kind.NUMBER, digits="412"), number, score=-0.4, margin=3.0)
    ear, _ = make_asking_ear(number, half, accept(number, number, score=-0.4, margin=3.0))
    facts = hear(ear, make_sound((1.0, 2.0), (2.7, 3.2), seconds=6))
    assert [type(fact) for fact in facts] == [SpeechStarted, SpeechEnded, AnswerHeard]
    assert facts[-1].digits == "4126"
    assert facts[-1].at_s - 103.2 == pytest.approx(ANSWER_END_FRAMES * FRAME_S, abs=0.04)


def test_complete_direction_does_not_wait_so_long() -> None:
    ear, _ = make_asking_ear(TURN, RIGHT_TURN)
    *_, told = hear(ear, make_sound((1.0, 2.0), seconds=4))
    assert told.at_s - 102.0 == pytest.approx(END_FRAMES * FRAME_S, abs=0.04)


def test_direction_that_is_not_complete_may_go_on_after_a_pause() -> None:
    ear, _ = make_asking_ear(TURN, refuse("no answer fits"), RIGHT_TURN)
    facts = hear(ear, make_sound((1.0, 2.0), (2.6, 3.0), seconds=5))
    assert [type(fact) for fact in facts] == [SpeechStarted, SpeechEnded, AnswerHeard]


def test_answers_are_no_longer_told_when_none_is_expected() -> None:
    ear, recogniser = make_asking_ear(TURN, RIGHT_TURN)
    ear.expect(None)
    *_, told = hear(ear, make_sound((1.0, 2.0), seconds=4))
    assert isinstance(told, NotUnderstood)
    assert recogniser.expected == []
