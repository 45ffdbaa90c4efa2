"""What a pilot says on the radio and to the passenger while a drill runs: none of it is for the coach.

Times come from a seed. Never knows the drill's phrases, though several sentences begin like one.
"""

from __future__ import annotations

import random

SENTENCES = (
    "Nowhere approach, established on the localizer",
    "traffic in sight, continue",
    "left two seven zero, descending two thousand",
    "right heading zero niner zero",
    "Nowhere radio, good morning, level at three thousand",
    "say again the altimeter",
    "standing by for the weather",
    "negative contact, looking",
    "roger, next call at the field",
    "maintaining two thousand five hundred",
    "unable due to terrain",
    "is the cabin warm enough for you",
    "we will be back in half an hour",
    "look at that sail down there",
    "passing the coast now, heading one three five",
    "cleared for the approach, runway two seven",
    "frequency change approved, good day",
    "time to switch the tanks",
    "I have the traffic, thank you",
    "more wind than they said",
)
"""Invented; with the trade's words as the AIM and the Pilot/Controller Glossary have them."""

FIRST_S = 70.0
LEAST_GAP_S = 10.0


class Radio:
    """When the pilot says which sentence."""

    def __init__(self, n_calls: int, total_s: float, seed: int) -> None:
        """`n_calls` sentences spread over `total_s` seconds at random."""
        chance = random.Random(seed)
        texts = chance.sample(SENTENCES * -(-n_calls // len(SENTENCES)), n_calls)
        times_s = sorted(chance.uniform(FIRST_S, total_s) for _ in range(n_calls))
        self._calls = list(zip(times_s, texts, strict=True))
        self.said: list[tuple[float, str]] = []

    def find_call(self, at_s: float, *, is_busy: bool) -> str | None:
        """The sentence that is begun now; None while there is none, or the pilot has a word for the coach."""
        if not self._calls or at_s < self._calls[0][0] or is_busy:
            return None
        if self.said and at_s - self.said[-1][0] < LEAST_GAP_S:
            return None
        text = self._calls.pop(0)[1]
        self.said.append((at_s, text))
        return text
