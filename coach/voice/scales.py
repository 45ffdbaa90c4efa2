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
    confidence=0.0,
    margin=0.0,
    prior=0.33,
    end=0.6,
    long_ratio=1.25,
    long_s=0.2,
    per_long_s=20.0,
    short_ratio=0.67,
    per_short=9.0,
)
"""What Whisper's score was made of when the figures below were measured; its two thresholds aside."""

DROP = 0.9
"""The next take lies less far below the lowest of two in nine of ten cases (measured: 0.88)."""

MOST_RAISED = 0.5
"""Chosen on two takes, counted on the third: half a step up cost no command, of 195 takes at 0 dB, 192 at -5
dB and 194 chosen at 0 and said at -5 dB; a whole one cost one at -5 dB. It refuses a third of the foreign
words that are taken for a phrase whose threshold it moves."""

FLOORS: Mapping[str, float] = MappingProxyType(
    {
        "station passage": -1.95,
        "passage": -1.95,
        "next leg": -1.95,
        "next": -1.7,
        "needle alive": -1.95,
        "course alive": -1.95,
        "established": -1.7,
        "wings level": -1.95,
        "abeam": -1.77,
        "needle centered": -1.95,
        "say again": -1.7,
        "stand by": -1.7,
        "resume drill": -1.95,
        "disregard": -1.95,
        "rejoin": -1.95,
        "where now": -1.7,
        "position": -1.95,
        "time": -1.95,
        "bookmark": -1.95,
        "more talk": -1.95,
        "less talk": -1.7,
        "unable": -1.95,
        "terminate drill": -1.95,
        "traffic": -1.7,
        "i have the flight controls": -1.95,
        "you have the flight controls": -1.95,
        "affirmative": -1.7,
        "negative": -1.95,
    }
)
"""Of 977 utterances of words and sentences that are no command none comes as high without being accepted by
the usual threshold, -1.7, already. The lowest floor is 0.25 below that: with floors found on half of the
speakers, the other half was never accepted any more than before; 0.5 below it one was. What attracts foreign
words (`off` is near `affirmative`, `left` near `next`) keeps the usual threshold."""


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
    if replace(limits, confidence=0.0, margin=0.0) != MEASURED:
        return still
    return replace(still, drop=DROP, most_raised=MOST_RAISED, floors=FLOORS)


def _still(recogniser: str, least: float, least_margin: float | None) -> Scale:
    """A scale on which no threshold is moved: nothing was measured."""
    return Scale(
        recogniser=recogniser, least=least, least_margin=least_margin, drop=0.0, most_raised=0.0, floors={}
    )
