"""A recogniser with personal thresholds: it believes a way of saying sooner or later than usual.

Only the score is looked at again; whatever else a reading was refused for stands. Never moves a threshold
further than the scale allows, whatever the profile says.
"""

from __future__ import annotations

from dataclasses import replace

from coach.session.answers import Answer
from coach.session.voice_profile import Scale, VoiceProfile, bound
from coach.voice.answer_reading import AnswerReading
from coach.voice.recogniser import Reading, Recogniser, Samples, Ways
from coach.voice.scales import find_scale

PERSONAL = "personal thresholds"
"""What the name of a recogniser says where a profile is in use."""

UNSURE = ("no phrase fits", "too unsure")
"""Reasons that stand for a score below the threshold, where a way of saying is named."""


class PersonalRecogniser:
    """Stands before a recogniser; without a profile made with it, it changes nothing."""

    def __init__(self, recogniser: Recogniser, profile: VoiceProfile | None) -> None:
        self._recogniser = recogniser
        self._scale = find_scale(recogniser.name)
        self._thresholds = find_thresholds(profile, self._scale)
        self._phrases: dict[str, str] = {}
        self._last: Reading | None = None
        self.name = f"{recogniser.name}, {PERSONAL}" if self._thresholds else recogniser.name

    def listen_for(self, ways: Ways) -> None:
        """Understand these from now on and no others."""
        self._phrases = {way.lower(): phrase for way, phrase in ways}
        self._recogniser.listen_for(ways)

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """The words of these ways that the model can never hear."""
        return self._recogniser.find_unknown_words(ways)

    def read(self, audio: Samples, voice_s: float) -> Reading:
        """Read one utterance; the score of its way is held against the pilot's own threshold."""
        self._last = self._reconsider(self._recogniser.read(audio, voice_s))
        return self._last

    def read_answer(self, audio: Samples, voice_s: float, expected: Answer) -> AnswerReading:
        """Read one utterance as an answer."""
        return self._recogniser.read_answer(audio, voice_s, expected)

    def take_reading(self) -> Reading | None:
        """What was read last, once."""
        last, self._last = self._last, None
        return last

    def _reconsider(self, reading: Reading) -> Reading:
        threshold = self._thresholds.get((reading.way or "").lower())
        if threshold is None:
            return reading
        if reading.phrase is not None and reading.score < threshold:
            return replace(reading, phrase=None, reason="too unsure for this pilot")
        if reading.phrase is None and reading.score >= threshold and self._is_only_unsure(reading):
            return replace(reading, phrase=self._phrases[(reading.way or "").lower()], reason="")
        return reading

    def _is_only_unsure(self, reading: Reading) -> bool:
        least_margin = None if self._scale is None else self._scale.least_margin
        if least_margin is not None and (reading.margin is None or reading.margin < least_margin):
            return False
        return reading.reason in UNSURE


def find_thresholds(profile: VoiceProfile | None, scale: Scale | None) -> dict[str, float]:
    """Each way's own threshold, within the scale's bounds; none where the profile is another recogniser's."""
    if profile is None or not fits(profile, scale):
        return {}
    assert scale is not None
    return {shift.way.lower(): bound(scale.least + shift.by, shift.way, scale) for shift in profile.shifts}


def fits(profile: VoiceProfile, scale: Scale | None) -> bool:
    """Whether a profile was made with this recogniser and its present threshold."""
    if scale is None or profile.recogniser != scale.recogniser:
        return False
    return abs(profile.least - scale.least) < 1e-6
