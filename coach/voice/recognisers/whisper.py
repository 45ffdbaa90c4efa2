"""The best ear: Whisper tiny.en asked how probable each phrase is, never asked to write down what it hears.

The phrases of the present grammar are given to the model as what was said before (they prime it), then the
probability of each is summed over its tokens. A phrase is a command when it is probable enough, and stands
far enough above the next one. Never reads anything that is not in the grammar.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from coach.voice.lengths import compare_length
from coach.voice.recogniser import Reading, Samples, Ways
from coach.voice.recognisers.phrase_tree import LogProbabilities, Scored, Tokens, search_best
from coach.voice.recognisers.whisper_model import load_model

LONGEST_PRIMER = 200
"""The model looks back over at most 223 tokens: a larger grammar is narrowed down first."""

NARROWED = 12
"""To so many phrases, the best ones with nothing given beforehand."""

NARROWING_SPREAD, NARROWING_LOWEST = 12.0, -6.0
"""Wide: without the grammar before it the model spells a phrase in many ways."""

AHEAD = 3
"""The model's own way is followed this far at a time: most phrases are then known in one go."""

SPREAD = 3.0
"""How far below the best phrase another is still looked for."""

LOWEST_TOKEN_SCORE = -2.6
"""Nothing with a lower mean is looked for: no phrase is accepted there."""

MOST_FOUND = 4

PEAK = 0.9
"""Every utterance is brought to this peak."""


def load_whisper(folder: Path | None) -> WhisperRecogniser:
    """The recogniser with the weights of a folder, or those of the extra; `SetupError` names the remedy."""
    return WhisperRecogniser(load_model(folder))


class Model(Protocol):
    """What of `whisper_model.WhisperModel` is used here."""

    def encode(self, audio: Samples) -> Any:
        """What the model hears."""

    def predict(
        self, heard: Any, primer: Tokens, beginning: Tokens, ahead: int
    ) -> tuple[tuple[Tokens, LogProbabilities], ...]:
        """What comes next, along a text."""

    def encode_text(self, text: str) -> Tokens:
        """A text as tokens."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What the model thinks of one utterance; `judge` makes a reading of it."""

    way: str
    """The way of saying that fits best."""

    phrase: str
    """What it stands for."""

    score: float
    """Mean log probability of its tokens, the grammar given beforehand; at most 0."""

    margin: float
    """How far the best way of any other phrase lies below in all its tokens; at most `SPREAD`."""

    length: float
    """Logarithm of the voice's length over the usual one (`coach.voice.lengths`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """When the best phrase is a command."""

    confidence: float
    """Least score, less what is taken off for an unusual length."""

    margin: float
    """Least margin over another phrase."""

    long_from: float = 0.25
    short_from: float = -0.4
    """Lengths from which something is taken off."""

    per_long: float = 5.0
    per_short: float = 1.6
    """How much is taken off for each unit of length."""


LIMITS = Limits(confidence=-1.9, margin=0.5)
"""A first choice from two dozen words; a curve over many speakers is still to replace it."""


def find_confidence(measured: Measured, limits: Limits) -> float:
    """The score, less what is taken off for an unusual length."""
    over = max(measured.length - limits.long_from, 0.0)
    under = max(limits.short_from - measured.length, 0.0)
    return measured.score - limits.per_long * over - limits.per_short * under


def judge(measured: Measured, limits: Limits) -> str:
    """Why this is no command; empty where it is one."""
    if find_confidence(measured, limits) < limits.confidence:
        return "no phrase fits"
    return "two phrases fit" if measured.margin < limits.margin else ""


class WhisperRecogniser:
    """Scores the ways of saying with Whisper tiny.en."""

    name = "Whisper tiny.en, phrases scored"

    def __init__(self, model: Model, limits: Limits = LIMITS) -> None:
        self._model = model
        self._limits = limits
        self._phrases: dict[Tokens, tuple[str, str]] = {}
        self._primer: Tokens = ()

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
            return Reading(phrase=None, way=None, score=LOWEST_TOKEN_SCORE, reason="no phrase fits")
        reason = judge(measured, self._limits)
        return Reading(
            phrase=None if reason else measured.phrase,
            way=measured.way,
            score=find_confidence(measured, self._limits),
            reason=reason,
        )

    def measure(self, audio: Samples, voice_s: float) -> Measured | None:
        """What the model thinks of an utterance; None where no phrase is anywhere near."""
        found = self._search(self._model.encode(_level(audio)))
        if not found:
            return None
        best = found[0]
        way, phrase = self._phrases[best.tokens]
        others = [scored.score for scored in found if self._phrases[scored.tokens][1] != phrase]
        return Measured(
            way=way,
            phrase=phrase,
            score=best.score / len(best.tokens),
            margin=min(best.score - max(others, default=-np.inf), SPREAD),
            length=compare_length(way, voice_s),
        )

    def _search(self, heard: Any) -> tuple[Scored, ...]:
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
        return search_best(
            phrases, expansion.expand, spread=SPREAD, lowest=LOWEST_TOKEN_SCORE, most=MOST_FOUND
        )

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


def write(way: str) -> str:
    """A way of saying as the model writes it: a sentence of its own after another."""
    return f" {way[0].upper()}{way[1:]}."


def _level(audio: Samples) -> Samples:
    peak = float(np.abs(audio).max(initial=0.0))
    return audio * np.float32(PEAK / peak) if peak > 0 else audio
