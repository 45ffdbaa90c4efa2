"""Answers by each recogniser, on made-up models: what is right, what is another, what cannot be told."""

from __future__ import annotations

import json
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from coach.session.answer_tree import follow_answer
from coach.session.answer_words import ENGLISH, KOREAN
from coach.session.answers import Answer, Direction, Kind, heading
from coach.voice.answer_reading import NOTHING_FITS, AnswerReading, Verdict
from coach.voice.lengths import find_usual_s
from coach.voice.recognisers import pocketsphinx_answers, vosk_answers, whisper_answers
from coach.voice.recognisers.answer_search import search_answers
from coach.voice.recognisers.phrase_tree import LogProbabilities, Tokens
from coach.voice.recognisers.vosk import UNKNOWN, VoskRecogniser
from coach.voice.recognisers.whisper import WhisperRecogniser

LETTERS = " .abcdefghijklmnopqrstuvwxyz"
SOUND = np.full(16_000, 0.5, np.float32)
LEFT_315 = heading(315, Direction.LEFT)


class LetterModel:
    """Spells in letters and hears one text, or as often another: each of its letters is `sure`."""

    def __init__(self, *texts: str, sure: float = 0.9) -> None:
        self.texts = [f" {text}." for text in texts]
        self.sure = sure
        self.encoded = 0

    def encode(self, audio: np.ndarray) -> str:
        self.encoded += 1
        return "heard"

    def predict(
        self, heard: Any, primer: Tokens, beginning: Tokens, ahead: int
    ) -> tuple[tuple[Tokens, LogProbabilities], ...]:
        return tuple((beginning[:n], self._after(beginning[:n])) for n in range(len(beginning) + 1))

    def encode_text(self, text: str) -> Tokens:
        return tuple(LETTERS.index(letter) for letter in text.lower())

    def _after(self, beginning: Tokens) -> LogProbabilities:
        said = "".join(LETTERS[token] for token in beginning)
        nexts = {text[len(said)] for text in self.texts if text.startswith(said) and text != said}
        likely = np.full(len(LETTERS), (1 - self.sure) / len(LETTERS), np.float32)
        for letter in nexts:
            likely[LETTERS.index(letter)] = self.sure / len(nexts)
        return np.log(likely)


def read(model: LetterModel, expected: Answer, way: str) -> AnswerReading:
    return WhisperRecogniser(model).read_answer(SOUND, find_usual_s(way), expected)


@pytest.mark.parametrize(
    "said", ["left three one five", "left tree wun five", "turn left heading three fifteen"]
)
def test_whisper_reads_an_answer_in_any_way_of_saying(said: str) -> None:
    said = said.replace("wun", "one")
    reading = read(LetterModel(said), LEFT_315, said)
    assert (reading.verdict, reading.answer) == (Verdict.RIGHT, LEFT_315)


@pytest.mark.parametrize(
    "expected", [heading(315), heading(315, Direction.RIGHT), heading(135, Direction.LEFT)]
)
def test_whisper_hears_another_answer_as_what_it_is(expected: Answer) -> None:
    reading = read(LetterModel("left three one five"), expected, "left three one five")
    assert (reading.verdict, reading.answer) == (Verdict.ANOTHER, LEFT_315)


def test_whisper_does_not_choose_between_two_answers_though_one_is_expected() -> None:
    reading = read(LetterModel("three one five", "three one nine"), heading(315), "three one five")
    assert (reading.verdict, reading.reason) == (Verdict.NOT_UNDERSTOOD, "two answers fit")


def test_whisper_takes_two_ways_of_one_answer_for_one() -> None:
    reading = read(LetterModel("three one five", "tree one five"), heading(315), "three one five")
    assert reading.verdict is Verdict.RIGHT


def test_whisper_refuses_what_is_no_answer() -> None:
    reading = read(LetterModel("could you hand me the map"), heading(315), "three one five")
    assert (reading.verdict, reading.reason) == (Verdict.NOT_UNDERSTOOD, NOTHING_FITS)


def test_whisper_reads_a_number_to_its_end() -> None:
    said = "four one two two six eight"
    expected = Answer(kind=Kind.NUMBER, digits="412268")
    assert read(LetterModel(said), expected, said).verdict is Verdict.RIGHT
    shorter = Answer(kind=Kind.NUMBER, digits="412")
    assert read(LetterModel(said), shorter, said).answer == expected


