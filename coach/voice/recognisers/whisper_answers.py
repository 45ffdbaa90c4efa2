"""Spoken answers by Whisper: every answer of the grammar scored against every other, in one search.

Digit strings are given to the model as what was said before, so that it writes words and no numerals. Never
favours the answer that is expected.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

import numpy as np

from coach.session.answer_tree import Following, follow_answer
from coach.session.answers import Answer, Kind, parse_answer
from coach.voice.answer_reading import (
    TWO_FIT,
    AnswerLimits,
    AnswerReading,
    Candidate,
    judge_candidates,
    rank_candidates,
    refuse,
)
from coach.voice.recogniser import Samples
from coach.voice.recognisers.answer_search import Found, search_answers
from coach.voice.recognisers.phrase_tree import LogProbabilities, Tokens
from coach.voice.recognisers.whisper_model import Model

DIRECTION_PRIMER = (
    " Heading one six zero. Zero nine five. Two eighty four. Right heading three two seven. "
    "Course zero zero eight. Left one five nine. Three forty. Left heading two one niner. "
    "Radial tree fife six. Right zero seven one. Two seventeen. Heading niner one fife. "
    "Right three six zero. One oh four. Course tree zero niner. Left two seven eight."
)
NUMBER_PRIMER = (
    " One two zero. Eight six two oh three eight seven. Four one niner. Five nine three three seven six "
    "eight. Two two four one oh six. Seven three five one."
)
"""Made-up answers in which every digit and every kind occurs; none is more likely than another.

Of 168 headings in four synthetic voices at 10 dB the likeliest answer is right in 166; with half as many
examples, and no `right heading` among them, in 163.
"""

AHEAD = {Kind.NUMBER: 6}
AHEAD_IN_DIRECTION = 3
"""The model's own way is followed this far at a time: an answer is then mostly known in two goes."""

SPREAD = 3.0
"""How far below the best answer another is still looked for."""

START_COST, TOKEN_COST = 6.0, 1.0
"""A beginning that costs more is not followed: right answers cost half of this and less."""

MOST_STEPS = 60

LIMITS = AnswerLimits(mean=-1.5, margin=1.0, share=0.5)
"""Chosen on four synthetic voices, 168 headings at 10 dB: of the 166 read right it keeps 159, of the 2
others none; a margin of 1.2 alone keeps 160 and none, but the wrong ones are then only just refused."""

SURE_MARGIN = 2.5
"""With a smaller margin the sound is heard a second time, slower: the same answer must come first."""

SLOWNESS = 0.92
"""How fast the second time is: another picture of the same sound, well within how fast people speak."""


class AnswerScorer:
    """Finds the likeliest answers in what the model heard."""

    def __init__(self, model: Model, limits: AnswerLimits = LIMITS) -> None:
        self._model = model
        self._limits = limits
        self._spell = cache(self._spell_word)

    def judge(self, audio: Samples, heard: Any, voice_s: float, expected: Answer) -> AnswerReading:
        """Judge a sound, and what the model heard in it, against the expected answer."""
        candidates = self.find_candidates(heard, expected.kind)
        reading = judge_candidates(candidates, expected, voice_s, self._limits, spread=SPREAD)
        if reading.answer is None or reading.margin >= SURE_MARGIN:
            return reading
        again = rank_candidates(self.look_again(audio, expected.kind), voice_s)
        if again and again[0][1].answer == reading.answer:
            return reading
        return refuse(TWO_FIT, score=reading.score, margin=reading.margin)

    def look_again(self, audio: Samples, asked: Kind) -> tuple[Candidate, ...]:
        """The likeliest answers in the same sound, slowed down."""
        places = np.arange(round(len(audio) / SLOWNESS)) * SLOWNESS
        slow = np.interp(places, np.arange(len(audio)), audio).astype(np.float32)
        return self.find_candidates(self._model.encode(slow), asked)

    def find_candidates(self, heard: Any, asked: Kind) -> tuple[Candidate, ...]:
        """The likeliest answers to a question for this kind, best first; none where none is near."""
        (end,) = self._model.encode_text(".")
        found = search_answers(
            lambda said: _follow(said, asked),
            self._spell,
            _Expansion(self._model, heard, asked).expand,
            end=end,
            spread=SPREAD,
            lowest=lambda tokens: -START_COST - TOKEN_COST * tokens,
            most_steps=MOST_STEPS,
        )
        return _sum_ways(found, asked)

    def _spell_word(self, word: str, is_first: bool) -> Tokens:
        return self._model.encode_text(f" {word.capitalize() if is_first else word}")


@cache
def _follow(said: tuple[str, ...], asked: Kind) -> Following:
    return follow_answer(said, asked)


def _sum_ways(found: Iterable[Found], asked: Kind) -> tuple[Candidate, ...]:
    """One candidate for each answer; `found` begins with the best."""
    candidates: dict[Answer, Candidate] = {}
    for one in found:
        way = " ".join(one.words)
        answer = parse_answer(way, asked)
        if answer is None:
            continue
        known = candidates.get(answer)
        candidates[answer] = Candidate(
            answer=answer,
            way=known.way if known else way,
            score=float(np.logaddexp(known.score, one.score)) if known else one.score,
            mean=known.mean if known else one.score / one.tokens,
        )
    return tuple(sorted(candidates.values(), key=lambda candidate: -candidate.score))


class _Expansion:
    """What the model expects after each beginning, in one utterance; asked once for each."""

    def __init__(self, model: Model, heard: Any, asked: Kind) -> None:
        self._model = model
        self._heard = heard
        self._ahead = AHEAD.get(asked, AHEAD_IN_DIRECTION)
        self._primer = model.encode_text(NUMBER_PRIMER if asked is Kind.NUMBER else DIRECTION_PRIMER)
        self._known: dict[Tokens, LogProbabilities] = {}

    def expand(self, beginning: Tokens) -> LogProbabilities:
        """The log probabilities after a beginning."""
        if beginning not in self._known:
            predicted = self._model.predict(self._heard, self._primer, beginning, self._ahead)
            self._known = dict(predicted) | self._known
        return self._known[beginning]
