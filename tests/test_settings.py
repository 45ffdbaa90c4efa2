"""The settings' model and checks."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from coach.drill.source import MappingNode, ScalarNode, Source
from coach.errors import SettingsError
from coach.session.prompts import Talk
from coach.session.spoken import Style
from coach.settings import FORMS, Settings, check_settings


def test_every_setting_has_a_form_and_no_other_name_has() -> None:
    assert list(FORMS) == [field.name for field in fields(Settings)]


def test_nothing_given_is_the_defaults() -> None:
    assert check_settings(None, {}) == Settings()
    empty = Source(name="settings", file="settings.yaml", root=ScalarNode(text="", line=1, column=1))
    assert check_settings(empty, {}) == Settings()


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("language", "ko", "ko"),
        ("talk", "cue", Talk.CUE),
        ("digits", "icao", Style.ICAO),
        ("coach_voice", "English (America)", "English (America)"),
        ("pilot_voice", "en+f3", "en+f3"),
        ("rate_wpm", "180", 180),
        ("volume", "0.5", 0.5),
        ("output_device", "pulse", "pulse"),
        ("input_device", "3", "3"),
        ("recogniser", "vosk", "vosk"),
        ("vosk_model", "models/vosk", Path("models/vosk")),
        ("whisper_model", "models/whisper", Path("models/whisper")),
        ("full_scale_deg", "12", 12.0),
        ("dots", "2", 2),
        ("heading_check_min", "0", 0.0),
        ("tas_kt", "110.5", 110.5),
        ("height_ft", "5000", 5000.0),
        ("preflight", "false", False),
        ("push_to_talk", "true", True),
        ("attention", "코치", "코치"),
    ],
)
def test_option_is_converted_by_its_own_type(name: str, text: str, value: object) -> None:
    settings = check_settings(None, {name: text})
    assert getattr(settings, name) == value
    assert type(getattr(settings, name)) is type(value)


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("language", "korean", "--language: expected two small letters such as en, got 'korean'"),
        ("language", "KO", "--language: expected two small letters such as en, got 'KO'"),
        ("talk", "loud", "--talk: expected one of full, short, cue, got 'loud'"),
        ("rate_wpm", "79", "--rate-wpm: expected a whole number from 80 to 300 words a minute, got '79'"),
        ("rate_wpm", "99.5", "--rate-wpm: expected a whole number from 80 to 300 words a minute, got '99.5'"),
        ("volume", "nan", "--volume: expected a number from 0 to 1, got 'nan'"),
        ("volume", "", "--volume: expected a number from 0 to 1, got nothing"),
        ("recogniser", "wisper", "--recogniser: expected one of auto, whisper, vosk, pocketsphinx "
         "(nearest: 'whisper'), got 'wisper'"),
        ("full_scale_deg", "7.9", "--full-scale-deg: expected a number from 8 to 15 deg, got '7.9'"),
        ("push_to_talk", "yes", "--push-to-talk: expected one of true, false, got 'yes'"),
        ("rate", "150", "--rate: expected a setting (nearest: 'rate_wpm'), got 'rate'"),
        ("vosk_model", "", "--vosk-model: expected the path of a folder, got nothing"),
    ],
)  # fmt: skip
def test_wrong_option_is_told_in_one_line(name: str, text: str, expected: str) -> None:
    with pytest.raises(SettingsError) as raised:
        check_settings(None, {name: text})
    assert str(raised.value) == expected


def test_option_wins_over_the_file() -> None:
    entry = (ScalarNode(text="talk", line=1, column=1), ScalarNode(text="full", line=1, column=7))
    root = MappingNode(entries=(entry,), line=1, column=1)
    source = Source(name="settings", file="settings.yaml", root=root)
    assert check_settings(source, {}).talk is Talk.FULL
    assert check_settings(source, {"talk": "cue"}).talk is Talk.CUE


def test_pilot_cannot_have_the_coachs_voice() -> None:
    with pytest.raises(SettingsError) as raised:
        check_settings(None, {"coach_voice": "en", "pilot_voice": "en"})
    assert str(raised.value) == "pilot_voice: expected another voice than the coach's, got 'en'"