def test_whisper_refuses_a_voice_that_went_on_after_the_answer() -> None:
    said = "four one two"
    expected = Answer(kind=Kind.NUMBER, digits="412")
    reading = WhisperRecogniser(LetterModel(said)).read_answer(SOUND, 3.2 * find_usual_s(said), expected)
    assert (reading.verdict, reading.reason) == (Verdict.NOT_UNDERSTOOD, "longer than the answer")


def test_whisper_hears_the_same_sound_once_for_phrase_and_answer() -> None:
    model = LetterModel("three one five")
    recogniser = WhisperRecogniser(model)
    recogniser.listen_for((("halt", "stop"),))
    before = model.encoded
    recogniser.read(SOUND, 0.7)
    after_phrase = model.encoded
    recogniser.read_answer(SOUND, 0.7, heading(315))
    recogniser.read_answer(SOUND.copy(), 0.7, heading(315))
    assert after_phrase > before
    assert model.encoded == after_phrase + 1


class ForgetfulModel(LetterModel):
    """Hears the first text once, and another in the same sound when it is slower."""

    def encode(self, audio: np.ndarray) -> str:
        self.texts = [f" {'three one five' if len(audio) == len(SOUND) else 'three one nine'}."]
        return super().encode(audio)


def test_whisper_hears_a_doubtful_answer_a_second_time_slower(monkeypatch: pytest.MonkeyPatch) -> None:
    said = "three one five"
    assert read(ForgetfulModel(), heading(315), said).verdict is Verdict.RIGHT
    monkeypatch.setattr(whisper_answers, "SURE_MARGIN", 99.0)
    assert read(LetterModel(said), heading(315), said).verdict is Verdict.RIGHT
    reading = read(ForgetfulModel(), heading(315), said)
    assert (reading.verdict, reading.reason) == (Verdict.NOT_UNDERSTOOD, "two answers fit")


def test_search_gives_up_after_so_many_steps() -> None:
    asked: list[Tokens] = []

    def expand(beginning: Tokens) -> LogProbabilities:
        asked.append(beginning)
        return np.full(len(LETTERS), -0.1, np.float32)

    found = search_answers(
        lambda said: follow_answer(said, Kind.HEADING),
        lambda word, _: tuple(LETTERS.index(letter) for letter in f" {word}"),
        expand,
        end=1,
        spread=3.0,
        lowest=lambda _: -99.0,
        most_steps=7,
    )
    assert found == ()
    assert len(asked) == 7


class FakeSearches:
    """A decoder that reads what each search is told to, and keeps the grammars."""

    def __init__(self, said: str, fit: float, rivals: float, phones: float = -200.0) -> None:
        self.answers = {
            "own": (said, fit + 5, 100),
            "rivals": ("a rival", rivals + 5, 100),
            "phones": ("", phones, 100),
        }
        self.said = said, fit, 100
        self.grammars: dict[str, str] = {}
        self.words: set[str] = set()

    def add(self, name: str, jsgf: str, words: Any) -> None:
        self.grammars[name] = jsgf
        self.words |= set(words)

    def decode(self, name: str, _sound: bytes) -> tuple[str, float, int]:
        return self.answers.get(name, self.said)

    def read(self, expected: Answer, way: str = "three one five") -> AnswerReading:
        reader = pocketsphinx_answers.AnswerReader(self.add, self.decode, free="phones")
        return reader.read(b"", find_usual_s(way), expected)


CLEAR = pocketsphinx_answers.LOWEST_MARGIN + 1
DOUBTFUL = pocketsphinx_answers.LOWEST_MARGIN - 1


def test_pocketsphinx_answer_that_stands_clear_of_its_confusions_is_right() -> None:
    reading = FakeSearches("three one five", -120.0, -120.0 - CLEAR).read(heading(315))
    assert (reading.verdict, reading.answer, reading.margin) == (Verdict.RIGHT, heading(315), CLEAR)


def test_pocketsphinx_doubtful_answer_is_not_understood() -> None:
    for expected in (heading(315), heading(135)):
        reading = FakeSearches("three one five", -120.0, -120.0 - DOUBTFUL).read(expected)
        assert (reading.verdict, reading.reason) == (Verdict.NOT_UNDERSTOOD, "two answers fit")


