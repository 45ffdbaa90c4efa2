"""What the pilot says that is not for the coach."""

from __future__ import annotations

from itertools import pairwise

from coach.rehearsal.radio import LEAST_GAP_S, SENTENCES, Radio
from coach.store.phrases import read_phrases


def say_all(radio: Radio, *, until_s: int) -> list[tuple[float, str]]:
    for at_s in range(until_s):
        radio.find_call(float(at_s), is_busy=False)
    return radio.said


def test_every_call_is_said_with_a_gap_between_them() -> None:
    said = say_all(Radio(20, 2600.0, seed=1), until_s=4000)
    assert sorted(text for _, text in said) == sorted(SENTENCES)
    gaps_s = [after[0] - before[0] for before, after in pairwise(said)]
    assert min(gaps_s) >= LEAST_GAP_S


def test_pilot_with_a_word_for_the_coach_makes_no_call() -> None:
    radio = Radio(5, 100.0, seed=1)
    assert all(radio.find_call(float(at_s), is_busy=True) is None for at_s in range(500))


def test_same_seed_is_the_same_flight() -> None:
    assert say_all(Radio(7, 900.0, seed=4), until_s=2000) == say_all(Radio(7, 900.0, seed=4), until_s=2000)
    assert say_all(Radio(7, 900.0, seed=4), until_s=2000) != say_all(Radio(7, 900.0, seed=5), until_s=2000)


def test_no_sentence_is_a_phrase_of_the_coach() -> None:
    ways = {way.lower() for way, _ in read_phrases().all_ways}
    assert not ways & {text.lower() for text in SENTENCES}
