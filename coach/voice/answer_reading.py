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

    longest: float
    """A voice longer than this said more: logarithm of its length over the usual one."""

    shortest: float
    """A voice shorter than this said less, likewise."""


NOTHING_FITS = "no answer fits"


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

    `voice_s` is how long the voice lasts; `spread` how far below the best candidates were looked for.
    """
    ranked = sorted(candidates, key=lambda candidate: -candidate.score)
    if not ranked:
        return refuse(NOTHING_FITS)
    best = ranked[0]
    margin = min(best.score - ranked[1].score, spread) if len(ranked) > 1 else spread
    reason = _find_fault(best, margin, compare_length(best.way, voice_s), limits)
    if reason:
        return refuse(reason, score=best.mean, margin=margin)
    return accept(best.answer, expected, score=best.mean, margin=margin)


def _find_fault(best: Candidate, margin: float, length: float, limits: AnswerLimits) -> str:
    if best.mean < limits.mean:
        return NOTHING_FITS
    if length > limits.longest:
        return "longer than the answer"
    if length < limits.shortest:
        return "shorter than the answer"
    return "two answers fit" if margin < limits.margin else ""
