"""Reading the settings file from its folder."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest

from coach.errors import SettingsError
from coach.session.prompts import Talk
from coach.settings import Settings
from coach.store.settings import read_settings, settings_path


@pytest.fixture
def config_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(platformdirs, "user_config_path", lambda *_args, **_kwargs: tmp_path)
    return tmp_path


def test_without_a_file_the_defaults_are_in_force(config_folder: Path) -> None:
    assert not settings_path().exists()
    assert read_settings({}) == Settings()


def test_file_is_found_in_the_systems_folder(config_folder: Path) -> None:
    (config_folder / "settings.yaml").write_text("talk: full\ntas_kt: 110\n")
    assert read_settings({"tas_kt": "95"}) == Settings(talk=Talk.FULL, tas_kt=95.0)


def test_named_file_must_exist(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="expected a file that can be read, got no such file"):
        read_settings({}, tmp_path / "absent.yaml")


def test_home_is_put_for_a_tilde(config_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/somewhere")
    monkeypatch.setenv("USERPROFILE", "/somewhere")
    (config_folder / "settings.yaml").write_text("vosk_model: ~/models/vosk\n")
    assert read_settings({}).vosk_model == Path("/somewhere/models/vosk")


def test_problems_of_file_and_options_come_together(config_folder: Path) -> None:
    path = config_folder / "settings.yaml"
    path.write_text("tlak: full\nvolume: 2\nvolume: 1\n")
    with pytest.raises(SettingsError) as raised:
        read_settings({"dots": "3", "tas": "90"})
    assert str(raised.value).splitlines() == [
        "--dots: expected one of 5, 4, 2, got '3'",
        "--tas: expected a setting (nearest: 'tas_kt'), got 'tas'",
        f"{path}:1:1: tlak: expected a key of the settings (nearest: 'talk'), got 'tlak'",
        f"{path}:2:9: volume: expected a number from 0 to 1, got '2'",
        f"{path}:3:1: volume: expected each key once, got 'volume' again (first in line 2)",
    ]
