"""The English phrase table: whole, and nothing in it mistakes itself for something else."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest

from coach.errors import SettingsError
from coach.session.phrases import Phrase
from coach.store.phrases import read_phrase_file, read_phrases

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
    assert tuple(each.canonical for each in TABLE.phrases) == (
        *CANONICAL,
        *spokes,
        "throttle",
        "talk",
        "mute",
    )


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
    ("talk", "more"): "never listened for together: `talk` about a checkpoint, `more talk` elsewhere",
    ("talk", "less"): "the same",
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


def test_every_problem_of_a_table_is_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "en.yaml"
    path.write_text(
        "language: en\nphrases:\n"
        "  - {phrase: next leg, ways: [next leg, next], key: n, means: move on}\n"
        "  - {phrase: next, key: n, means: move on}\n"
        "  - {phrase: next leg, ways: [], key: 'Fn 1', means: move on}\n"
        "  - {phrase: say-again, keys: s, means: repeat}\n"
        "  - {phrase: stand by, key: h, means: hush}\n"
        "  - {phrase: stand by, means: hush}\n"
    )
    with pytest.raises(SettingsError) as raised:
        read_phrase_file(path)
    assert str(raised.value).replace(str(path), "en.yaml").splitlines() == [
        "en.yaml:4:5: phrases[2]: expected each key once, got 'n' again",
        "en.yaml:4:5: phrases[2]: expected each way once, got 'next' again",
        "en.yaml:5:39: phrases[3].key: expected one character or the name of a key, got 'Fn 1'",
        "en.yaml:6:14: phrases[4].phrase: expected words of letters, one space apart, got 'say-again'",
        "en.yaml:6:25: phrases[4].keys: expected a key of a phrase (nearest: 'key'), got 'keys'",
        "en.yaml:8:5: phrases[6]: expected each phrase once, got 'stand by' again",
        "en.yaml:8:5: phrases[6]: expected each way once, got 'stand by' again",
    ]


def test_language_without_a_table_is_told() -> None:
    with pytest.raises(SettingsError, match=r"^language: expected one of en, ko, got 'xx'$"):
        read_phrases("xx")
