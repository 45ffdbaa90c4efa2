"""One word after another from a microphone, as the ear hears them in flight: sound in, a take out.

Waits on the sound, not on a clock: as many seconds of it as a pilot may take. Never decides what a take is
worth and never writes one down.
"""

from __future__ import annotations

import queue
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coach.errors import SetupError
from coach.session.events import EdgeFailed, NotUnderstood, PhraseHeard, SpeechEnded, SpeechStarted
from coach.session.voice_profile import Take
from coach.voice.ear import Block
from coach.voice.ear_process import Heard
from coach.voice.recogniser import SAMPLE_RATE_HZ, Reading, Ways

WAIT_S = 8.0
"""So long a pilot may take to begin; then the take counts as not heard."""

SETTLE_S = 2.0
"""The ear learns how loud the cabin is before the first word."""

LEAD_S = 0.5
"""Sound kept before the word."""

QUEUED_BLOCKS = 600
"""Half a minute: the coach may speak for as long."""

NO_BLOCK_S = 5.0
"""A microphone that has given nothing for this long gives nothing."""

SILENT_RMS = 10 ** (-80 / 20)
"""Quieter than the hiss of any microphone that is switched on: full scale 1."""

FULL_SCALE = 32_767
CLIPPED_SAMPLES = 20
"""So many samples at full scale are heard."""

NO_VOICE = "no voice found"
FAINT = "hardly a voice"


class Hearer(Protocol):
    """What of `ear_process.EarProcess` is used here."""

    def listen_for(self, ways: Ways) -> None:
        """Understand these from now on."""

    def hear(self, block: Block, at_s: float) -> tuple[Heard, ...]:
        """What this block made certain."""

    def take_reading(self) -> Reading | None:
        """What was read last, once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardTake:
    """What became of one wait for a word."""

    take: Take
    sound: NDArray[np.int16]
    """The word with some sound about it, 16 kHz mono; empty where there was none."""

    is_clipped: bool
    """Too loud for the microphone's setting."""


class Interrupted(Exception):  # noqa: N818
    """The pilot pressed a key; `key` is its name."""

    def __init__(self, key: str) -> None:
        super().__init__(key)
        self.key = key


class TakeListener:
    """Takes the microphone's blocks on its thread, and hands them to the ear on the caller's."""

    def __init__(self, ear: Hearer, *, find_key: Callable[[], str | None] = lambda: None) -> None:
        """`find_key` is asked between two blocks; a key it names ends the wait by `Interrupted`."""
        self._ear = ear
        self._find_key = find_key
        self._blocks: queue.Queue[tuple[Block, float] | EdgeFailed] = queue.Queue(QUEUED_BLOCKS)
        self.cabin_rms = 0.0
        """How loud it was while nobody spoke, full scale 1."""

    def take(self, block: Block, at_s: float) -> None:
        """A block of the microphone; never waits."""
        self._put((block, at_s))

    def fail(self, event: object) -> None:
        """The microphone is gone, or back."""
        if isinstance(event, EdgeFailed):
            self._put(event)

    def settle(self) -> None:
        """Let the ear hear the cabin. `SetupError` where the microphone gives nothing but silence."""
        blocks: list[Block] = []
        while sum(map(len, blocks)) < SETTLE_S * SAMPLE_RATE_HZ:
            block, at_s = self._get()
            self._hear(block, at_s)
            blocks.append(block)
        self.cabin_rms = _rms(np.concatenate(blocks))
        if self.cabin_rms < SILENT_RMS:
            raise SetupError("microphone: silent; unmute it, turn it up, or choose another by --input-device")

    def listen(self, way: str, ways: Ways, *, from_s: float) -> HeardTake:
        """Wait for one word, of which `way` is asked for; sound before session time `from_s` is dropped.

        Raises `Interrupted` for a key, `SetupError` where the microphone or the ear is gone.
        """
        self._ear.listen_for(ways)
        self._ear.take_reading()
        kept: deque[Block] = deque()
        waited_s, started = 0.0, False
        while started or waited_s < WAIT_S:
            block, at_s = self._get()
            if at_s < from_s:
                continue
            facts = self._hear(block, at_s)
            started = started or any(isinstance(fact, SpeechStarted) for fact in facts)
            kept.append(block)
            waited_s += len(block) / SAMPLE_RATE_HZ
            if not started:
                _shorten(kept)
            if (take := self._find_take(facts, way)) is not None:
                return _finish(take, kept)
        return HeardTake(
            take=Take(understood=None, reason=NO_VOICE), sound=np.empty(0, np.int16), is_clipped=False
        )

    def _find_take(self, facts: tuple[Heard, ...], way: str) -> Take | None:
        """The take that these facts end, if they end one."""
        if not any(isinstance(fact, SpeechEnded | PhraseHeard | NotUnderstood) for fact in facts):
            return None
        understood = next((fact.phrase for fact in facts if isinstance(fact, PhraseHeard)), None)
        refused = next((fact.reason for fact in facts if isinstance(fact, NotUnderstood)), FAINT)
        reading = self._ear.take_reading()
        is_said = reading is not None and (reading.way or "").lower() == way.lower()
        return Take(
            understood=understood,
            reason="" if understood else refused,
            score=reading.score if reading is not None and is_said else None,
            margin=reading.margin if reading is not None and is_said else None,
        )

    def _hear(self, block: Block, at_s: float) -> tuple[Heard, ...]:
        facts = self._ear.hear(block, at_s)
        failed = next((fact for fact in facts if isinstance(fact, EdgeFailed)), None)
        if failed is not None:
            raise SetupError(f"{failed.edge}: {failed.reason}")
        return facts

    def _put(self, item: tuple[Block, float] | EdgeFailed) -> None:
        try:
            self._blocks.put_nowait(item)
        except queue.Full:  # nobody has listened for half a minute: the oldest is of no use
            self._blocks.get_nowait()
            self._blocks.put_nowait(item)

    def _get(self) -> tuple[Block, float]:
        key = self._find_key()
        if key is not None:
            raise Interrupted(key)
        try:
            item = self._blocks.get(timeout=NO_BLOCK_S)
        except queue.Empty:
            raise SetupError("microphone: no sound comes from it") from None
        if isinstance(item, EdgeFailed):
            raise SetupError(item.reason if item.reason.startswith("micro") else f"microphone: {item.reason}")
        return item


def _shorten(kept: deque[Block]) -> None:
    """Keep what may belong to a word that has not been noticed yet."""
    while sum(map(len, kept)) - len(kept[0]) >= LEAD_S * SAMPLE_RATE_HZ:
        kept.popleft()


def _finish(take: Take, kept: deque[Block]) -> HeardTake:
    sound = np.concatenate(kept)
    clipped = int(np.count_nonzero(np.abs(sound.astype(np.int32)) >= FULL_SCALE))
    return HeardTake(take=take, sound=sound, is_clipped=clipped >= CLIPPED_SAMPLES)


def _rms(sound: NDArray[np.int16]) -> float:
    return float(np.sqrt(np.mean((sound.astype(np.float64) / 32768) ** 2)))
