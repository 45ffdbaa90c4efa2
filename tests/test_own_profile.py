"""A profile that cannot be used is told in one line, and the flight goes on with the usual thresholds."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.own_profile import find_profile, tell_unused
from coach.session.voice_profile import Shift, VoiceProfile
from coach.settings import Settings
from coach.store.voice_profiles import voice_folder, write_profile

PROFILE = VoiceProfile(
    version=1,
    made_utc=datetime(2026, 1, 1, tzinfo=UTC),
    recogniser="fake",
    least=-1.0,
    language="en",
    microphone=None,
    shifts=(Shift(way="time", by=-0.5),),
)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return voice_folder()


def test_profile_of_the_language_is_found(folder: Path) -> None:
    told: list[str] = []
    assert find_profile(Settings(), told.append) is None
    write_profile(folder, PROFILE)
    assert find_profile(Settings(), told.append) == PROFILE
    assert find_profile(Settings(language="ko"), told.append) is None
    assert told == []


def test_broken_profile_is_told_and_left(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "profile.json").write_text("broken")
    told: list[str] = []
    assert find_profile(Settings(), told.append) is None
    assert len(told) == 1
    assert told[0].startswith("No voice profile, the usual thresholds. ")


def test_profile_that_the_ear_could_not_use_is_told() -> None:
    told: list[str] = []
    tell_unused(PROFILE, "fake, personal thresholds; voice activity: gate", told.append)
    tell_unused(None, "other; voice activity: gate", told.append)
    assert told == []
    tell_unused(PROFILE, "other; voice activity: gate", told.append)
    assert told[0].startswith("The voice profile was made with another recogniser (fake) or other thresholds")
