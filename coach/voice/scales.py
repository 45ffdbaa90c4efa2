"""What each recogniser's scores mean, and how far a personal threshold may lie from the usual one.

Measured by `python -m audio_tests.profile_study`; whoever changes what a score is made of runs it again and
puts the figures here. Until then, and for a recogniser that was never measured, no threshold is moved. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from coach.session.voice_profile import Scale
from coach.voice.recognisers.phrase_limits import LIMITS, Limits
from coach.voice.recognisers.pocketsphinx import LOWEST_SCORE
from coach.voice.recognisers.vosk import LOWEST_CONFIDENCE

MEASURED = Limits(
    confidence=-1.1,
    margin=0.75,
    prior=0.33,
    end=0.6,
    long_ratio=1.25,
    long_s=0.2,
    per_long_s=20.0,
    short_ratio=0.67,
    per_short=9.0,
    opinion=0.8,
    neutral_opinion=-2.0,
    least_opinion=-6.0,
    most_opinion=4.0,
)
"""What Whisper's score was made of, and its thresholds, when the figures below were measured."""

DROP = 0.9
"""The next take lies less far below the lowest of two in nine of ten cases (measured: 0.88)."""

FLOORS: Mapping[str, float] = MappingProxyType({})
"""No threshold is lowered. Tried on 977 utterances of words and sentences that are no command, floors found
on half of the speakers: the other half was accepted once more often from 0.1 below the usual threshold on."""

ATTRACTING = frozenset({"affirmative", "less talk", "next", "say again", "stand by", "where now"})
"""What those utterances were taken for: `off` for affirmative, `left` for next."""

MOST_RAISED = 0.5
"""Chosen on two takes, counted on the third, at 0 and -5 dB, synthetic voices: of the 57 such words that were
right in 72 trials none was lost, and a seventh to a fifth of the foreign words taken for them was refused. On
every phrase it would have cost one of 192 commands at -5 dB and gained nothing more. All this without the
second opinion; with it, of 31 such words that were right in seven cabins, again none would be lost to the
whole of it (what a raise gains was not measured again)."""


def find_scale(recogniser: str) -> Scale | None:
    """The scale of a recogniser by its name; None: it is not known."""
    if recogniser.startswith("Whisper"):
        return _find_whisper(recogniser, LIMITS)
    if recogniser.startswith("pocketsphinx"):
        return _still(recogniser, LOWEST_SCORE, None)
    if recogniser.startswith("vosk"):
        return _still(recogniser, LOWEST_CONFIDENCE, None)
    return None


def _find_whisper(recogniser: str, limits: Limits) -> Scale:
    still = _still(recogniser, limits.confidence, limits.margin)
    if limits != MEASURED:
        return still
    return replace(still, drop=DROP, most_raised=MOST_RAISED, attracting=ATTRACTING, floors=FLOORS)


def _still(recogniser: str, least: float, least_margin: float | None) -> Scale:
    """A scale on which no threshold is moved: nothing was measured."""
    return Scale(
        recogniser=recogniser,
        least=least,
        least_margin=least_margin,
        drop=0.0,
        most_raised=0.0,
        attracting=frozenset(),
        floors={},
    )
