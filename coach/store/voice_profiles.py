"""The pilot's voice profile and the recordings it was made from: on this machine, in one folder.

Nothing else of what a microphone hears is ever written. Never judges a take and never sends anything.
"""

from __future__ import annotations

import json
import os
import re
import wave
from contextlib import suppress
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

import numpy as np
import platformdirs
from numpy.typing import NDArray

from coach.errors import JournalError, Problem, SettingsError
from coach.session.fields import decode_fields, encode_fields
from coach.session.voice_profile import VoiceProfile
from coach.store.journal_file import PRIVATE_FILE, PRIVATE_FOLDER

VERSION = 1
LARGEST_BYTES = 100_000
"""A profile of every phrase takes some 3,000."""

RATE_HZ = 16_000

FORGET = "coach check --voice --delete profile"
"""What takes a profile away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """One take on disk."""

    path: Path
    seconds: float | None
    """None: the file is broken."""


def voice_folder() -> Path:
    """Where this machine keeps the profile and its recordings; it may not exist yet."""
    return platformdirs.user_data_path("drill-coach", appauthor=False) / "voice"


def profile_path(folder: Path) -> Path:
    """The profile's file."""
    return folder / "profile.json"


def read_profile(folder: Path) -> VoiceProfile | None:
    """The profile; None where there is none. `SettingsError` with the remedy where it cannot be read."""
    path = profile_path(folder)
    try:
        if not path.exists():
            return None
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as exc:
        raise _refuse(
            path, "a file that can be read", (exc.strerror or "an error of the disk").lower()
        ) from exc
    return _parse(content, path)


def write_profile(folder: Path, profile: VoiceProfile) -> Path:
    """Put the profile in the place of the one before it, if any; `SettingsError` where it cannot."""
    path = profile_path(folder)
    beside = path.with_suffix(".part")
    try:
        _make_private(folder)
        beside.touch(PRIVATE_FILE)
        beside.write_text(json.dumps(encode_fields(profile), ensure_ascii=False, indent=1) + "\n", "utf-8")
        beside.replace(path)
    except OSError as exc:
        raise _unwritable(path, exc) from exc
    return path


def delete_profile(folder: Path) -> bool:
    """Remove the profile; whether there was one. `SettingsError` where it cannot be removed."""
    path = profile_path(folder)
    existed = path.exists()
    _delete(path)
    return existed


def recordings_folder(folder: Path) -> Path:
    """Where the takes are."""
    return folder / "takes"


def write_recording(folder: Path, way: str, take: int, sound: NDArray[np.int16]) -> Path:
    """Keep one take, in the place of the same take of an earlier time; 16 kHz mono."""
    takes = recordings_folder(folder)
    name = re.sub(r"\W+", "-", way.lower())
    path = takes / f"{name}-{take}.wav"
    try:
        _make_private(folder)
        _make_private(takes)
        path.touch(PRIVATE_FILE)
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE_HZ)
            file.writeframes(sound.astype("<i2").tobytes())
    except OSError as exc:
        raise _unwritable(path, exc) from exc
    return path


def _make_private(folder: Path) -> None:
    """A voice is its owner's alone: nobody else may look into the folder, an old one included."""
    folder.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
    if os.name != "nt":
        folder.chmod(PRIVATE_FOLDER)


def list_recordings(folder: Path) -> tuple[Recording, ...]:
    """Every take on this machine, by name."""
    return tuple(
        Recording(path=path, seconds=_find_length(path))
        for path in sorted(recordings_folder(folder).glob("*.wav"))
    )


def delete_recordings(folder: Path) -> int:
    """Remove every take; how many there were. `SettingsError` where one cannot be removed."""
    found = list_recordings(folder)
    for recording in found:
        _delete(recording.path)
    with suppress(OSError):  # something else lies in it
        recordings_folder(folder).rmdir()
    return len(found)


def _delete(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError as exc:
        raise _refuse(path, "a file that can be deleted", (exc.strerror or "an error").lower()) from exc


def _find_length(path: Path) -> float | None:
    try:
        with wave.open(str(path)) as file:
            return float(file.getnframes() / file.getframerate())
    except (OSError, EOFError, wave.Error, ZeroDivisionError):
        return None


def _parse(content: bytes, path: Path) -> VoiceProfile:
    if len(content) > LARGEST_BYTES:
        raise _refuse(path, f"at most {LARGEST_BYTES} bytes", "more")
    try:
        values = json.loads(content)
    except (ValueError, RecursionError) as exc:
        raise _refuse(path, "a voice profile", "no JSON") from exc
    if not isinstance(values, dict) or values.get("version") != VERSION:
        got = values.get("version") if isinstance(values, dict) else None
        raise _refuse(path, f"a voice profile of version {VERSION}", f"version {got!r}")
    try:
        profile = decode_fields(VoiceProfile, values, str(path))
    except JournalError as exc:
        raise SettingsError(*exc.problems, _remedy()) from exc
    if not all(map(isfinite, (profile.least, *(shift.by for shift in profile.shifts)))):
        raise _refuse(path, "finite thresholds", "one without end")
    return profile


def _refuse(path: Path, expected: str, got: str) -> SettingsError:
    return SettingsError(Problem(where=str(path), expected=expected, got=f"{got}; {_remedy()}"))


def _remedy() -> str:
    return f"`{FORGET}` removes the profile"


def _unwritable(path: Path, exc: OSError) -> SettingsError:
    got = (exc.strerror or "an error of the disk").lower()
    return SettingsError(Problem(where=str(path), expected="a place that can be written to", got=got))
