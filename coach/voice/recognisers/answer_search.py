"""The likeliest answers in one utterance: a best-first search through the grammar of answers, token by token.

A whole answer is scored by the sum of its log probabilities, its end included, so that `three six` never
passes for `three six zero`. Pure: the model is a callable.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from coach.session.answer_tree import Following
from coach.voice.recognisers.phrase_tree import LogProbabilities, Tokens

Follow = Callable[[tuple[str, ...]], Following]
"""Words so far to the words that may come next; None among them: it may end here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One way of giving an answer, and how well it fits."""

    words: tuple[str, ...]
    tokens: int
    score: float
    """Sum of the log probabilities of its tokens, at most 0."""


@dataclass(frozen=True, slots=True)
class _Place:
    """A place between two tokens: the words up to it, the last of them perhaps not yet complete."""

    words: tuple[str, ...]
    rest: Tokens


def search_answers(
    follow: Follow,
    spell: Callable[[str, bool], Tokens],
    expand: Callable[[Tokens], LogProbabilities],
    *,
    end: int,
    spread: float,
    lowest: Callable[[int], float],
    most_steps: int,
) -> tuple[Found, ...]:
    """The likeliest answers, best first, none more than `spread` below the best.

    `spell` gives the tokens of a word, told whether it is the first; `expand` the log probabilities of the
    token after a beginning; `end` is the token that ends an answer; `lowest` the least score of a beginning
    of so many tokens. After `most_steps` beginnings what was found has to do.
    """
    found: list[Found] = []
    heap: list[tuple[float, Tokens, tuple[_Place, ...]]] = [(0.0, (), (_Place((), ()),))]
    steps = 0
    while heap and steps < most_steps:
        cost, tokens, places = heapq.heappop(heap)
        if found and -cost < found[0].score - spread:
            break
        if tokens and tokens[-1] == end:
            found.append(Found(words=places[0].words, tokens=len(tokens), score=-cost))
            continue
        after = expand(tokens)
        steps += 1
        for token, nexts in _advance(places, follow, spell, end).items():
            score = float(after[token]) - cost
            if score >= lowest(len(tokens) + 1):
                heapq.heappush(heap, (-score, (*tokens, token), nexts))
    return tuple(found)


def _advance(
    places: tuple[_Place, ...], follow: Follow, spell: Callable[[str, bool], Tokens], end: int
) -> dict[int, tuple[_Place, ...]]:
    """The tokens that may come next, each with the places it leads to."""
    nexts: dict[int, tuple[_Place, ...]] = {}
    for place in places:
        for token, reached in _steps_from(place, follow, spell, end):
            nexts[token] = (*nexts.get(token, ()), reached)
    return nexts


def _steps_from(
    place: _Place, follow: Follow, spell: Callable[[str, bool], Tokens], end: int
) -> Iterator[tuple[int, _Place]]:
    if place.rest:
        yield place.rest[0], _Place(place.words, place.rest[1:])
        return
    for word in follow(place.words):
        if word is None:
            yield end, place
        else:
            first, *rest = spell(word, not place.words)
            yield first, _Place((*place.words, word), tuple(rest))
