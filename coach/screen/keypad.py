"""Keys as facts: a phrase, or the transmit key held. A key pad or a pedal that types keys serves as well.

A terminal tells of presses only. A key held down is pressed again and again (key repeat): that is
neither a second press nor, for the transmit key, a second order. Pure: never reads a key or a clock.
"""

from __future__ import annotations

from coach.session.events import Event, PhraseHeard, TransmitEnded, TransmitStarted
from coach.session.phrases import PhraseTable

TRANSMIT_KEY = "x"

REPEAT_WITHIN_S = 0.7
"""The same key again within it is key repeat: the first repeat comes after 0.25 s (Linux console) to 0.66 s
(X11), values from memory; the next after less than 0.1 s."""

RELEASED_AFTER_S = 0.3
"""A key that was repeating and is silent so long has been let go."""


class KeyPad:
    """What each press means, given when it came."""

    def __init__(self, table: PhraseTable, transmit_key: str | None = TRANSMIT_KEY) -> None:
        self._table = table
        self._transmit_key = transmit_key
        self._last_key: str | None = None
        self._last_s = 0.0
        self._is_transmitting = False
        self._is_held = False

    @property
    def released_at_s(self) -> float | None:
        """When the transmit key counts as let go unless it repeats; None: it is not held."""
        return self._last_s + RELEASED_AFTER_S if self._is_held else None

    def press(self, key: str, at_s: float) -> Event | None:
        """A key came; None where it is a repeat or means nothing."""
        is_repeat = key == self._last_key and at_s - self._last_s < REPEAT_WITHIN_S
        self._last_key, self._last_s = key, at_s
        if key == self._transmit_key:
            return self._transmit(at_s, is_repeat=is_repeat)
        phrase = None if is_repeat else self._table.find_by_key(key)
        if phrase is None:
            return None
        return PhraseHeard(at_s=at_s, onset_s=at_s, phrase=phrase.canonical, by="key")

    def wait(self, at_s: float) -> Event | None:
        """No key came until now: a held transmit key may have been let go."""
        if self.released_at_s is None or at_s < self.released_at_s:
            return None
        return self._end(at_s)

    def _transmit(self, at_s: float, *, is_repeat: bool) -> Event | None:
        """Held, it lasts as long as it repeats; pressed once, until it is pressed again."""
        if is_repeat:
            self._is_held = self._is_transmitting
            return None
        if self._is_transmitting:
            return self._end(at_s)
        self._is_transmitting = True
        return TransmitStarted(at_s=at_s, onset_s=at_s)

    def _end(self, at_s: float) -> Event:
        onset_s = self._last_s if self._is_held else at_s
        self._is_transmitting = self._is_held = False
        return TransmitEnded(at_s=at_s, onset_s=onset_s)
