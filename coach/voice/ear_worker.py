"""The ear beside the flight's loop: blocks are sent and never waited for, facts are posted.

One thread feeds the child process. It never delays a time call: `send` only puts into a bounded queue.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

from coach.errors import SetupError
from coach.session.answers import Answer
from coach.session.events import EdgeFailed
from coach.voice.ear import Block
from coach.voice.ear_process import EarProcess, Heard
from coach.voice.lasting import LastingThread
from coach.voice.recogniser import Ways

QUEUED_BLOCKS = 320
"""Some ten seconds of sound: more than an ear that still works is ever behind."""

CLOSE_DEADLINE_S = 5.0


@dataclass(frozen=True, slots=True)
class _Listen:
    ways: Ways


@dataclass(frozen=True, slots=True)
class _Expect:
    answer: Answer | None


@dataclass(frozen=True, slots=True)
class _Hear:
    block: Block
    at_s: float
    echo: Block | None


@dataclass(frozen=True, slots=True)
class _Stop:
    pass


_Order = _Listen | _Expect | _Hear | _Stop


class EarWorker:
    """Runs an `EarProcess` on a thread of its own."""

    def __init__(
        self,
        ear: EarProcess,
        *,
        post: Callable[[Heard], None],
        ready: Callable[[str], None] = lambda _name: None,
    ) -> None:
        """`post` takes each fact, `ready` the ear's name once it has loaded, both on the worker's thread."""
        self._ear = ear
        self._post = post
        self._ready = ready
        self._orders: queue.SimpleQueue[_Order] = queue.SimpleQueue()
        self._waiting = threading.BoundedSemaphore(QUEUED_BLOCKS)
        self._closing = threading.Event()
        self._thread = LastingThread(self._run, name="ear", edge="ear", post=post, closing=self._closing)
        self.dropped_blocks = 0
        """Blocks that were thrown away because the ear was too far behind, or gone."""

    def start(self) -> None:
        """Begin to load; returns at once."""
        self._thread.start()

    def listen_for(self, ways: Ways) -> None:
        """Understand these (way of saying, canonical phrase) pairs; takes its turn among the blocks."""
        self._orders.put(_Listen(ways))

    def expect(self, expected: Answer | None) -> None:
        """Listen for an answer beside the phrases, None: no more; takes its turn among the blocks."""
        self._orders.put(_Expect(expected))

    def send(self, block: Block, at_s: float, echo: Block | None = None) -> None:
        """Hear a block; `at_s` is the session time of its first sample. Never waits.

        `echo` is what the speaker played in the same time; None: a headset.
        """
        if not self._waiting.acquire(blocking=False):
            self.dropped_blocks += 1
            return
        self._orders.put(_Hear(block, at_s, echo))

    def close(self) -> None:
        """End the thread and the child."""
        self._closing.set()
        self._orders.put(_Stop())
        if self._thread.is_alive():
            self._thread.join(CLOSE_DEADLINE_S)

    def _run(self) -> None:
        try:
            self._start_ear()
            while self._take_order():
                pass
        finally:
            self._ear.close()

    def _start_ear(self) -> None:
        try:
            self._ear.start()
        except SetupError as error:
            self._post(EdgeFailed(at_s=0.0, onset_s=0.0, edge="ear", reason=str(error)))
        else:
            self._ready(self._ear.name)

    def _take_order(self) -> bool:
        order = self._orders.get()
        if self._closing.is_set():
            return False
        if isinstance(order, _Listen):
            self._ear.listen_for(order.ways)
        elif isinstance(order, _Expect):
            self._ear.expect(order.answer)
        elif isinstance(order, _Hear):
            self._waiting.release()
            self._hear(order)
        return True

    def _hear(self, order: _Hear) -> None:
        facts = self._ear.hear(order.block, order.at_s, order.echo)
        if any(isinstance(fact, EdgeFailed) for fact in facts):
            self._drop_backlog()
        for fact in facts:
            self._post(fact)

    def _drop_backlog(self) -> None:
        """What was said while the ear hung is too old to be acted on; what to listen for still counts."""
        kept: list[_Order] = []
        with suppress(queue.Empty):
            while True:
                self._drop(self._orders.get_nowait(), kept)
        for order in kept:
            self._orders.put(order)

    def _drop(self, order: _Order, kept: list[_Order]) -> None:
        if not isinstance(order, _Hear):
            kept.append(order)
            return
        self._waiting.release()
        self.dropped_blocks += 1
