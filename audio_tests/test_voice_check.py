"""`coach check --voice` itself on the virtual sound card: a synthetic pilot says what the screen asks for."""

from __future__ import annotations

import json
import os
import pty
import re
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from audio_tests.soundcard import CABIN, SoundCard
from coach.errors import SetupError
from coach.rehearsal.cabin import Cabin
from coach.voice.pcm import RATE_HZ
from coach.voice.synthesis import Synthesiser, default_pilot_voice

PROMPT_S = 2.5
"""Longer than the coach takes to say any of the first phrases, the cue tone included."""

WITHIN_S = 120.0


class Check:
    """The command on a terminal of its own, and the pilot's mouth at the microphone."""

    def __init__(self, card: SoundCard, folder: Path, *arguments: str) -> None:
        self._environment = os.environ | card.environment | {"XDG_DATA_HOME": str(folder)}
        self._voice = Synthesiser(default_pilot_voice("en"))
        self._keys, terminal = pty.openpty()
        command = [sys.executable, "-m", "coach", "check", "--voice", *arguments]
        self._coach = subprocess.Popen(
            command, stdin=terminal, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env=self._environment
        )
        os.close(terminal)
        self.lines: list[str] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self._coach.stdout is not None
        for text in self._coach.stdout:
            self.lines.append(text.decode().rstrip())

    def wait_for(self, pattern: str, *, after: int) -> int:
        """The number of the first line from `after` on that fits."""
        give_up_s = time.monotonic() + WITHIN_S
        while time.monotonic() < give_up_s:
            found = [n for n in range(after, len(self.lines)) if re.search(pattern, self.lines[n])]
            if found:
                return found[0]
            assert self._coach.poll() is None or not self._reader.is_alive(), self.lines
            time.sleep(0.02)
        raise AssertionError(f"no line '{pattern}' in {self.lines[after:]}")

    def say(self, text: str) -> None:
        """Into the microphone; returns when it has been said."""
        quiet = np.zeros(RATE_HZ // 10, np.int16)
        sound = np.concatenate([quiet, self._voice.render(text), quiet])
        player = ["pacat", "--raw", f"--rate={RATE_HZ}", "--channels=1", "--format=s16le", "--device", CABIN]
        subprocess.run(player, input=sound.tobytes(), env=self._environment, check=True)

    def press(self, key: str) -> None:
        """On its keyboard."""
        os.write(self._keys, key.encode())

    def wait_end(self) -> int:
        """Its exit status."""
        status = self._coach.wait(WITHIN_S)
        self._reader.join(5.0)
        return status

    def close(self) -> None:
        """End it, however far it is."""
        self._coach.kill()
        self._coach.wait()
        os.close(self._keys)


@pytest.fixture
def cabin(card: SoundCard) -> Iterator[None]:
    """A little noise in the microphone: a digital silence is no cabin."""
    sound = (60.0 * Cabin(1).at(0, 16_000 * 300)).astype(np.int16).tobytes()
    player = ["pacat", "--raw", "--rate=16000", "--channels=1", "--format=s16le", "--device", CABIN]
    noise = subprocess.Popen(player, stdin=subprocess.PIPE, env=os.environ | card.environment)
    threading.Thread(target=noise.communicate, args=(sound,), daemon=True).start()
    yield
    noise.kill()
    noise.wait()


@pytest.fixture(autouse=True)
def needs_a_voice() -> None:
    try:
        Synthesiser(default_pilot_voice("en")).render("time")
    except SetupError as lack:
        pytest.skip(str(lack))


def test_pilot_says_three_phrases_and_has_a_profile(card: SoundCard, cabin: None, tmp_path: Path) -> None:
    check = Check(card, tmp_path)
    try:
        at = 0
        for phrase in ("station passage", "next leg"):
            at = check.wait_for(rf"Say: {phrase}$", after=at)
            time.sleep(PROMPT_S)
            for take in (1, 2, 3):
                check.say(phrase)
                at = check.wait_for(rf"^ +{take}  ", after=at)
                time.sleep(0.5)
        at = check.wait_for(r"Say: needle alive$", after=at)
        check.press("s")
        check.wait_for(r"Say: established$", after=at)
        check.press("q")
        assert check.wait_end() == 0
    finally:
        check.close()
    print("\n".join(check.lines))
    understood = [text for text in check.lines if "  understood: " in text]
    assert len(understood) >= 5
    assert not any("Say: abeam" in text for text in check.lines)
    profile = json.loads((tmp_path / "drill-coach" / "voice" / "profile.json").read_text())
    assert profile["version"] == 1
    takes = sorted(path.name for path in (tmp_path / "drill-coach" / "voice" / "takes").glob("*.wav"))
    assert takes[:3] == ["next-leg-1.wav", "next-leg-2.wav", "next-leg-3.wav"]
    assert not [name for name in takes if name.startswith(("needle", "established"))]


def test_silent_microphone_is_told_in_a_line(card: SoundCard, tmp_path: Path) -> None:
    check = Check(card, tmp_path)
    try:
        assert check.wait_end() == SetupError.exit_status
    finally:
        check.close()
    assert "microphone: silent" in check.lines[-1]
    assert not (tmp_path / "drill-coach").exists()
