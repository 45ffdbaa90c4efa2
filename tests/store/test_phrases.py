"""The English phrase table: whole, and nothing in it mistakes itself for something else."""

from __future__ import annotations

from itertools import permutations

from coach.session.phrases import Phrase
from coach.store.phrases import read_phrases

TABLE = read_phrases()

CANONICAL = (
    "station passage", "next leg", "needle alive", "established", "wings level", "abeam", "needle centered",
    "say again", "stand by", "resume drill", "disregard", "rejoin", "where now", "time", "bookmark",
    "more talk", "less talk", "unable", "terminate drill", "traffic", "I have the flight controls",
    "you have the flight controls", "affirmative", "negative",
)  # fmt: skip
NUMBERS = (
    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen",
)  # fmt: skip


def phrase(canonical: str) -> Phrase:
    found = TABLE.find_phrase(canonical)
    assert found is not None
    return found


def holds_words(inside: str, way: str) -> bool:
    return f" {inside} " in f" {way} "


def test_table_holds_every_phrase_and_no_other() -> None:
    spokes = tuple(f"rejoin spoke {number}" for number in NUMBERS)
    assert tuple(each.canonical for each in TABLE.phrases) == (*CANONICAL, *spokes, "mute")


def test_synonyms_are_those_of_the_procedure() -> None:
    synonyms = {each.canonical: each.ways[1:] for each in TABLE.phrases if len(each.ways) > 1}
    assert synonyms == {
        "station passage": ("passage",),
        "next leg": ("next",),
        "needle alive": ("course alive",),
        "where now": ("position",),
    }


def test_every_phrase_has_a_key_of_its_own() -> None:
    keys = [each.key for each in TABLE.phrases]
    assert None not in keys
    assert len(set(keys)) == len(keys)


def test_best_way_is_the_canonical_phrase_and_only_mute_has_none() -> None:
    assert phrase("mute").ways == ()
    assert all(each.ways[0] == each.canonical for each in TABLE.phrases if each.canonical != "mute")


LISTED = {
    ("rejoin", "rejoin spoke"): "an utterance stands alone: `rejoin` is followed by silence",
}
"""Ways that stand inside another phrase's way, and why that is borne."""


def test_no_way_stands_inside_another_phrase_but_for_a_listed_reason() -> None:
    ways = TABLE.ways(tuple(each.canonical for each in TABLE.phrases))
    inside = {
        (one, other.rsplit(" ", 1)[0])
        for (one, canonical), (other, other_canonical) in permutations(ways, 2)
        if canonical != other_canonical and holds_words(one.lower(), other.lower())
    }
    assert inside == set(LISTED)
