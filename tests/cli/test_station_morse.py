"""A sample of an ident on the ground, with a voice and a card that are not there."""

from __future__ import annotations

import json
from argparse import Namespace
from pathlib import Path

import numpy as np
import pytest

from coach.cli import aloud, main, station_morse
from coach.errors import SettingsError
from coach.nav.morse import encode_morse
from coach.settings import Settings
from coach.voice.morse_tone import render_morse
from coach.voice.pcm import RATE_HZ, Samples, read_sound_file


class Voice:
    """Says every text as so many samples of its own length."""

    said: list[str] = []  # noqa: RUF012 (one for all: the tests look at it)

    def render(self, text: str) -> Samples:
        self.said.append(text)
        return np.full(len(text) * 100, 1000, np.int16)


@pytest.fixture(autouse=True)
def voice(monkeypatch: pytest.MonkeyPatch) -> Voice:
    spoken = Voice()
    spoken.said.clear()
    for module in (aloud, station_morse):
        monkeypatch.setattr(module, "synthesiser_of", lambda settings, name: spoken)
    monkeypatch.setattr(station_morse, "settings_of", lambda options: Settings())
    return spoken


def options(ident: str, audio: Path | None = None, *, is_json: bool = False) -> Namespace:
    return Namespace(ident=ident, audio=None if audio is None else str(audio), json=is_json)


def test_it_is_announced_as_a_sample_before_it_is_keyed(
    tmp_path: Path, voice: Voice, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "qqq.wav"
    assert station_morse.run(options("qqq", path)) == 0
    assert voice.said == ["Sample"]
    heard, keyed = read_sound_file(path), render_morse(encode_morse("QQQ"))
    begin = heard.size - keyed.size - round(0.45 * RATE_HZ)
    assert np.abs(heard[begin : begin + keyed.size].astype(int) - keyed).max() <= 1
    assert capsys.readouterr().out.splitlines()[0] == "QQQ  --.- --.- --.-"


def test_without_a_file_it_sounds_on_the_speaker(monkeypatch: pytest.MonkeyPatch) -> None:
    sounded: list[int] = []

    def read(sounds: object, *, device: str | None, volume: float) -> None:
        sounded.extend(sound.size for sound in sounds)  # type: ignore[attr-defined]

    monkeypatch.setattr(aloud, "read_aloud", read)
    assert station_morse.run(options("E")) == 0
    assert sounded == [600, render_morse(".").size]


def test_the_code_of_a_station_under_maintenance_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # V34: AIM 1-1-3c.
    station_morse.run(options("TEST", tmp_path / "test.wav"))
    out = capsys.readouterr().out
    assert "TEST  - . ... -" in out
    assert "maintenance: the station is not to be used" in out


def test_json_has_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "den.wav"
    station_morse.run(options("DEN", path, is_json=True))
    # V37: DEN lasts 3.26 s (computed).
    found = {"ident": "DEN", "morse": "-.. . -.", "seconds": 3.26, "audio": str(path)}
    assert json.loads(capsys.readouterr().out) == found


@pytest.mark.parametrize("ident", ["", "ABCDE", "A-B", "Ä"])
def test_what_is_no_ident_is_one_clear_line(ident: str) -> None:
    with pytest.raises(SettingsError, match=r"^IDENT: expected an ident of 1 to 4 letters and digits, got "):
        station_morse.run(options(ident))


def test_a_file_that_is_no_wav_is_one_clear_line() -> None:
    with pytest.raises(SettingsError) as caught:
        station_morse.run(options("QQQ", Path("qqq.mp3")))
    assert str(caught.value) == "--audio: expected a file name ending in .wav, got 'qqq.mp3'"


def test_the_command_line_has_it(tmp_path: Path) -> None:
    path = tmp_path / "qqq.wav"
    assert main(["station", "morse", "QQQ", "--audio", str(path)]) == 0
    assert path.exists()
