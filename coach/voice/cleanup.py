"""Takes the coach's own sound out of the microphone's, for a loudspeaker instead of a headset.

A path from the loudspeaker to the microphone is learnt and its echo subtracted, so that a pilot who talks
over a prompt is left whole; what remains of the echo is covered. While the coach is silent the sound passes
untouched, sample by sample, at no cost. Noise suppression and gain have no place here: they harm the best
recogniser. Pure; never decides who speaks.

Why not a library: WebRTC's canceller suppresses what its filter leaves, and the pilot's word with it. Of his
words over prompts the best ear understood 19 of 32 after it and 28 after this filter alone
(`audio_tests/README.md`).
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coach.voice.echo_path import TAPS, EchoPath, Signal
from coach.voice.echo_slip import COMPARED, HALF_WIDTH, MARGIN, Slip
from coach.voice.residue import Residue

Block = NDArray[np.int16]

FULL_SCALE = 32_768

EMPHASIS = 0.9
"""A cabin is loud where a voice is not, at the low end: the path is learnt from differences."""

LONGEST_MEMORY_S, SHORTEST_MEMORY_S = 20.0, 2.0
"""Of echo, not of time: longer is better for the pilot's words, shorter for a loudspeaker that is moved."""

MEMORY_BY_SHARE_S = 0.2
"""Divided by the share of the echo's power that is left: what was learnt is kept for as long as it serves."""

READ = TAPS + COMPARED
KEPT = READ + 6 * MARGIN + HALF_WIDTH


class Cleaner(Protocol):
    """Cleans a stream of blocks."""

    def clean(self, block: Block, echo: Block) -> Block:
        """The sound without the echo of `echo`, what was played in the same time.

        Whole steps of 10 ms come out; what is left of a block comes with the next one.
        """


class EchoCanceller:
    """Learns the way of the coach's sound into the microphone and takes it out."""

    def __init__(self) -> None:
        self._path = EchoPath()
        self._slip = Slip()
        self._residue = Residue()
        self._played = np.zeros(KEPT)
        self._silent = 0
        """Samples since the last that was played."""
        self._heard = np.zeros(COMPARED + 1)

    def clean(self, block: Block, echo: Block) -> Block:
        """The sound without the echo, as long as the block; both mono at 16 kHz.

        `echo` is what the loudspeaker played in the same time or up to 20 ms later; its way into the
        microphone may last 0.3 s. Untouched while nothing was played for the length of the path."""
        parts = range(0, len(block), COMPARED)
        cleaned = [self._clean(block[at : at + COMPARED], echo[at : at + COMPARED]) for at in parts]
        return np.concatenate(cleaned) if cleaned else block

    def _clean(self, block: Block, echo: Block) -> Block:
        self._silent = 0 if echo.any() else self._silent + echo.size
        self._slip.advance(block.size)
        sound = block / FULL_SCALE
        if self._silent >= KEPT + COMPARED:  # the usual case, for little work: nothing sounds, nothing rings
            self._residue.note_cabin(sound)
            self._played[:] = 0.0
            self._heard[:] = 0.0
            return block
        self._played = np.concatenate([self._played[echo.size :], echo / FULL_SCALE])
        self._heard = np.concatenate([self._heard[block.size :], sound])
        played = self._slip.read(self._played, READ)
        if not played.any():
            self._residue.note_cabin(sound)
            return block
        if not block.any():  # a closed ear: nothing of the path is in it
            return block
        rest, echoed = self._subtract(played, sound)
        covered = self._residue.cover(rest, echoed)
        return np.rint(np.clip(covered * FULL_SCALE, -FULL_SCALE, FULL_SCALE - 1)).astype(np.int16)

    def _subtract(self, played: Signal, sound: Signal) -> tuple[Signal, Signal]:
        """The sound without the echo, and the echo."""
        heard = _emphasise(self._heard)
        if self._path.is_known:
            self._slip.follow(self._path.predict(_emphasise(played)), heard[-COMPARED:])
            played = self._slip.read(self._played, READ)
        memory_s = MEMORY_BY_SHARE_S / max(self._residue.usual_share, 1e-6)
        memory_s = min(max(memory_s, SHORTEST_MEMORY_S), LONGEST_MEMORY_S)
        recent = played[-TAPS - sound.size :]
        self._path.learn(_emphasise(recent), heard[-sound.size :], memory_s)
        echo = self._path.predict(recent)
        return sound - echo, echo


def _emphasise(sound: Signal) -> Signal:
    return sound - EMPHASIS * np.concatenate([sound[:1], sound[:-1]])