def test_pocketsphinx_other_answer_must_stand_clear_of_the_expected_one() -> None:
    searches = FakeSearches("three one five", -120.0, -120.0 - CLEAR)
    assert searches.read(heading(135)).verdict is Verdict.ANOTHER
    assert "one three five" in searches.grammars["rivals"]
    assert "three one five" not in searches.grammars["rivals"]


@pytest.mark.parametrize(
    ("said", "phones", "reason"),
    [("three six one", -100.0, NOTHING_FITS), ("three one five", 500.0, NOTHING_FITS)],
    ids=["no heading", "the phones fit far better"],
)
def test_pocketsphinx_refuses_what_is_no_answer(said: str, phones: float, reason: str) -> None:
    assert FakeSearches(said, -120.0, -999.0, phones).read(heading(315)).reason == reason


def test_pocketsphinx_grammar_has_every_digit_word_and_the_rivals_keep_the_side() -> None:
    searches = FakeSearches("left three one five", -120.0, -999.0)
    assert searches.read(LEFT_315, "left three one five").verdict is Verdict.RIGHT
    assert searches.words >= {"zero", "oh", "tree", "fife", "niner", "eighty", "heading", "degrees"}
    rivals = searches.grammars["rivals"]
    assert "right" in rivals
    assert "left three one five" not in rivals
    assert "hundred" not in rivals


class FakeVosk:
    """The library: what a decoder reads is set from outside."""

    def __init__(self, *said: tuple[str, float]) -> None:
        self.said = said
        self.grammars: list[list[str]] = []

    def KaldiRecognizer(self, _model: Any, _rate_hz: int, grammar: str) -> Any:  # noqa: N802
        self.grammars.append(json.loads(grammar))
        words = [{"word": word, "conf": sure} for word, sure in self.said]
        return SimpleNamespace(
            SetWords=lambda _: None,
            Reset=lambda: None,
            AcceptWaveform=lambda _: None,
            FinalResult=lambda: json.dumps({"result": words}),
        )


def make_vosk(vosk: FakeVosk, *, language: str = "en", lacks: tuple[str, ...] = ()) -> VoskRecogniser:
    model = SimpleNamespace(vosk_model_find_word=lambda word: -1 if word in lacks else 1)
    return VoskRecogniser(vosk, model, "fake", lowest_confidence=0.8, language=language)


def test_vosk_reads_an_answer_in_its_own_language() -> None:
    vosk = FakeVosk(("왼쪽", 1.0), ("삼", 1.0), ("하나", 0.95), ("오", 1.0))
    reading = make_vosk(vosk, language="ko").read_answer(SOUND, 1.0, LEFT_315)
    assert (reading.verdict, reading.answer, reading.score) == (Verdict.RIGHT, LEFT_315, 0.95)
    assert {"왼쪽", "공", UNKNOWN} <= set(vosk.grammars[0])


def test_vosk_with_one_doubtful_word_is_not_understood() -> None:
    vosk = FakeVosk(("three", 1.0), ("one", vosk_answers.LOWEST_CONFIDENCE - 0.01), ("five", 1.0))
    assert make_vosk(vosk).read_answer(SOUND, 1.0, heading(315)).reason == "two answers fit"


@pytest.mark.parametrize(
    ("language", "lacks", "reason"),
    [
        ("fi", (), "no answers in language fi"),
        ("en", ("three", "tree"), "the ear does not know every digit"),
        ("en", ("tree",), NOTHING_FITS),
    ],
)
def test_vosk_says_what_it_lacks(language: str, lacks: tuple[str, ...], reason: str) -> None:
    vosk = FakeVosk((UNKNOWN, 1.0))
    reading = make_vosk(vosk, language=language, lacks=lacks).read_answer(SOUND, 1.0, heading(315))
    assert (reading.verdict, reading.reason) == (Verdict.NOT_UNDERSTOOD, reason)
    assert all("tree" not in grammar for grammar in vosk.grammars if "tree" in lacks)


def test_vosk_grammar_has_every_digit_once() -> None:
    for words in (ENGLISH, KOREAN):
        phrases = vosk_answers.list_answer_phrases(Kind.NUMBER, words)
        assert all(way in phrases for said in words.digits for way in said)
        assert len(set(phrases)) == len(phrases)
