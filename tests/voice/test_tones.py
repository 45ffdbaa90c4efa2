import itertools

import numpy as np
import pytest

from coach.session.actions import Tone
from coach.voice.pcm import RATE_HZ, sample_at
from coach.voice.tones import SHAPES, render_tone

IDENTS_HZ = (1_020, 1_350)
"""VOR and DME ident (AIM 1-1-7f)."""

MARKERS_HZ = (400, 1_300, 3_000)
"""Marker beacons (value from memory)."""

every_tone = pytest.mark.parametrize("tone", Tone)


def spectrum_db(tone):
    sound = render_tone(tone) / 32_767
    power = np.abs(np.fft.rfft(sound, RATE_HZ)) ** 2
    return 10 * np.log10(power / power.sum() + 1e-12)


def envelope(tone):
    """The loudest sample of each 2 ms."""
    sound = np.abs(render_tone(tone).astype(int))
    step = sample_at(0.002)
    return sound[: sound.size // step * step].reshape(-1, step).max(axis=1)


@every_tone
@pytest.mark.parametrize("hz", IDENTS_HZ + MARKERS_HZ)
def test_nothing_sounds_near_a_navigation_tone(tone, hz):
    near = spectrum_db(tone)[hz - 50 : hz + 51]
    assert 10 * np.log10((10 ** (near / 10)).sum()) < -25


@every_tone
def test_tone_is_one_unbroken_sound_and_not_keyed(tone):
    level = envelope(tone)
    loud = np.flatnonzero(level > level.max() / 2)
    assert loud.size == loud[-1] - loud[0] + 1


@every_tone
def test_tone_begins_and_ends_without_a_click(tone):
    sound = render_tone(tone).astype(int)
    assert max(abs(sound[0]), abs(sound[-1])) <= 1
    steepest = 2 * np.pi * max(SHAPES[tone].from_hz, SHAPES[tone].to_hz) / RATE_HZ
    assert np.abs(np.diff(sound)).max() <= 1.01 * steepest * 32_767 * SHAPES[tone].peak


@every_tone
def test_pitch_lies_where_warning_tones_are_preferred(tone):
    # 500-3,000 Hz: MIL-STD-1472E 5.3.3.1.1, as read in a scanned copy (H25).
    assert 500 <= np.argmax(spectrum_db(tone)) <= 3_000


def test_there_are_no_more_tones_than_can_be_known_apart():
    # At most four: MIL-STD-1472E 5.3.4.3.1, as read in a scanned copy (H25).
    assert len(Tone) <= 4


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(Tone, 2)))
def test_two_tones_differ_in_pitch_and_in_length(one, other):
    pitches = [np.argmax(spectrum_db(tone)) for tone in (one, other)]
    lengths = [render_tone(tone).size for tone in (one, other)]
    assert max(pitches) / min(pitches) > 1.25
    assert max(lengths) / min(lengths) > 1.25


def test_heard_rises_low_falls_and_cue_stays():
    glides = {tone: np.sign(shape.to_hz - shape.from_hz) for tone, shape in SHAPES.items()}
    assert glides == {Tone.CUE: 0, Tone.HEARD: 1, Tone.LOW: -1}


def test_cue_is_the_softest_and_about_a_fifth_of_a_second():
    peaks = {tone: np.abs(render_tone(tone)).max() for tone in Tone}
    assert min(peaks, key=peaks.__getitem__) is Tone.CUE
    assert 0.15 <= render_tone(Tone.CUE).size / RATE_HZ <= 0.25


def test_shared_samples_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        render_tone(Tone.CUE)[0] = 1
