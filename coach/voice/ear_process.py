"""The ear in a child process, as the rehearsal and the flight use it.

`hear` is synchronous: a block in, its facts out, exact and repeatable. A child that hangs, crashes or talks
nonsense is killed and reported as `EdgeFailed`; the next `hear` starts another with the present grammar.
Never reads a clock of its own: what it reports carries the block's time.
"""

from __future__ import annotations

import queue
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from typing import IO

from coach.errors import SetupError
from coach.session.answers import Answer
from coach.session.events import EdgeFailed, EdgeRecovered
from coach.voice.ear import Block, Fact
from coach.voice.ear_frames import (
    CHECK,
    EXPECT,
    FACTS,
    HEAR,
    LISTEN,
    READING,
    READY,
    REFUSED,
    STOP,
    TELL,
    UNKNOWN,
    BrokenFrame,
    decode_facts,
    decode_reading,
    decode_words,
    encode_answer,
    encode_block,
    encode_choice,
    encode_frame,
    encode_ways,
    read_frame,
)
from coach.voice.recogniser import EarChoice, Reading, Ways

Heard = Fact | EdgeFailed | EdgeRecovered

START_DEADLINE_S = 30.0
"""A child loads in about half a second; a cold disk takes longer."""

HEAR_DEADLINE_S = 5.0
"""The slowest reading takes well under a second; after this the child hangs."""

STOP_DEADLINE_S = 1.0
"""A child that does not end by itself is killed."""

FIRST_WAIT_S, LONGEST_WAIT_S = 0.1, 30.0
"""Sound time between two starts of a child that keeps failing: doubled each time, up to the longest."""

TELLING = ("ERROR", "ASSERTION")
"""How the line of a native library begins that says why it gives up; warnings may come after it."""

LONGEST_LINE = 1000
"""Bytes of a printed line that are kept."""

COMMAND = (sys.executable, "-m", "coach.voice.ear_child")


class EarProcess:
    """One ear in a child process; not for use from two threads."""

    def __init__(
        self,
        choice: EarChoice,
        *,
        command: tuple[str, ...] = COMMAND,
        hear_deadline_s: float = HEAR_DEADLINE_S,
        start_deadline_s: float = START_DEADLINE_S,
    ) -> None:
        self._command = (*command, encode_choice(choice))
        self._hear_deadline_s = hear_deadline_s
        self._start_deadline_s = start_deadline_s
        self._ways: Ways = ()
        self._expected: Answer | None = None
        self._child: _Child | None = None
        self._retry_at_s = 0.0
        self._wait_s = FIRST_WAIT_S
        self.name = ""
        """The recogniser and the voice-activity model in a few words, once started."""

    def start(self) -> None:
        """Start the child and wait until it has loaded; `SetupError` tells why it cannot."""
        try:
            self._start_child()
        except _ChildFailed as failure:
            raise SetupError(f"ear: {failure}") from failure

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """The words of these ways that the ear can never hear, in order, each once; `start` comes first."""
        asked = encode_frame(CHECK, encode_ways(ways))
        return decode_words(self._ask(asked, UNKNOWN))

    def take_reading(self) -> Reading | None:
        """What the recogniser made of the last utterance, once; None: it has read none since."""
        return decode_reading(self._ask(encode_frame(TELL), READING))

    def _ask(self, frame: bytes, wanted: bytes) -> bytes:
        assert self._child is not None, "start the ear before asking it"
        try:
            return self._child.ask(frame, wanted, self._start_deadline_s)
        except _ChildFailed as failure:
            raise SetupError(f"ear: {failure}") from failure

    def listen_for(self, ways: Ways) -> None:
        """Understand these (way of saying, canonical phrase) pairs from now on."""
        self._ways = ways
        if self._child is not None:
            self._child.send(encode_frame(LISTEN, encode_ways(ways)))

    def expect(self, expected: Answer | None) -> None:
        """Listen for an answer beside the phrases from now on; None: no more."""
        self._expected = expected
        if self._child is not None:
            self._child.send(encode_frame(EXPECT, encode_answer(expected)))

    def hear(self, block: Block, at_s: float, echo: Block | None = None) -> tuple[Heard, ...]:
        """What this block made certain; `at_s` is the session time of its first sample.

        `echo` is what the speaker played in the same time; None: a headset.
        """
        if self._child is None:
            return self._try_again(at_s)
        try:
            heard = encode_frame(HEAR, encode_block(block, at_s, echo))
            body = self._child.ask(heard, FACTS, self._hear_deadline_s)
        except _ChildFailed as failure:
            return (self._give_up(str(failure), at_s),)
        self._wait_s = FIRST_WAIT_S
        return decode_facts(body)

    def close(self) -> None:
        """End the child, by force if it does not go."""
        if self._child is not None:
            self._child.close()
            self._child = None

    def _start_child(self) -> None:
        child = _Child(self._command)
        try:
            self.name = child.wait_ready(self._start_deadline_s)
        except _ChildFailed:
            child.kill()
            raise
        self._child = child
        self.listen_for(self._ways)
        if self._expected is not None:
            self.expect(self._expected)

    def _give_up(self, reason: str, at_s: float) -> EdgeFailed:
        if self._child is not None:
            self._child.kill()
            self._child = None
        self._retry_at_s = at_s + self._wait_s
        self._wait_s = min(2 * self._wait_s, LONGEST_WAIT_S)
        return EdgeFailed(at_s=at_s, onset_s=at_s, edge="ear", reason=reason)

    def _try_again(self, at_s: float) -> tuple[Heard, ...]:
        if at_s < self._retry_at_s:
            return ()
        try:
            self._start_child()
        except _ChildFailed as failure:
            self._give_up(str(failure), at_s)  # told once already
            return ()
        return (EdgeRecovered(at_s=at_s, onset_s=at_s, edge="ear"),)


