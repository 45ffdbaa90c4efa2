"""The recording has the coach left and the microphone right, sample for sample."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import pytest

from coach.errors import CoachError
from coach.rehearsal.recording import RATIO, Recording

RATE_HZ = 16_000


def read(path):
    with wave.open(str(path)) as file:
        assert (file.getnchannels(), file.getframerate(), file.getsampwidth()) == (2, RATE_HZ, 2)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2").reshape(-1, 2)


def tone(hz, seconds, rate_hz):
    return np.rint(8000 * np.sin(2 * np.pi * hz * np.arange(round(seconds * rate_hz)) / rate_hz)).astype(
        np.int16
    )


def test_coach_is_left_and_the_microphone_right_at_their_times(tmp_path):
    path = tmp_path / "cockpit.wav"
    microphone = np.arange(-8000, 8000, dtype=np.int16)
    with Recording(path) as recording:
        recording.add(None, microphone)
        recording.add(tone(700, 1.0, RATE_HZ * RATIO), microphone)
        recording.add(None, microphone)
    frames = read(path)
    assert np.array_equal(frames[:, 1], np.tile(microphone, 3))
    assert not frames[: RATE_HZ - 100, 0].any()
    middle = slice(RATE_HZ + 200, 2 * RATE_HZ - 200)
    assert np.abs(frames[middle, 0] - tone(700, 1.0, RATE_HZ)[200:-200].astype(int)).max() < 80


def test_long_recording_is_written_in_pieces_that_join(tmp_path):
    path = tmp_path / "cockpit.wav"
    sound = tone(500, 0.5, RATE_HZ * RATIO)
    quiet = np.zeros(RATE_HZ // 2, np.int16)
    with Recording(path) as recording:
        for _ in range(20):
            recording.add(sound, quiet)
            recording.add(None, quiet)
        assert path.stat().st_size > 4 * RATE_HZ * 10
    frames = read(path)
    assert len(frames) == 20 * RATE_HZ
    starts = [int(np.argmax(np.abs(second) > 2000)) for second in frames[:, 0].reshape(20, -1)]
    assert max(starts) - min(starts) <= 1


def test_place_that_cannot_be_written_is_told_in_one_line(tmp_path):
    with pytest.raises(CoachError, match="expected a file that can be written, got No such file"):
        Recording(tmp_path / "nowhere" / "cockpit.wav")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full on this system")
def test_full_disk_is_told_in_one_line():
    with (
        pytest.raises(CoachError, match="/dev/full: expected room for the recording, got No space left"),
        Recording(Path("/dev/full")),
    ):
        pass


class FullLater:
    """A file on a disk that fills up after the header."""

    def __init__(self, file):
        self.file = file
        self.writes = 0

    def write(self, content):
        self.writes += 1
        raise OSError(28, "No space left on device")

    def seek(self, place):
        return self.file.seek(place)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()


def test_disk_that_fills_up_is_told_once_and_the_file_closed(tmp_path):
    recording = Recording(tmp_path / "cockpit.wav")
    full = recording._file = FullLater(recording._file)
    recording.add(None, np.zeros(16_000 * 6, np.int16))
    with pytest.raises(CoachError, match="expected room for the recording"), recording:
        recording.add(None, np.zeros(1600, np.int16))
    assert full.writes == 2  # the samples, and the header that can no longer be mended
    assert full.file.closed


def test_recording_of_nothing_is_an_empty_wav(tmp_path):
    with Recording(tmp_path / "cockpit.wav"):
        pass
    assert len(read(tmp_path / "cockpit.wav")) == 0
