"""The Korean phrase table: the same phrases and keys as the English one, said in Korean and nothing else."""

from __future__ import annotations

import unicodedata
from itertools import permutations

import pytest

from coach.session.phrases import Phrase
from coach.store.phrases import read_phrases

ENGLISH, KOREAN = read_phrases("en"), read_phrases("ko")
SPOKEN = tuple(phrase for phrase in KOREAN.phrases if phrase.canonical != "mute")


def test_table_is_korean() -> None:
    assert KOREAN.language == "ko"


def test_phrases_keys_and_meanings_are_those_of_the_english_table() -> None:
    def without_ways(phrase: Phrase) -> tuple[str, str | None, str]:
        return phrase.canonical, phrase.key, phrase.means

    assert [without_ways(phrase) for phrase in KOREAN.phrases] == [
        without_ways(phrase) for phrase in ENGLISH.phrases
    ]


@pytest.mark.parametrize("phrase", SPOKEN, ids=lambda phrase: phrase.canonical)
def test_every_way_is_written_in_whole_syllables_of_hangul(phrase: Phrase) -> None:
    assert phrase.ways
    for letter in "".join(phrase.ways).replace(" ", ""):
        assert unicodedata.name(letter).startswith("HANGUL SYLLABLE")


def test_mute_has_no_way() -> None:
    assert KOREAN.phrases[-1].ways == ()


def test_only_rejoin_begins_another_phrase() -> None:
    ways = KOREAN.ways(tuple(phrase.canonical for phrase in SPOKEN))
    inside = {
        canonical
        for (one, canonical), (other, other_canonical) in permutations(ways, 2)
        if canonical != other_canonical and f" {one} " in f" {other} "
    }
    # An utterance stands alone: `rejoin` is followed by silence, `rejoin spoke ten` likewise.
    assert inside == {"rejoin", "rejoin spoke ten"}
