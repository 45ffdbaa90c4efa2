"""A second opinion on the flight phrases: a small net on what Whisper's encoder hears anyway.

It knows the phrases of the English table by their sound, and that most of what is said is none of them. Made
by `audio_tests.opinion_train`; plain numpy. Never decides what is a command, and leaves other words alone.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from coach.errors import SetupError

WEIGHTS = Path(__file__).with_name("second_opinion.npz")
WEIGHTS_SHA256 = "b5cdf9fe4dbfecc529177521d5c60d31a87a43d571ca3d659349ceced0886ecb"
"""Of the file beside this one: another one is refused."""

FRAME_S = 0.02
"""The encoder gives one frame for 20 ms."""

AROUND_S = 0.06
"""So much before and after the voice is looked at too."""

PIECES = 8
"""The voice is cut into so many equal pieces: the order of sounds is kept, the speed does not count."""

DILATIONS = (1, 2, 4)

SMALLEST = 1e-6
"""The net is never surer than this."""

NOTHING = "(nothing)"
"""The name of what is none of the phrases."""

Frames = NDArray[np.float32]
"""What the encoder hears, shape (frames, 384)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondOpinion:
    """What the net thinks a voice said."""

    names: tuple[str, ...]
    """The ways of saying it knows, and `NOTHING`."""

    weights: dict[str, NDArray[np.float32]]

    def judge(self, heard: Frames, start_s: float, end_s: float) -> dict[str, float]:
        """How probable each way of saying that is known is, and `NOTHING`; together 1.

        `heard` is the encoder's output from the start of the sound, `start_s` and `end_s` those of the voice.
        """
        logits = run_net(self.weights, cut_voice(heard, start_s, end_s)).astype(np.float64)
        powers = np.exp(logits - logits.max())
        return dict(zip(self.names, (powers / powers.sum()).tolist(), strict=True))


@cache
def load_second_opinion() -> SecondOpinion:
    """The net that ships with the coach; `SetupError` where its file was altered."""
    digest = hashlib.sha256(WEIGHTS.read_bytes()).hexdigest()
    if digest != WEIGHTS_SHA256:
        raise SetupError(
            f"{WEIGHTS}: expected SHA-256 {WEIGHTS_SHA256[:12]}…, got {digest[:12]}…; install anew"
        )
    with np.load(WEIGHTS) as stored:
        weights = {name: stored[name].astype(np.float32) for name in stored.files if name != "names"}
        return SecondOpinion(names=tuple(stored["names"].tolist()), weights=weights)


def cut_voice(heard: Frames, start_s: float, end_s: float) -> Frames:
    """The frames of the voice and a little around it, an even number of them and two at least."""
    first = max(round((start_s - AROUND_S) / FRAME_S), 0)
    pairs = max(round((end_s + AROUND_S) / FRAME_S) - first, 2) // 2
    first = max(min(first, len(heard) - 2 * pairs), 0)
    return heard[first : first + 2 * pairs]


def run_net(weights: dict[str, NDArray[np.float32]], frames: Frames) -> NDArray[np.float32]:
    """Frames to one figure a name: two frames together, three convolutions, means of pieces, two layers."""
    small = (frames - weights["middle"]) @ weights["narrow"]
    paired: Frames = small.reshape(len(small) // 2, -1).astype(np.float32)
    state = _rectify(paired @ weights["enter"] + weights["enter_by"])
    for n, dilation in enumerate(DILATIONS):
        state = state + _rectify(_convolve(state, weights[f"turn{n}"], dilation) + weights[f"turn{n}_by"])
    pooled: Frames = np.concatenate([(share_out(len(state)) @ state).ravel(), state.max(axis=0)])
    known = _rectify(pooled @ weights["gather"] + weights["gather_by"])
    told: Frames = known @ weights["tell"] + weights["tell_by"]
    return told


def share_out(length: int, pieces: int = PIECES) -> NDArray[np.float32]:
    """How much each frame counts in the mean of each equal piece, shape (pieces, length)."""
    edges = np.linspace(0.0, length, pieces + 1)[:, None]
    at = np.arange(length)[None, :]
    inside = np.clip(np.minimum(edges[1:], at + 1) - np.maximum(edges[:-1], at), 0.0, None)
    shares: Frames = (inside / inside.sum(axis=1, keepdims=True)).astype(np.float32)
    return shares


def find_log_odds(probability: float) -> float:
    """Natural logarithm of the odds."""
    kept = min(max(probability, SMALLEST), 1 - SMALLEST)
    return math.log(kept / (1 - kept))


def _convolve(state: Frames, kernel: NDArray[np.float32], dilation: int) -> Frames:
    """A convolution of kernel (taps, in, out) that keeps the length; silence lies around."""
    taps, reach = len(kernel), dilation * (len(kernel) // 2)
    padded = np.pad(state, ((reach, reach), (0, 0)))
    total = np.zeros((len(state), kernel.shape[2]), np.float32)
    for tap in range(taps):
        total += padded[tap * dilation : tap * dilation + len(state)] @ kernel[tap]
    return total


def _rectify(state: Frames) -> Frames:
    risen: Frames = np.maximum(state, np.float32(0.0))
    return risen
