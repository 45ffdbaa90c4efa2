"""When the best phrase is a command: by how well it fits, how it ends, and how long the voice was."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.voice.recognisers.phrase_limits import Limits, Measured, find_confidence, judge

LIMITS = Limits(confidence=-1.0, margin=0.5)
GOOD = Measured(
    way="stand by",
    phrase="stand by",
    fit=-1.0,
    end=-0.1,
    prior=-15.0,
    margin=3.0,
    voice_s=0.7,
    usual_s=0.73,
)


def test_phrase_that_fits_is_a_command() -> None:
    assert judge(GOOD, LIMITS) == ""


@pytest.mark.parametrize(
    ("worse", "reason"),
    [
        ({"fit": -8.0}, "no phrase fits"),
        ({"end": -9.0}, "no phrase fits"),
        ({"voice_s": 1.6}, "no phrase fits"),
        ({"voice_s": 0.15}, "no phrase fits"),
        ({"margin": 0.4}, "two phrases fit"),
    ],
    ids=["weak", "goes on", "too long", "too short", "another near"],
)
def test_each_figure_alone_can_refuse_it(worse: dict[str, float], reason: str) -> None:
    assert judge(replace(GOOD, **worse), LIMITS) == reason  # type: ignore[arg-type]


def test_likely_word_needs_a_better_fit_than_a_rare_one() -> None:
    rare, likely = replace(GOOD, fit=-5.0, prior=-20.0), replace(GOOD, fit=-5.0, prior=-8.0)
    assert judge(rare, LIMITS) == ""
    assert judge(likely, LIMITS) == "no phrase fits"


WEIGHED = replace(LIMITS, opinion=0.5, neutral_opinion=0.0, least_opinion=-4.0, most_opinion=3.0)


@pytest.mark.parametrize(
    ("opinion", "added"), [(None, 0.0), (2.0, 1.0), (-2.0, -1.0), (9.0, 1.5), (-9.0, -2.0)]
)
def test_second_opinion_counts_within_its_bounds(opinion: float | None, added: float) -> None:
    alone = find_confidence(GOOD, WEIGHED)
    assert find_confidence(replace(GOOD, opinion=opinion), WEIGHED) == pytest.approx(alone + added)


def test_length_within_the_usual_takes_nothing_off() -> None:
    lengths_s = (0.5, 0.73, 1.1)
    assert len({find_confidence(replace(GOOD, voice_s=s), LIMITS) for s in lengths_s}) == 1


def test_voice_of_no_length_is_no_error() -> None:
    assert judge(replace(GOOD, voice_s=0.0), LIMITS) == "no phrase fits"
