"""What an ear makes of a spoken answer: the right one, another, or none that can be told.

Every answer of the grammar competes, the expected one without a bonus: a wrong answer must never be heard as
the right one. Pure: scores in, a verdict out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from coach.session.answers import Answer
from coach.voice.lengths import compare_length


class Verdict(StrEnum):
    """What became of an answer."""

    RIGHT = "right"
    ANOTHER = "another"
    """An answer, and not the expected one."""

    NOT_UNDERSTOOD = "not understood"


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerReading:
    """What a recogniser made of one utterance that should be an answer."""

    verdict: Verdict

    answer: Answer | None
    """What was heard; None: not understood."""

    score: float
    """How well it fitted, on the recogniser's own scale; higher is surer."""

    margin: float
    """How far the likeliest other answer lies below, on the same scale summed over the utterance; at most
    what the recogniser looked for."""

    reason: str = ""
    """Why it was not understood, such as `two answers fit`; empty where it was."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One answer that an utterance may be."""

    answer: Answer

    way: str
    """The way of saying it that fits best."""

    score: float
    """Log probability, summed over the utterance and all ways of saying."""

    mean: float
    """The best way's log probability a token."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerLimits:
    """When the likeliest answer counts."""

    mean: float
    """Least `Candidate.mean`."""

    margin: float
    """Least margin over another answer."""

    share: float = 0.0
    """And least share of what the answer itself costs: where nothing fits well, a lead says less."""

    longest: float = 1.1
    """A voice longer than this said more: logarithm of its length over the usual one."""

    shortest: float = -0.9
    """A voice shorter than this said less, likewise."""


LONG_FROM, PER_LONG = 0.6, 2.5
SHORT_FROM, PER_SHORT = -0.35, 5.0
"""From these lengths on (logarithms again) the length speaks against an answer, by so much for each unit.

Right answers lie between -0.31 and 0.47 (161 headings, synthetic voices) and between -0.35 and 0.88 (33
digit strings, real speakers, who pause): nobody speaks much faster, many stop in between.
"""

NOTHING_FITS = "no answer fits"
TWO_FIT = "two answers fit"


def refuse(reason: str, *, score: float = 0.0, margin: float = 0.0) -> AnswerReading:
    """An utterance that was not understood."""
    return AnswerReading(
        verdict=Verdict.NOT_UNDERSTOOD, answer=None, score=score, margin=margin, reason=reason
    )


def accept(answer: Answer, expected: Answer, *, score: float, margin: float) -> AnswerReading:
    """An answer that was understood."""
    verdict = Verdict.RIGHT if answer == expected else Verdict.ANOTHER
    return AnswerReading(verdict=verdict, answer=answer, score=score, margin=margin)


def judge_candidates(
    candidates: Iterable[Candidate], expected: Answer, voice_s: float, limits: AnswerLimits, *, spread: float
) -> AnswerReading:
    """The likeliest candidate, if it is likely enough and stands clear of the next.

    `voice_s` is how long the voice lasts: it tells `four one two` from what goes on after it. `spread` is how
    far below the best candidates were looked for.
    """
    candidates = tuple(candidates)
    ranked = rank_candidates(candidates, voice_s)
    if not ranked:
        return refuse(NOTHING_FITS)
    score, best = ranked[0]
    unseen = max(candidate.score for candidate in candidates) - spread
    margin = score - max((other for other, _ in ranked[1:]), default=unseen)
    margin = min(margin, score - unseen)
    reason = _find_fault(best, margin, compare_length(best.way, voice_s), limits)
    if reason:
        return refuse(reason, score=best.mean, margin=margin)
    return accept(best.answer, expected, score=best.mean, margin=margin)


def rank_candidates(candidates: Iterable[Candidate], voice_s: float) -> tuple[tuple[float, Candidate], ...]:
    """(score, candidate), best first: what the model says, less what the voice's length says against it."""
    scored = ((one.score - _weigh_length(compare_length(one.way, voice_s)), one) for one in candidates)
    return tuple(sorted(scored, key=lambda pair: -pair[0]))


def _weigh_length(length: float) -> float:
    return PER_LONG * max(length - LONG_FROM, 0.0) + PER_SHORT * max(SHORT_FROM - length, 0.0)


def _find_fault(best: Candidate, margin: float, length: float, limits: AnswerLimits) -> str:
    if best.mean < limits.mean:
        return NOTHING_FITS
    if length > limits.longest:
        return "longer than the answer"
    if length < limits.shortest:
        return "shorter than the answer"
    needed = max(limits.margin, limits.share * -best.score)
    return TWO_FIT if margin < needed else ""
