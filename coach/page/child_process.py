"""The page's child process as the flight sees it: a process, its pipes and the threads on them.

Changes are written by a thread of its own, so that a child that hangs hangs nobody else. Never restarts one.
"""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from typing import IO, Any

START_WITHIN_S = 30.0
HANGS_AFTER_S = 6.0
"""The child tells every second that it runs; on a loaded machine some of that comes late."""

STOP_WITHIN_S = 5.0


class ChildFailed(Exception):  # noqa: N818
    """The child cannot serve; one line says why."""


class Child:
    """The operating system's side: a process, its pipes and the threads on them."""

    def __init__(
        self, command: tuple[str, ...], choice: dict[str, Any], take: Callable[[dict[str, Any]], None]
    ) -> None:
        # A session of its own: Ctrl+C in the terminal is the flight's to answer.
        self._process = subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=sys.platform != "win32",
        )
        assert self._process.stdin
        assert self._process.stdout
        self._take = take
        self._orders: queue.Queue[bytes | None] = queue.Queue(maxsize=1)
        self._first: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()
        self._beat_s = time.monotonic()
        self._is_gone = False
        self._threads = (
            _start_thread(self._write, self._process.stdin),
            _start_thread(self._read, self._process.stdout),
        )
        self._orders.put(json.dumps(choice).encode("ascii") + b"\n")
        self.port = self._wait_ready()

    def send(self, changes: bytes) -> str | None:
        """Hand changes over to be written; why the child is of no more use, None: it is."""
        while changes:
            try:
                self._orders.put(changes, timeout=1.0)
            except queue.Full:
                if (reason := self.find_failure()) is not None:
                    return reason
            else:
                break
        return None

    def find_failure(self) -> str | None:
        """Why the child is of no more use; None: it runs."""
        if self._is_gone:
            return "crashed"
        return "hangs" if time.monotonic() - self._beat_s > HANGS_AFTER_S else None

    def close(self) -> None:
        """Let the child end by itself, by force if it does not."""
        with suppress(queue.Full):
            self._orders.put(None, timeout=STOP_WITHIN_S)
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(STOP_WITHIN_S)
        self.kill()

    def kill(self) -> None:
        """End the child at once."""
        self._process.kill()
        self._process.wait()
        with suppress(queue.Full):
            self._orders.put_nowait(None)
        for thread in self._threads:
            thread.join(STOP_WITHIN_S)

    def _wait_ready(self) -> int:
        try:
            answer = self._first.get(timeout=START_WITHIN_S)
        except queue.Empty:
            answer = {"refused": f"no answer within {START_WITHIN_S:g} s"}
        if "ready" not in answer:
            self.kill()
            raise ChildFailed(answer.get("refused", "crashed"))
        return int(answer["ready"])

    def _write(self, pipe: IO[bytes]) -> None:
        # A broken pipe shows as the end of the answers.
        with suppress(OSError, ValueError), pipe:
            while (changes := self._orders.get()) is not None:
                pipe.write(changes)
                pipe.flush()

    def _read(self, pipe: IO[bytes]) -> None:
        with suppress(OSError, ValueError), pipe:
            for line in iter(pipe.readline, b""):
                answer = json.loads(line)
                self._beat_s = time.monotonic()
                if "command" in answer:
                    self._take(answer["command"])
                elif "beat" not in answer:
                    self._first.put(answer)
        self._is_gone = True
        self._first.put({"refused": "crashed"})


def _start_thread(run: Callable[[IO[bytes]], None], pipe: IO[bytes]) -> threading.Thread:
    thread = threading.Thread(target=run, args=(pipe,), daemon=True)
    thread.start()
    return thread
