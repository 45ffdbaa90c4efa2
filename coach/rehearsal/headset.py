"""The coach's side of the cockpit sound on the simulated clock: the real mixer, block after block.

Never waits and never plays anything: the samples go to the recording, the facts to the loop.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from coach.session.actions import Say, Silence, Sound
from coach.session.events import PromptDropped, PromptFinished, PromptStarted
from coach.voice.mixer import Mixer, event_of
from coach.voice.pcm import RATE_HZ, Samples
from coach.voice.played import Played

WORD_S = 0.42
"""A word with its pause at about 156 words a minute, where nothing is synthesised (H23; from memory)."""

Words = Callable[[str], Samples]
"""A prompt's sound: mono 16-bit at 48 kHz, sample 0 the onset of its first word."""


class Headset:
    """What the pilot hears from the coach."""

    def __init__(self, words: Words, *, is_open: bool = False) -> None:
        """`is_open`: a loudspeaker; every sample is rendered, silence too, for the microphone to hear."""
        self._words = words
        self._is_open = is_open
        self._mixer = Mixer()
        self._cursor = 0

    def do(self, action: Say | Silence | Sound) -> None:
        """Carry an action out from here on."""
        words = self._words(action.text) if isinstance(action, Say) else None
        self._mixer.do(action, words)

    def advance(self, to_sample: int) -> Samples | None:
        """Sound up to a sample (48 kHz, from the session's start) and return the block; None for silence."""
        start, self._cursor = self._cursor, to_sample
        if self._cursor == start or (self._mixer.is_idle and not self._is_open):
            return None
        return self._mixer.render(self._cursor - start, start)

    @property
    def played(self) -> Played:
        """What sounded last, as an echo canceller is given it."""
        return self._mixer.played

    def take_events(self, at_s: float) -> tuple[PromptStarted | PromptFinished | PromptDropped, ...]:
        """Return what became of prompts since the last call."""
        return tuple(event_of(fact, at_s) for fact in self._mixer.take_facts())


@lru_cache(maxsize=256)
def unvoiced(text: str) -> Samples:
    """Return silence as long as a prompt would last: for flights by key, where nobody listens."""
    return np.zeros(round(WORD_S * len(text.split()) * RATE_HZ), dtype=np.int16)
