"""The profile and its recordings on disk: exact, private, deletable, and broken files told in a line."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from coach.errors import SettingsError
from coach.session.voice_profile import Shift, VoiceProfile
from coach.store.voice_profiles import (
    delete_profile,
    delete_recordings,
    list_recordings,
    profile_path,
    read_profile,
    recordings_folder,
    voice_folder,
    write_profile,
    write_recording,
)

PROFILE = VoiceProfile(
    version=1,
    made_utc=datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC),
    recogniser="fake",
    least=-1.5,
    language="ko",
    microphone="headset",
    shifts=(Shift(way="next leg", by=-0.25), Shift(way="대기", by=0.5)),
)
SOUND = np.arange(-8000, 8000, dtype=np.int16)


def test_profile_comes_back_exactly(tmp_path: Path) -> None:
    path = write_profile(tmp_path / "new" / "folder", PROFILE)
    assert read_profile(tmp_path / "new" / "folder") == PROFILE
    assert [file.name for file in path.parent.iterdir()] == ["profile.json"]


def test_no_profile_is_none(tmp_path: Path) -> None:
    assert read_profile(tmp_path) is None
    assert not delete_profile(tmp_path)


def test_profile_is_replaced_and_removed(tmp_path: Path) -> None:
    write_profile(tmp_path, PROFILE)
    write_profile(tmp_path, PROFILE)
    assert delete_profile(tmp_path)
    assert read_profile(tmp_path) is None


GOOD = (
    '{"version": 1, "made_utc": "2026-01-02T03:04:05+00:00", "recogniser": "fake", "least": -1.5, '
    '"language": "en", "microphone": null, "shifts": []}'
)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\xff\xfe", "expected a voice profile, got no JSON"),
        (b"[" * 90_000, "expected a voice profile, got no JSON"),
        (b"[]", "expected a voice profile of version 1, got version None"),
        (b'{"version": 2}', "expected a voice profile of version 1, got version 2"),
        (b'{"version": 1}', "expected the field 'made_utc', got none"),
        (GOOD.replace("-1.5", '"low"').encode(), "VoiceProfile.least: expected a number, got 'low'"),
        (GOOD.replace("-1.5", '"inf"').encode(), "expected finite thresholds"),
        (GOOD.replace("}", ', "more": 1}').encode(), "expected a field"),
        (b" " * 200_000, "expected at most 100000 bytes"),
    ],
    ids=["bytes", "deep", "list", "version", "field", "type", "inf", "unknown", "large"],
)
def test_broken_profile_is_told_with_the_remedy(tmp_path: Path, content: bytes, says: str) -> None:
    profile_path(tmp_path).write_bytes(content)
    with pytest.raises(SettingsError) as raised:
        read_profile(tmp_path)
    assert says in str(raised.value)
    assert "`coach check --voice --delete profile` removes the profile" in str(raised.value)
    assert str(profile_path(tmp_path)) in str(raised.value)


def test_good_profile_of_the_broken_ones_is_read(tmp_path: Path) -> None:
    profile_path(tmp_path).write_text(GOOD)
    assert read_profile(tmp_path) is not None


def test_recordings_are_listed_and_all_deleted_and_nothing_else(tmp_path: Path) -> None:
    write_profile(tmp_path, PROFILE)
    write_recording(tmp_path, "Say again", 1, SOUND)
    write_recording(tmp_path, "대기", 2, SOUND)
    other = recordings_folder(tmp_path) / "notes.txt"
    other.write_text("mine")
    assert [(r.path.name, r.seconds) for r in list_recordings(tmp_path)] == [
        ("say-again-1.wav", 1.0),
        ("대기-2.wav", 1.0),
    ]
    assert delete_recordings(tmp_path) == 2
    assert list_recordings(tmp_path) == ()
    assert other.exists()
    assert read_profile(tmp_path) == PROFILE


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")
def test_voice_is_its_owners_alone(tmp_path: Path) -> None:
    folder = tmp_path / "voice"
    folder.mkdir(mode=0o755)
    recording = write_recording(folder, "next leg", 1, SOUND)
    profile = write_profile(folder, PROFILE)
    for path in (folder, recording.parent, recording, profile):
        assert path.stat().st_mode & 0o077 == 0


def test_same_take_again_replaces_the_one_before(tmp_path: Path) -> None:
    write_recording(tmp_path, "time", 1, SOUND)
    write_recording(tmp_path, "time", 1, SOUND[:8000])
    assert [r.seconds for r in list_recordings(tmp_path)] == [0.5]


def test_empty_folder_goes_with_the_last_recording(tmp_path: Path) -> None:
    write_recording(tmp_path, "time", 1, SOUND)
    delete_recordings(tmp_path)
    assert not recordings_folder(tmp_path).exists()
    assert delete_recordings(tmp_path) == 0


def test_broken_recording_is_listed_and_deleted_too(tmp_path: Path) -> None:
    path = write_recording(tmp_path, "time", 1, SOUND)
    path.write_bytes(b"no sound")
    assert list_recordings(tmp_path)[0].seconds is None
    assert delete_recordings(tmp_path) == 1


def test_folder_that_cannot_be_made_is_told_in_a_line(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    for write in (
        lambda: write_profile(blocked / "voice", PROFILE),
        lambda: write_recording(blocked / "voice", "time", 1, SOUND),
    ):
        with pytest.raises(SettingsError, match="a place that can be written to, got not a directory"):
            write()


def test_folder_is_in_the_users_data(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert voice_folder().name == "voice"
    assert voice_folder().parent.name == "drill-coach"
