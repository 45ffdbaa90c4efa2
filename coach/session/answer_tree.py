"""What may be said next on the way through an answer: the grammar of answers, word by word.

For recognisers that follow a voice word by word, or want every sentence of a grammar. Pure, never scores.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import cache

from coach.session.answer_words import ENGLISH, Said, Vocabulary
from coach.session.answers import MOST_DIGITS, Kind, direction_ways, openings

Following = frozenset[str | None]
"""Words that may come next; None: the answer may end here."""


def follow_answer(said: Said, asked: Kind, words: Vocabulary = ENGLISH) -> Following:
    """What may come after these words of an answer; empty: nothing, it is none."""
    found: set[str | None] = set()
    for before, kind, _ in openings(asked, words):
        if len(said) < len(before):
            found |= {before[len(said)]} if said == before[: len(said)] else set()
        elif said[: len(before)] == before:
            found |= _follow_value(said[len(before) :], kind, words)
    return frozenset(found)


def _follow_value(said: Said, kind: Kind, words: Vocabulary) -> Following:
    if kind is Kind.NUMBER:
        return _follow_number(said, words)
    if said and said[-1] in words.degrees:
        is_whole = None in _direction_tree(words).get(said[:-1], ())
        return frozenset((None,)) if is_whole else frozenset()
    found = _direction_tree(words).get(said, frozenset())
    return found | set(words.degrees) if None in found else found


def _follow_number(said: Said, words: Vocabulary) -> Following:
    digits = {word for ways in words.digits for word in ways}
    grouped = _group_tree(words).get(said, frozenset())
    if len(said) > MOST_DIGITS or not digits.issuperset(said):
        return grouped
    may_end = {None} if said else set()
    return grouped | may_end | (digits if len(said) < MOST_DIGITS else set())


@cache
def _direction_tree(words: Vocabulary) -> dict[Said, Following]:
    return _grow(direction_ways(words))


@cache
def _group_tree(words: Vocabulary) -> dict[Said, Following]:
    return _grow(tuple(way.split()) for way, _ in (*words.groups, *words.hundreds))


def _grow(ways: Collection[Said] | Iterator[Said]) -> dict[Said, Following]:
    tree: dict[Said, set[str | None]] = {}
    for way in ways:
        for place, word in enumerate((*way, None)):
            tree.setdefault(way[:place], set()).add(word)
    return {beginning: frozenset(nexts) for beginning, nexts in tree.items()}
