"""The best ear: Whisper tiny.en asked how probable each phrase is, never asked to write down what it hears.

The phrases of the present grammar are given to the model as what was said before (they prime it), then the
probability of each is summed over its tokens. A phrase is a command when it is probable enough, and stands
far enough above the next one; a second opinion that knows the flight phrases by their sound adds to both.
Never reads anything that is not in the grammar.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Any

import numpy as np

from coach.session.answers import Answer
from coach.voice.answer_reading import AnswerReading
from coach.voice.lengths import find_usual_s
from coach.voice.recogniser import SAMPLE_RATE_HZ, Reading, Samples, Ways
from coach.voice.recognisers.phrase_limits import (
    LIMITS,
    Limits,
    Measured,
    find_confidence,
    judge,
    weigh_opinion,
)
from coach.voice.recognisers.phrase_tree import LogProbabilities, Scored, Tokens, search_best
from coach.voice.recognisers.second_opinion import SecondOpinion, find_log_odds, load_second_opinion
from coach.voice.recognisers.whisper_answers import AnswerScorer
from coach.voice.recognisers.whisper_model import Model, load_model

LONGEST_PRIMER = 200
"""The model looks back over at most 223 tokens: a larger grammar is narrowed down first."""

NARROWED = 12
"""To so many phrases, the best ones with nothing given beforehand."""

NARROWING_SPREAD, NARROWING_LOWEST = 12.0, -6.0
"""Wide: without the grammar before it the model spells a phrase in many ways."""

AHEAD = 3
"""The model's own way is followed this far at a time: most phrases are then known in one go."""

SPREAD = 1.5
"""How far below the best phrase another is still looked for: twice the margin it must keep. The slowest
reading of twenty takes a third less than with 3.0."""

LOWEST_TOKEN_SCORE = -3.0
"""Nothing with a lower mean is looked for: hardly a phrase is accepted there."""

NOTHING_NEAR = -99.0
"""Score of an utterance that no phrase is anywhere near to."""

MOST_FOUND = 4

NOMINATED = 0.0
"""Log odds from which the second opinion may name a phrase itself: more likely than all else together."""

SILENCE_S = 0.096
"""So much silence lies behind the voice when it is read (`PAUSE_FRAMES` of the endpoint)."""

NOTHING_SAMPLES = 24_000
"""So much hiss is what nothing sounds like."""

PEAK = 0.9
"""Every utterance is brought to this peak."""


def load_whisper(folder: Path | None) -> WhisperRecogniser:
    """The recogniser with the weights of a folder, or those of the extra; `SetupError` names the remedy."""
    return WhisperRecogniser(load_model(folder), second=load_second_opinion())