class _ChildFailed(Exception):  # noqa: N818
    """The child is of no more use; one line says why."""


class _Child:
    """The operating system's side: a process, its pipes and the threads that read them."""

    KEPT_LINES = 20
    """What the child's libraries printed last, for the reason of a crash."""

    def __init__(self, command: tuple[str, ...]) -> None:
        pipe = subprocess.PIPE
        self._process = subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe)
        assert self._process.stdin
        assert self._process.stdout
        assert self._process.stderr
        # The orders have a thread of their own: a child that hangs must not hang whoever writes to it.
        self._orders: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._answers: queue.SimpleQueue[tuple[bytes, bytes] | None] = queue.SimpleQueue()
        self._printed: deque[bytes] = deque(maxlen=self.KEPT_LINES)
        self._printer = _start_thread(self._read_printed, self._process.stderr)
        self._threads = (
            self._printer,
            _start_thread(self._read_answers, self._process.stdout),
            _start_thread(self._write_orders, self._process.stdin),
        )

    def wait_ready(self, deadline_s: float) -> str:
        kind, body = self._wait_answer(deadline_s, "did not start")
        if kind != READY:
            raise _ChildFailed(body.decode() if kind == REFUSED else "talks nonsense")
        return body.decode()

    def send(self, frame: bytes) -> None:
        self._orders.put(frame)

    def ask(self, frame: bytes, wanted: bytes, deadline_s: float) -> bytes:
        self.send(frame)
        kind, body = self._wait_answer(deadline_s, "hangs")
        if kind != wanted:
            raise _ChildFailed("talks nonsense")
        return body

    def close(self) -> None:
        """Let the child end by itself, by force if it does not."""
        self.send(encode_frame(STOP))
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(STOP_DEADLINE_S)
        self.kill()

    def kill(self) -> None:
        """End the child at once and wait for what belongs to it."""
        self._process.kill()
        self._process.wait()
        self._orders.put(None)
        for thread in self._threads:
            thread.join(STOP_DEADLINE_S)

    def _wait_answer(self, deadline_s: float, late: str) -> tuple[bytes, bytes]:
        try:
            answer = self._answers.get(timeout=deadline_s)
        except queue.Empty:
            raise _ChildFailed(f"{late} for {deadline_s:g} s") from None
        if answer is None:
            raise _ChildFailed(f"crashed{self._tell_printed()}")
        return answer

    def _tell_printed(self) -> str:
        self._printer.join(STOP_DEADLINE_S)
        lines = [line.decode(errors="replace").strip() for line in self._printed if line.strip()]
        telling = [line for line in lines if line.startswith(TELLING)]
        return f": {(telling or lines)[-1]}" if lines else ""

    def _write_orders(self, pipe: IO[bytes]) -> None:
        # A broken pipe shows as the end of the answers.
        with suppress(OSError, ValueError), pipe:
            while (frame := self._orders.get()) is not None:
                pipe.write(frame)
                pipe.flush()

    def _read_answers(self, pipe: IO[bytes]) -> None:
        with suppress(BrokenFrame, OSError, ValueError), pipe:
            while (frame := read_frame(pipe.read)) is not None:
                self._answers.put(frame)
        self._answers.put(None)

    def _read_printed(self, pipe: IO[bytes]) -> None:
        with suppress(OSError, ValueError), pipe:
            for line in iter(lambda: pipe.readline(LONGEST_LINE), b""):
                self._printed.append(line)


def _start_thread(run: Callable[[IO[bytes]], None], pipe: IO[bytes]) -> threading.Thread:
    thread = threading.Thread(target=run, args=(pipe,), daemon=True)
    thread.start()
    return thread
