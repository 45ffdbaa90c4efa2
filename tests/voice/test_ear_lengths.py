"""How long phrases take."""

from __future__ import annotations

import math

import pytest

from coach.voice.lengths import compare_length, find_longest_s, find_usual_s


def test_longer_phrase_takes_longer() -> None:
    assert find_usual_s("time") < find_usual_s("next leg") < find_usual_s("I have the flight controls")


def test_spaces_cost_nothing() -> None:
    assert find_usual_s("stand by") == find_usual_s("standby")


def test_syllable_of_hangul_counts_its_letters() -> None:
    assert find_usual_s("대기") == find_usual_s("daegi"[:4])


@pytest.mark.parametrize("way", ["go", "established", "you have the flight controls"])
def test_usual_length_compares_as_nothing_and_twice_as_its_logarithm(way: str) -> None:
    assert compare_length(way, find_usual_s(way)) == pytest.approx(0.0)
    assert compare_length(way, 2 * find_usual_s(way)) == pytest.approx(math.log(2))


def test_command_that_a_sentence_begins_with_is_shorter_than_the_sentence() -> None:
    assert find_longest_s("traffic") < find_usual_s("traffic in sight continue")
    assert find_longest_s("established") > 1.5 * find_usual_s("established")
