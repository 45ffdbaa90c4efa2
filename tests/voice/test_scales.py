"""Which thresholds may be moved, and how little is believed of what nobody measured."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.session.voice_profile import bound
from coach.store.phrases import read_phrases
from coach.voice.recognisers.phrase_limits import LIMITS
from coach.voice.scales import ATTRACTING, FLOORS, MEASURED, MOST_RAISED, _find_whisper, find_scale

WHISPER = "Whisper tiny.en, phrases scored"


def test_figures_are_those_of_the_thresholds_in_force() -> None:
    """Where this fails: measure again by `python -m audio_tests.profile_study`."""
    assert LIMITS == MEASURED


def test_only_what_foreign_words_are_taken_for_is_raised() -> None:
    scale = find_scale(WHISPER)
    assert scale is not None
    assert bound(99.0, "Stand by", scale) == scale.least + MOST_RAISED
    assert bound(99.0, "station passage", scale) == scale.least


def test_whispers_scale_is_that_of_its_thresholds() -> None:
    scale = find_scale(WHISPER)
    assert scale is not None
    assert (scale.recogniser, scale.least, scale.least_margin) == (
        WHISPER,
        LIMITS.confidence,
        LIMITS.margin,
    )


def test_floors_are_those_of_ways_that_a_pilot_can_say() -> None:
    ways = {way.lower() for way, _ in read_phrases().all_ways}
    assert set(FLOORS) | ATTRACTING <= ways


@pytest.mark.parametrize("way", ["rejoin spoke nine", "coach passage", "traffic", "say again"])
def test_way_not_measured_or_near_what_is_no_command_is_never_lowered(way: str) -> None:
    scale = find_scale(WHISPER)
    assert scale is not None
    assert bound(-99.0, way, scale) == scale.least


def test_score_made_in_another_way_moves_nothing() -> None:
    changed = _find_whisper(WHISPER, replace(LIMITS, prior=LIMITS.prior + 0.1))
    assert bound(-99.0, "station passage", changed) == changed.least
    assert bound(99.0, "station passage", changed) == changed.least


@pytest.mark.parametrize("name", ["pocketsphinx, English model of its wheel", "vosk, model/ko"])
def test_recogniser_that_was_not_measured_moves_nothing(name: str) -> None:
    scale = find_scale(name)
    assert scale is not None
    assert bound(-99.0, "station passage", scale) == bound(99.0, "station passage", scale) == scale.least


def test_unknown_recogniser_has_no_scale() -> None:
    assert find_scale("something else") is None
