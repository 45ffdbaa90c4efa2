"""The best few of many token sequences, without scoring them all.

A phrase is a row of tokens; its score is the sum of their log probabilities, each given the ones before.
A sum only falls as it grows, so the search goes on from the best beginning and stops when nothing that is
left can matter: exact, and a handful of steps where scoring each phrase takes hundreds. Pure.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Tokens = tuple[int, ...]

LogProbabilities = NDArray[np.float32]
"""One for each token of the vocabulary, given what came before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """One phrase and how well it fits."""

    tokens: Tokens
    score: float
    """Sum of the log probabilities, at most 0."""


def search_best(
    phrases: Collection[Tokens],
    expand: Callable[[Tokens], LogProbabilities],
    *,
    spread: float,
    lowest: float,
    most: int,
) -> tuple[Scored, ...]:
    """The best phrases, best first: at most `most`, none more than `spread` below the best.

    No phrase is found whose mean score a token is below `lowest`, and most of those cost nothing.

    `expand` gives the log probabilities of the token after a beginning; it is asked once for each.
    """
    following = _follow_beginnings(phrases)
    longest = _find_longest(phrases)
    found: list[Scored] = []
    open_ends: list[tuple[float, Tokens]] = [(0.0, ())] if following else []
    while open_ends and len(found) < most:
        cost, tokens = heapq.heappop(open_ends)
        if found and -cost < found[0].score - spread:
            break
        if -cost < lowest * longest[tokens]:
            continue
        if tokens and None in following[tokens] and -cost >= lowest * len(tokens):
            found.append(Scored(tokens=tokens, score=-cost))
            following[tokens].discard(None)
        nexts = [token for token in following[tokens] if token is not None]
        if nexts:
            after = expand(tokens)
            for token in sorted(nexts):
                heapq.heappush(open_ends, (cost - float(after[token]), (*tokens, token)))
    return tuple(found)


def _follow_beginnings(phrases: Collection[Tokens]) -> dict[Tokens, set[int | None]]:
    """What may come after each beginning; None: the phrase is complete."""
    following: dict[Tokens, set[int | None]] = {}
    for phrase in phrases:
        for length, token in enumerate((*phrase, None)):
            following.setdefault(phrase[:length], set()).add(token)
    return following


def _find_longest(phrases: Collection[Tokens]) -> dict[Tokens, int]:
    """Length of the longest phrase after each beginning."""
    longest: dict[Tokens, int] = {}
    for phrase in phrases:
        for length in range(len(phrase) + 1):
            beginning = phrase[:length]
            longest[beginning] = max(longest.get(beginning, 0), len(phrase))
    return longest
