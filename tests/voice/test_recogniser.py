"""Which recogniser is chosen, and what all of them promise."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from coach.errors import SetupError
from coach.settings import Settings
from coach.voice.recogniser import (
    EarChoice,
    Recogniser,
    Ways,
    choose_recogniser,
    ear_choice,
    find_readable,
    find_words,
)

WAYS: Ways = (("next leg", "next leg"), ("I have the flight controls", "controls"), ("zzyzx", "nowhere"))


@pytest.fixture(scope="module")
def sphinx() -> Recogniser:
    pytest.importorskip("pocketsphinx")
    return choose_recogniser(EarChoice(engine="pocketsphinx"))


def test_words_are_counted_once_and_in_small_letters() -> None:
    assert find_words((("I have", "a"), ("have it", "b"))) == ("i", "have", "it")


def test_ways_with_an_unknown_word_are_left_out() -> None:
    assert find_readable(WAYS, ("zzyzx",)) == (
        ("next leg", "next leg"),
        ("i have the flight controls", "controls"),
    )


def test_vosk_without_a_folder_names_the_setting() -> None:
    with pytest.raises(SetupError, match="vosk: no model folder is named; set vosk_model"):
        choose_recogniser(EarChoice(engine="vosk"))


def test_another_language_is_vosks_alone() -> None:
    with pytest.raises(SetupError, match="vosk: no model folder is named; set vosk_model"):
        choose_recogniser(EarChoice(language="ko"))
    with pytest.raises(SetupError, match="whisper: hears English only; for language ko set vosk_model"):
        choose_recogniser(EarChoice(language="ko", engine="whisper"))


def test_another_language_takes_the_vosk_model_before_any_other(tmp_path: Path) -> None:
    with pytest.raises(SetupError, match=r"expected a Vosk model, got a folder without am/final\.mdl"):
        choose_recogniser(EarChoice(language="ko", vosk_folder=tmp_path, whisper_folder=tmp_path))


def test_settings_choose_engine_language_and_folders() -> None:
    assert ear_choice(Settings()) == EarChoice()
    assert ear_choice(
        Settings(recogniser="vosk", language="ko", whisper_model=Path("w"), vosk_model=Path("v"))
    ) == EarChoice(engine="vosk", language="ko", whisper_folder=Path("w"), vosk_folder=Path("v"))


def test_named_folder_is_refused_and_not_passed_over(tmp_path: Path) -> None:
    with pytest.raises(SetupError, match=r"expected a Vosk model, got a folder without am/final\.mdl"):
        choose_recogniser(EarChoice(vosk_folder=tmp_path))


def test_file_instead_of_a_folder_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "model"
    file.write_text("no model")
    with pytest.raises(SetupError, match="got a file"):
        choose_recogniser(EarChoice(vosk_folder=file))


def test_unknown_word_is_told_beforehand(sphinx: Recogniser) -> None:
    assert sphinx.find_unknown_words(WAYS) == ("zzyzx",)


def test_words_of_the_trade_are_known(sphinx: Recogniser) -> None:
    assert sphinx.find_unknown_words((("abeam", "abeam"), ("tree niner fife", "395"))) == ()


def test_silence_is_no_command(sphinx: Recogniser) -> None:
    sphinx.listen_for(WAYS)
    reading = sphinx.read(np.zeros(16_000, np.float32), 0.5)
    assert reading.phrase is None
    assert reading.reason


def test_nothing_listened_for_is_nothing_heard(sphinx: Recogniser) -> None:
    sphinx.listen_for(())
    assert sphinx.read(np.zeros(16_000, np.float32), 0.5).reason == "nothing is listened for"


def test_same_sound_reads_the_same_whatever_came_before(sphinx: Recogniser) -> None:
    sphinx.listen_for(WAYS)
    rng = np.random.default_rng(5)
    sound, other = (0.1 * rng.standard_normal((2, 16_000))).astype(np.float32)
    first = sphinx.read(sound, 0.5)
    sphinx.read(other, 0.5)
    assert sphinx.read(sound, 0.5) == first
