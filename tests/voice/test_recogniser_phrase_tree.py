"""The search finds the same phrases as scoring every one, and asks for less."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from coach.voice.recognisers.phrase_tree import LogProbabilities, Scored, Tokens, search_best

VOCABULARY = 6
PHRASES = st.sets(st.lists(st.integers(0, VOCABULARY - 1), min_size=1, max_size=4).map(tuple), min_size=1)


class Oracle:
    """Log probabilities that hang on the beginning alone, and a count of the questions."""

    def __init__(self, seed: int, sharpness: float = 2.0) -> None:
        self.seed = seed
        self.sharpness = sharpness
        self.asked: list[Tokens] = []

    def __call__(self, beginning: Tokens) -> LogProbabilities:
        self.asked.append(beginning)
        logits = self.sharpness * np.random.default_rng((self.seed, *beginning)).standard_normal(VOCABULARY)
        return (logits - np.log(np.exp(logits).sum())).astype(np.float32)

    def score(self, phrase: Tokens) -> float:
        return sum(float(self(phrase[:place])[token]) for place, token in enumerate(phrase))


@given(phrases=PHRASES, seed=st.integers(0, 1000), most=st.integers(1, 5), spread=st.floats(0.5, 10.0))
def test_search_finds_what_scoring_every_phrase_finds(
    phrases: set[Tokens], seed: int, most: int, spread: float
) -> None:
    oracle = Oracle(seed)
    found = search_best(phrases, oracle, spread=spread, lowest=-30.0, most=most)
    every = sorted((oracle.score(phrase) for phrase in phrases), reverse=True)
    expected = [score for score in every if score >= every[0] - spread][:most]
    np.testing.assert_allclose([scored.score for scored in found], expected, rtol=1e-4, atol=1e-4)
    assert all(abs(oracle.score(scored.tokens) - scored.score) < 1e-3 for scored in found)


@given(phrases=PHRASES, seed=st.integers(0, 1000))
def test_search_asks_once_for_each_beginning(phrases: set[Tokens], seed: int) -> None:
    oracle = Oracle(seed)
    search_best(phrases, oracle, spread=5.0, lowest=-30.0, most=4)
    assert len(oracle.asked) == len(set(oracle.asked))


def test_clear_winner_is_found_without_looking_at_the_rest() -> None:
    def sure(beginning: Tokens) -> LogProbabilities:
        likely = np.full(VOCABULARY, -20.0, np.float32)
        likely[len(beginning)] = 0.0
        asked.append(beginning)
        return likely

    asked: list[Tokens] = []
    phrases = {(0, 1, 2), (3, 1, 2), (4, 1, 2), (5, 1, 2)}
    found = search_best(phrases, sure, spread=8.0, lowest=-9.0, most=4)
    assert found == (Scored(tokens=(0, 1, 2), score=0.0),)
    assert asked == [(), (0,), (0, 1)]


def test_phrase_that_another_begins_with_is_found_beside_it() -> None:
    level = np.full(VOCABULARY, np.log(1 / VOCABULARY), np.float32)
    found = search_best({(1,), (1, 2)}, lambda _: level, spread=9.0, lowest=-30.0, most=4)
    assert [scored.tokens for scored in found] == [(1,), (1, 2)]


def test_nothing_with_a_lower_mean_than_the_lowest_is_found() -> None:
    def by_length(beginning: Tokens) -> LogProbabilities:
        return np.full(VOCABULARY, -1.0 if len(beginning) == 2 else -3.0, np.float32)

    found = search_best({(1, 2), (1, 2, 3)}, by_length, spread=9.0, lowest=-2.4, most=4)
    assert [scored.tokens for scored in found] == [(1, 2, 3)]


def test_hopeless_beginning_is_not_followed() -> None:
    asked: list[Tokens] = []

    def expand(beginning: Tokens) -> LogProbabilities:
        asked.append(beginning)
        return np.full(VOCABULARY, -9.0, np.float32)

    assert search_best({(1, 2), (3, 4, 5)}, expand, spread=9.0, lowest=-2.5, most=4) == ()
    assert asked == [()]


def test_no_phrases_are_no_find() -> None:
    assert search_best((), Oracle(1), spread=9.0, lowest=-9.0, most=4) == ()