class WhisperRecogniser:
    """Scores the ways of saying with Whisper tiny.en."""

    name = "Whisper tiny.en, phrases scored"

    def __init__(self, model: Model, limits: Limits = LIMITS, second: SecondOpinion | None = None) -> None:
        """Make one; `second` None: no second opinion is asked for."""
        self._model = model
        self._limits = limits
        self._second = second
        self.answers = AnswerScorer(model)
        """Reads answers."""
        self._phrases: dict[Tokens, tuple[str, str]] = {}
        self._primer: Tokens = ()
        self._last_heard: tuple[Samples, Any] | None = None
        self._priors: dict[Tokens, float] = {}
        self._nothing: Any = None

    def listen_for(self, ways: Ways) -> None:
        """Understand these from now on; no word is unknown to this model."""
        self._phrases = {self._model.encode_text(write(way)): (way, phrase) for way, phrase in ways}
        self._primer = self._make_primer(self._phrases)

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:  # noqa: ARG002
        """None: the model spells what it does not know."""
        return ()

    def read(self, audio: Samples, voice_s: float) -> Reading:
        """Read one utterance with some silence about it; `voice_s` is how long the voice in it lasts."""
        if not self._phrases:
            return Reading(phrase=None, way=None, score=0.0, reason="nothing is listened for")
        measured = self.measure(audio, voice_s)
        if measured is None:
            return Reading(phrase=None, way=None, score=NOTHING_NEAR, reason="no phrase fits")
        reason = judge(measured, self._limits)
        return Reading(
            phrase=None if reason else measured.phrase,
            way=measured.way,
            score=find_confidence(measured, self._limits),
            reason=reason,
            margin=measured.margin,
        )

    def read_answer(self, audio: Samples, voice_s: float, expected: Answer) -> AnswerReading:
        """Read one utterance as an answer to a question for the expected one's kind."""
        return self.answers.judge(level(audio), self.encode(audio), voice_s, expected)

    def encode(self, audio: Samples) -> Any:
        """What the model hears in an utterance; the last one, read once as phrase and as answer, is kept."""
        if self._last_heard is None or self._last_heard[0] is not audio:
            self._last_heard = audio, self._model.encode(level(audio))
        return self._last_heard[1]

    def measure(self, audio: Samples, voice_s: float) -> Measured | None:
        """What the model thinks of an utterance; None where no phrase is anywhere near."""
        found, expansion = self._search(self.encode(audio))
        opinions = self._ask_second(audio, voice_s)
        found += self._nominate(found, opinions, expansion)
        if not found:
            return None
        support = {scored.tokens: self._find_support(scored, opinions) for scored in found}
        best = max(found, key=lambda scored: support[scored.tokens])
        way, phrase = self._phrases[best.tokens]
        others = [of for tokens, of in support.items() if self._phrases[tokens][1] != phrase]
        return Measured(
            way=way,
            phrase=phrase,
            fit=best.score,
            end=float(expansion.expand(best.tokens[:-1])[best.tokens[-1]]),
            prior=self._find_prior(best.tokens),
            margin=min(support[best.tokens] - max(others, default=-np.inf), SPREAD),
            voice_s=voice_s,
            usual_s=find_usual_s(way),
            opinion=opinions.get(way),
        )

    def _ask_second(self, audio: Samples, voice_s: float) -> dict[str, float]:
        """The second opinion's log odds of each way it knows, the ways of a phrase taken together."""
        if self._second is None:
            return {}
        end_s = len(audio) / SAMPLE_RATE_HZ - SILENCE_S
        heard = self._model.read_frames(self.encode(audio))
        told = self._second.judge(heard, end_s - voice_s, end_s)
        known = {way: phrase for way, phrase in self._phrases.values() if way in told}
        together = {
            phrase: sum(told[way] for way, stands_for in known.items() if stands_for == phrase)
            for phrase in known.values()
        }
        return {way: find_log_odds(together[phrase]) for way, phrase in known.items()}

    def _nominate(
        self, found: tuple[Scored, ...], opinions: dict[str, float], expansion: _Expansion
    ) -> tuple[Scored, ...]:
        """The phrase that the second opinion is sure of and the model did not come to by itself."""
        way = max(opinions, key=lambda name: opinions[name], default=None)
        if way is None or opinions[way] < NOMINATED:
            return ()
        named = {
            tokens for tokens, (other, _) in self._phrases.items() if opinions.get(other) == opinions[way]
        }
        if any(scored.tokens in named for scored in found):
            return ()
        return tuple(Scored(tokens=tokens, score=expansion.score(tokens)) for tokens in sorted(named))

    def _find_support(self, scored: Scored, opinions: dict[str, float]) -> float:
        return scored.score + weigh_opinion(opinions.get(self._phrases[scored.tokens][0]), self._limits)

    def _search(self, heard: Any) -> tuple[tuple[Scored, ...], _Expansion]:
        phrases, primer = tuple(self._phrases), self._primer
        if len(primer) > LONGEST_PRIMER:
            unprimed = _Expansion(self._model, heard, ())
            narrowed = search_best(
                phrases,
                unprimed.expand,
                spread=NARROWING_SPREAD,
                lowest=NARROWING_LOWEST,
                most=NARROWED,
            )
            phrases = tuple(scored.tokens for scored in narrowed)
            primer = self._make_primer(phrases)[:LONGEST_PRIMER]
        expansion = _Expansion(self._model, heard, primer)
        found = search_best(
            phrases, expansion.expand, spread=SPREAD, lowest=LOWEST_TOKEN_SCORE, most=MOST_FOUND
        )
        return found, expansion

    def _find_prior(self, tokens: Tokens) -> float:
        """How probable a phrase is where nothing is said; the same in every grammar, found once."""
        if tokens not in self._priors:
            after = dict(self._model.predict(self._hear_nothing(), tokens, tokens, 1))
            self._priors[tokens] = sum(float(after[tokens[:n]][token]) for n, token in enumerate(tokens))
        return self._priors[tokens]

    def _hear_nothing(self) -> Any:
        if self._nothing is None:
            hiss = np.random.default_rng(0).standard_normal(NOTHING_SAMPLES)
            self._nothing = self._model.encode(level(hiss.astype(np.float32)))
        return self._nothing

    def _make_primer(self, phrases: Collection[Tokens]) -> Tokens:
        """The phrases as what was said before, one sentence each."""
        return self._model.encode_text("".join(write(self._phrases[tokens][0]) for tokens in phrases))


class _Expansion:
    """What the model expects after each beginning, in one utterance; asked once for each."""

    def __init__(self, model: Model, heard: Any, primer: Tokens) -> None:
        self._model = model
        self._heard = heard
        self._primer = primer
        self._known: dict[Tokens, LogProbabilities] = {}

    def expand(self, beginning: Tokens) -> LogProbabilities:
        """The log probabilities after a beginning."""
        if beginning not in self._known:
            ahead = max(AHEAD - len(beginning), 1)
            self._known |= dict(self._model.predict(self._heard, self._primer, beginning, ahead))
        return self._known[beginning]

    def score(self, tokens: Tokens) -> float:
        """The score of a phrase, looked at in one go."""
        self._known |= dict(self._model.predict(self._heard, self._primer, tokens[:-1], 1))
        return sum(float(self._known[tokens[:n]][token]) for n, token in enumerate(tokens))


def write(way: str) -> str:
    """A way of saying as the model writes it: a sentence of its own after another."""
    return f" {way[0].upper()}{way[1:]}."


def level(audio: Samples) -> Samples:
    """An utterance at the peak that the model is given every one at."""
    peak = float(np.abs(audio).max(initial=0.0))
    return audio * np.float32(PEAK / peak) if peak > 0 else audio
