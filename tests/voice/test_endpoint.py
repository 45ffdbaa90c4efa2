"""Where a voice starts and ends."""

from __future__ import annotations

import numpy as np
import pytest

from coach.voice.endpoint import END_FRAMES, LONGEST_S, PAUSE_FRAMES, START_FRAMES, Endpoint, Mark, find_onset
from coach.voice.gate import FRAME_S
from coach.voice.recogniser import SAMPLE_RATE_HZ

VOICE, SILENCE = 0.9, 0.05


def feed(endpoint: Endpoint, *runs: tuple[float, int]) -> list[tuple[int, Mark]]:
    """The marks other than nothing, each with the frame it came at."""
    probabilities = [probability for probability, frames in runs for _ in range(frames)]
    marks = []
    for n, probability in enumerate(probabilities, 1):
        mark = endpoint.feed(probability)
        marks += [(n, mark)] if mark is not Mark.NOTHING else []
        if mark is Mark.ENDED:
            endpoint.stop()
    return marks


def test_word_is_started_paused_and_ended() -> None:
    marks = feed(Endpoint(), (SILENCE, 10), (VOICE, 20), (SILENCE, 20))
    assert marks == [
        (10 + START_FRAMES, Mark.STARTED),
        (30 + PAUSE_FRAMES, Mark.PAUSED),
        (30 + END_FRAMES, Mark.ENDED),
    ]


def test_single_frame_is_a_click() -> None:
    assert feed(Endpoint(), (SILENCE, 5), (VOICE, 1), (SILENCE, 20)) == []


def test_gap_inside_a_phrase_pauses_and_goes_on() -> None:
    marks = feed(Endpoint(), (VOICE, 10), (SILENCE, END_FRAMES - 1), (VOICE, 10), (SILENCE, END_FRAMES))
    assert [mark for _, mark in marks] == [Mark.STARTED, Mark.PAUSED, Mark.PAUSED, Mark.ENDED]


def test_weak_syllable_does_not_end_a_word() -> None:
    marks = feed(Endpoint(), (VOICE, 10), (0.5, 20), (VOICE, 5))
    assert [mark for _, mark in marks] == [Mark.STARTED]


def test_weak_syllable_does_not_start_one() -> None:
    assert feed(Endpoint(), (0.09, 50)) == []


def test_endless_talk_is_told_once_at_its_limit() -> None:
    frames = round(LONGEST_S / FRAME_S)
    marks = feed(Endpoint(), (VOICE, 3 * frames), (SILENCE, END_FRAMES))
    assert marks == [
        (START_FRAMES, Mark.STARTED),
        (frames, Mark.TOO_LONG),
        (3 * frames + PAUSE_FRAMES, Mark.PAUSED),
        (3 * frames + END_FRAMES, Mark.ENDED),
    ]


def test_stopped_endpoint_waits_for_the_next_word() -> None:
    endpoint = Endpoint()
    feed(endpoint, (VOICE, 10), (SILENCE, 5))
    endpoint.stop()
    assert feed(endpoint, (SILENCE, 20)) == []
    assert feed(endpoint, (VOICE, 5)) == [(START_FRAMES, Mark.STARTED)]


def make_word(consonant_s: float, gap_s: float, hiss: float) -> tuple[np.ndarray, int]:
    """A second of cabin, an unvoiced consonant, a gap, a vowel; and the sample where the vowel begins."""
    rng = np.random.default_rng(7)
    count = [round(s * SAMPLE_RATE_HZ) for s in (0.5, consonant_s, gap_s, 0.3)]
    consonant = np.diff(rng.standard_normal(count[1] + 1)) * 0.02
    vowel = 0.3 * np.sign(np.sin(2 * np.pi * 130 * np.arange(count[3]) / SAMPLE_RATE_HZ))
    word = np.concatenate([np.zeros(count[0]), consonant, np.zeros(count[2]), vowel])
    return (word + hiss * rng.standard_normal(len(word))).astype(np.float32), sum(count[:3])


@pytest.mark.parametrize("consonant_s", [0.0, 0.08, 0.15])
@pytest.mark.parametrize("hiss", [0.00001, 0.001])
def test_onset_is_the_first_consonant(consonant_s: float, hiss: float) -> None:
    sound, vowel = make_word(consonant_s, 0.0, hiss)
    onset = find_onset(sound, vowel + 400)
    assert onset / SAMPLE_RATE_HZ == pytest.approx(0.5, abs=0.011)


def test_onset_reaches_over_the_closure_of_a_stop() -> None:
    sound, vowel = make_word(0.06, 0.03, 0.001)
    assert find_onset(sound, vowel) / SAMPLE_RATE_HZ == pytest.approx(0.5, abs=0.011)


def test_onset_does_not_reach_the_word_before() -> None:
    sound, vowel = make_word(0.06, 0.1, 0.001)
    assert find_onset(sound, vowel) / SAMPLE_RATE_HZ == pytest.approx(0.66, abs=0.011)


def test_onset_after_digital_silence_is_the_word_and_not_the_room() -> None:
    word, vowel = make_word(0.0, 0.0, 0.0005)
    sound = np.concatenate([np.zeros(4000, np.float32), word[4000:]])
    assert find_onset(sound, vowel) / SAMPLE_RATE_HZ == pytest.approx(0.5, abs=0.011)


def test_onset_is_never_after_what_was_noticed() -> None:
    hiss = (0.1 * np.random.default_rng(1).standard_normal(8000)).astype(np.float32)
    assert find_onset(hiss, 5003) <= 5003
