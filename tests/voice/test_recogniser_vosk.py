"""The Vosk recogniser on a made-up library: grammar, rejection, and folders that are no model."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from coach.errors import SetupError
from coach.voice.lengths import find_longest_s
from coach.voice.recogniser import EarChoice, Samples, Ways, choose_recogniser
from coach.voice.recognisers.vosk import (
    FILES,
    OLD_FILES,
    SPEAKER_FILES,
    VoskRecogniser,
    load_vosk,
)

WAYS: Ways = (("다음 구간", "next leg"), ("다시 말해", "say again"), ("어빔", "abeam"))
SOUND = np.full(16_000, 0.5, np.float32)


class FakeModel:
    """A vocabulary."""

    def __init__(self, *words: str) -> None:
        self.words = words

    def vosk_model_find_word(self, word: str) -> int:
        return self.words.index(word) if word in self.words else -1


class FakeDecoder:
    """Reads what it is told to."""

    def __init__(self, library: FakeVosk, model: Any, rate_hz: int, grammar: str) -> None:
        self.library = library
        self.grammar = json.loads(grammar)
        library.decoders.append(self)

    def SetWords(self, _with_words: bool) -> None:  # noqa: N802
        return

    def Reset(self) -> None:  # noqa: N802
        return

    def AcceptWaveform(self, sound: bytes) -> None:  # noqa: N802
        self.library.heard = np.frombuffer(sound, "<i2")

    def FinalResult(self) -> str:  # noqa: N802
        words = [{"word": word, "conf": conf} for word, conf in self.library.answer]
        return json.dumps({"result": words, "text": "…"} if words else {"text": ""})


class FakeVosk:
    """The library."""

    def __init__(self, *answer: tuple[str, float]) -> None:
        self.answer = answer
        self.decoders: list[FakeDecoder] = []
        self.heard = np.empty(0, np.int16)

    def KaldiRecognizer(self, model: Any, rate_hz: int, grammar: str) -> FakeDecoder:  # noqa: N802
        return FakeDecoder(self, model, rate_hz, grammar)


def make(vosk: FakeVosk, *extra_words: str, **more: Any) -> VoskRecogniser:
    model = FakeModel("다음", "구간", "다시", "말해", *extra_words)
    recogniser = VoskRecogniser(vosk, model, "fake", lowest_confidence=0.8, **more)
    recogniser.listen_for(WAYS)
    return recogniser


def test_way_with_an_unknown_word_is_told_and_left_out_of_the_grammar() -> None:
    vosk = FakeVosk()
    assert make(vosk).find_unknown_words(WAYS) == ("어빔",)
    assert vosk.decoders[-1].grammar == ["다음 구간", "다시 말해"]


def test_everything_else_is_listened_for_where_the_model_can() -> None:
    vosk = FakeVosk()
    make(vosk, "[unk]")
    assert vosk.decoders[-1].grammar == ["다음 구간", "다시 말해", "[unk]"]


def test_phrase_read_surely_enough_is_understood() -> None:
    reading = make(FakeVosk(("다음", 1.0), ("구간", 0.7))).read(SOUND, 0.8)
    assert (reading.phrase, reading.way, reading.reason) == ("next leg", "다음 구간", "")
    assert reading.score == pytest.approx(0.85)


def test_unsure_reading_is_no_command() -> None:
    reading = make(FakeVosk(("다음", 0.8), ("구간", 0.79))).read(SOUND, 0.8)
    assert (reading.phrase, reading.way, reading.reason) == (None, "다음 구간", "too unsure")


@pytest.mark.parametrize(
    "answer",
    ["", "다음", "다음 말해", "다음 구간 다음", "[unk]"],
    ids=["nothing", "a piece", "two pieces", "more", "something else"],
)
def test_words_that_are_no_whole_phrase_are_no_command(answer: str) -> None:
    reading = make(FakeVosk(*((word, 1.0) for word in answer.split()))).read(SOUND, 0.8)
    assert (reading.phrase, reading.way, reading.reason) == (None, None, "no phrase fits")


def test_voice_that_lasts_longer_than_the_phrase_is_no_command() -> None:
    recogniser = make(FakeVosk(("다음", 1.0), ("구간", 1.0)))
    longest_s = find_longest_s("다음 구간")
    assert recogniser.read(SOUND, longest_s).phrase == "next leg"
    assert recogniser.read(SOUND, longest_s + 0.01).reason == "longer than the phrase"


@pytest.mark.parametrize("ways", [(), (("어빔", "abeam"),)], ids=["none", "none that is known"])
def test_nothing_listened_for_is_nothing_heard(ways: Ways) -> None:
    vosk = FakeVosk(("다음", 1.0), ("구간", 1.0))
    recogniser = make(vosk)
    recogniser.listen_for(ways)
    assert recogniser.read(SOUND, 0.8).reason == "nothing is listened for"
    assert all(decoder.grammar for decoder in vosk.decoders)  # an empty one ends the process


def test_noise_is_suppressed_before_the_model_hears_it() -> None:
    class Half:
        def suppress(self, audio: Samples) -> Samples:
            return audio / 2

    vosk = FakeVosk(("다음", 1.0), ("구간", 1.0))
    recogniser = make(vosk, suppressor=Half())
    recogniser.read(SOUND, 0.8)
    assert vosk.heard.tolist() == [8191] * 16_000
    assert recogniser.name == "fake, noise suppressed"
    assert make(vosk).name == "fake"


def write_model(folder: Path, files: tuple[str, ...], text: str = "rubbish") -> Path:
    for name in files:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)
    return folder


def refuse(folder: Path) -> str:
    with pytest.raises(SetupError) as raised:
        choose_recogniser(EarChoice(vosk_folder=folder, engine="vosk"))
    assert "\n" not in str(raised.value)
    return str(raised.value).replace(str(folder), "model")


def test_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    assert refuse(tmp_path / "m") == "model: expected the folder of a Vosk model, got nothing there"


def test_file_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "m").write_text("")
    assert refuse(tmp_path / "m") == "model: expected the folder of a Vosk model, got a file"


def test_folder_of_another_kind_is_told_with_all_that_it_lacks(tmp_path: Path) -> None:
    write_model(tmp_path, ("model.bin", "config.json", "tokenizer.json"))
    assert refuse(tmp_path) == (
        "model: expected a Vosk model, got a folder without am/final.mdl, conf/mfcc.conf, conf/model.conf, "
        "graph/HCLr.fst, graph/Gr.fst, graph/disambig_tid.int"
    )


@pytest.mark.parametrize("name", [*FILES, *(f"ivector/{name}" for name in SPEAKER_FILES)])
def test_file_missing_or_empty_is_named(tmp_path: Path, name: str) -> None:
    write_model(tmp_path, (*FILES, "ivector/final.mat"))
    write_model(tmp_path, tuple(f"ivector/{other}" for other in SPEAKER_FILES))
    (tmp_path / name).write_text("")
    assert refuse(tmp_path) == f"model: expected a Vosk model, got a folder without {name}"
    (tmp_path / name).unlink()
    if name != "ivector/final.mat":
        assert refuse(tmp_path) == f"model: expected a Vosk model, got a folder without {name}"


def test_model_of_the_old_layout_is_judged_by_its_own_files(tmp_path: Path) -> None:
    write_model(tmp_path, OLD_FILES)
    (tmp_path / "Gr.fst").unlink()
    assert refuse(tmp_path) == "model: expected a Vosk model, got a folder without Gr.fst"


def test_model_that_takes_no_grammar_is_refused(tmp_path: Path) -> None:
    write_model(tmp_path, ("am/final.mdl", "conf/mfcc.conf", "conf/model.conf", "graph/HCLG.fst"))
    assert refuse(tmp_path) == (
        "model: expected a Vosk model that takes a grammar, got one with a fixed graph (graph/HCLG.fst); "
        "take a small one"
    )


def test_whole_folder_with_rubbish_inside_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("vosk")
    write_model(tmp_path, FILES)
    assert refuse(tmp_path) == "model: Vosk cannot read this model; unpack a whole one again"


def test_model_that_loads_and_cannot_decode_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: Any) -> None:
        raise Exception("Failed to create a recognizer")

    fake = SimpleNamespace(SetLogLevel=lambda _level: None, Model=lambda _path: None, KaldiRecognizer=fail)
    monkeypatch.setitem(sys.modules, "vosk", fake)
    write_model(tmp_path, FILES)
    assert refuse(tmp_path) == "model: Vosk cannot read this model; unpack a whole one again"


def test_missing_library_is_told_with_its_remedy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "vosk", None)
    write_model(tmp_path, FILES)
    assert refuse(tmp_path) == "vosk: not installed; pip install vosk"


def test_name_tells_the_model_by_its_last_two_folders(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fake = FakeVosk()
    library = SimpleNamespace(
        SetLogLevel=lambda _level: None, Model=lambda _path: None, KaldiRecognizer=fake.KaldiRecognizer
    )
    monkeypatch.setitem(sys.modules, "vosk", library)
    monkeypatch.setattr("coach.voice.recognisers.vosk.load_suppressor", lambda: None)
    folder = write_model(tmp_path / "ko" / "model", FILES)
    assert load_vosk(folder).name == "vosk, ko/model"
