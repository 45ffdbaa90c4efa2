"""Who is speaking: the coach gives way to everybody, and never takes its own sound for the pilot's.

Follows the speaker's and the microphone's facts. Never decides what is said.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from coach.session.events import (
    Event,
    PromptDropped,
    PromptFinished,
    PromptStarted,
    SpeechEnded,
    SpeechStarted,
    TransmitEnded,
    TransmitStarted,
)

WORD_S = 0.42
"""A spoken word at about 156 words a minute with its pause, for prompts not yet sounded."""

PAUSE_AFTER_SPEECH_S = 0.2
"""The coach leaves at least this after somebody's last word (Stivers et al. 2009: about 200 ms)."""

LONGEST_SPEECH_S = 12.0
"""A voice that has not ended by then is noise: it holds back nothing any more."""

LOST_PROMPT_S = 6.0
"""A prompt whose end is not reported this long after it should have ended is over."""

ECHO_LEAD_S = 0.4
"""Before the first word of a prompt its cue tone sounds."""

ECHO_TAIL_S = 0.3
"""After the end of a prompt its sound may still be in the microphone."""


@dataclass(slots=True, kw_only=True)
class _Spoken:
    prompt: int
    text: str
    ends_s: float
    """Expected until it is reported."""

    is_time_call: bool = False

    starts_s: float | None = None
    is_over: bool = False


class Floor:
    """Follows who speaks, on the session clock."""

    def __init__(self) -> None:
        self._prompts: deque[_Spoken] = deque(maxlen=4)
        self._talking_since_s: float | None = None
        self._talking_until_s = float("-inf")
        self._transmitting = False
        self._free_s = float("-inf")

    def note_said(self, prompt: int, text: str, starts_s: float, *, is_time_call: bool = False) -> None:
        """A prompt has been handed to the speaker."""
        ends_s = starts_s + 0.3 + WORD_S * len(text.split())
        spoken = _Spoken(prompt=prompt, text=text, ends_s=ends_s, is_time_call=is_time_call)
        self._prompts.append(spoken)

    def note_silenced(self, at_s: float) -> None:
        """Everything was cut off."""
        for spoken in self._prompts:
            self._end(spoken, min(at_s, spoken.ends_s))

    def follow(self, event: Event) -> None:
        """Take note of a fact of the speaker or the microphone."""
        match event:
            case SpeechStarted(onset_s=onset_s):
                self._talking_since_s = onset_s
            case SpeechEnded(onset_s=onset_s):
                self._talking_since_s, self._talking_until_s = None, onset_s
            case TransmitStarted():
                self._transmitting = True
            case TransmitEnded(onset_s=onset_s):
                self._transmitting, self._talking_until_s = False, onset_s
            case PromptStarted(prompt=prompt, onset_s=onset_s):
                self._start(prompt, onset_s)
            case PromptFinished(prompt=prompt, onset_s=onset_s):
                self._end_prompt(prompt, onset_s)
            case PromptDropped(prompt=prompt, at_s=at_s):
                self._drop(prompt, at_s)

    def is_talked_over(self, at_s: float) -> bool:
        """True while somebody speaks, or has just stopped."""
        return self._talk_ends_s(at_s) > at_s

    def is_sounding(self, at_s: float) -> bool:
        """True while a prompt sounds or is about to."""
        return bool(self._unfinished(at_s))

    def may_be_cut(self, at_s: float) -> bool:
        """True while a prompt sounds, and no time call sounds or is about to."""
        unfinished = self._unfinished(at_s)
        return bool(unfinished) and not any(spoken.is_time_call for spoken in unfinished)

    def quiet_since_s(self, at_s: float) -> float | None:
        """When the coach's last prompt ended; None while one sounds."""
        return None if self.is_sounding(at_s) else self._free_s

    def next_change_s(self, at_s: float) -> float | None:
        """When the floor may become free with no further fact; None: only a fact changes it."""
        ends = [spoken.ends_s + LOST_PROMPT_S for spoken in self._prompts if not spoken.is_over]
        ends += [self._talk_ends_s(at_s)]
        return min((end for end in ends if at_s < end < float("inf")), default=None)

    def is_own_sound(self, onset_s: float, ways: tuple[str, ...]) -> bool:
        """True where one of these ways of speaking sounded in a prompt at that moment."""
        texts = [f" {_plain(spoken.text)} " for spoken in self._sounding_at(onset_s)]
        return any(f" {way.lower()} " in text for way in ways for text in texts)

    def was_sounding(self, onset_s: float) -> bool:
        """True where a prompt sounded at that moment, the cue tone before it counted in."""
        return bool(self._sounding_at(onset_s))

    def _unfinished(self, at_s: float) -> list[_Spoken]:
        """Prompts handed to the speaker whose end is neither reported nor long overdue."""
        return [
            spoken for spoken in self._prompts if not spoken.is_over and at_s < spoken.ends_s + LOST_PROMPT_S
        ]

    def _sounding_at(self, onset_s: float) -> list[_Spoken]:
        return [
            spoken
            for spoken in self._prompts
            if spoken.starts_s is not None
            and spoken.starts_s - ECHO_LEAD_S <= onset_s <= spoken.ends_s + ECHO_TAIL_S
        ]

    def _talk_ends_s(self, at_s: float) -> float:
        if self._transmitting:
            return float("inf")
        if self._talking_since_s is not None and at_s < self._talking_since_s + LONGEST_SPEECH_S:
            return self._talking_since_s + LONGEST_SPEECH_S
        return self._talking_until_s + PAUSE_AFTER_SPEECH_S

    def _start(self, prompt: int, onset_s: float) -> None:
        for spoken in self._prompts:
            if spoken.prompt == prompt:
                spoken.ends_s += 0.0 if spoken.starts_s else max(0.0, onset_s - spoken.ends_s)
                spoken.starts_s = onset_s

    def _end_prompt(self, prompt: int, onset_s: float) -> None:
        for spoken in self._prompts:
            if spoken.prompt == prompt:
                spoken.ends_s, spoken.is_over = onset_s, True
                self._free_s = max(self._free_s, onset_s)

    def _drop(self, prompt: int, at_s: float) -> None:
        for spoken in self._prompts:
            if spoken.prompt == prompt:
                self._end(spoken, at_s)

    def _end(self, spoken: _Spoken, at_s: float) -> None:
        if spoken.is_over:
            return
        spoken.is_over, spoken.ends_s = True, at_s
        if spoken.starts_s is not None:
            self._free_s = max(self._free_s, at_s)


def _plain(text: str) -> str:
    letters = "".join(character if character.isalnum() else " " for character in text.lower())
    return " ".join(letters.split())
