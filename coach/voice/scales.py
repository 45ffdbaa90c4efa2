"""What each recogniser's scores mean, and how far a personal threshold may lie from the usual one.

Measured by `python -m audio_tests.profile_study`; whoever changes a recogniser's score or threshold runs it
again and puts the figures here. Until then no threshold of that recogniser is moved. Pure.
"""

from __future__ import annotations

from coach.session.voice_profile import Scale
from coach.voice.recognisers.phrase_limits import LIMITS
from coach.voice.recognisers.pocketsphinx import LOWEST_SCORE
from coach.voice.recognisers.vosk import LOWEST_CONFIDENCE


def find_scale(recogniser: str) -> Scale | None:
    """The scale of a recogniser by its name; None: it is not known."""
    if recogniser.startswith("Whisper"):
        return _still(recogniser, LIMITS.confidence, LIMITS.margin)
    if recogniser.startswith("pocketsphinx"):
        return _still(recogniser, LOWEST_SCORE, None)
    if recogniser.startswith("vosk"):
        return _still(recogniser, LOWEST_CONFIDENCE, None)
    return None


def _still(recogniser: str, least: float, least_margin: float | None) -> Scale:
    """A scale on which no threshold is moved: nothing was measured."""
    return Scale(
        recogniser=recogniser, least=least, least_margin=least_margin, drop=0.0, most_raised=0.0, floors={}
    )
