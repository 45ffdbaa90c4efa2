"""A recorded feed from a file, at the pace of the times in it, faster, slower, or as fast as it can."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from coach.errors import Problem, SettingsError
from coach.feed.address import FeedAddress
from coach.feed.source import Tell
from coach.fixes.decoder import make_pacer

BLOCK_BYTES = 4096


class ReplaySource:
    """A file read piece by piece, each when it is due; never more than a block in memory."""

    def __init__(
        self,
        address: FeedAddress,
        tell: Tell,
        *,
        monotonic: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._address = address
        self._tell = tell
        self._monotonic = monotonic
        self._sleep = sleep
        self._pacer = make_pacer(address.form)
        self._file: BinaryIO | None = None
        self._due: deque[tuple[float, bytes]] = deque()
        self._began_s: float | None = None

    def open(self) -> None:
        """Open the file. Raises `SettingsError` where it cannot be read."""
        try:
            self._file = Path(self._address.path).open("rb")  # noqa: SIM115 (closed in `close`)
        except OSError as error:
            problem = Problem(where=self._address.path, expected="a file", got=error.strerror or str(error))
            raise SettingsError(problem) from error
        speed = f"{self._address.speed:g} times" if self._address.speed else "the greatest"
        self._tell(f"replaying {self._address.path} at {speed} speed")

    def read(self, wait_s: float) -> bytes | None:
        """Return what is due; None after the end."""
        if not self._due and not self._fill():
            return None
        left_s = self._left_s(self._due[0][0])
        if left_s > wait_s:
            self._sleep(wait_s)
            return b""
        if left_s > 0.0:
            self._sleep(left_s)
        return self._take(self._due[0][0])

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            with suppress(OSError):
                self._file.close()
            self._file = None

    def _left_s(self, elapsed_s: float) -> float:
        if self._began_s is None:
            self._began_s = self._monotonic()
        if not self._address.speed:
            return 0.0
        return self._began_s + elapsed_s / self._address.speed - self._monotonic()

    def _take(self, elapsed_s: float) -> bytes:
        """Return all pieces of one moment."""
        taken = bytearray()
        while self._due and self._due[0][0] == elapsed_s:
            taken += self._due.popleft()[1]
        return bytes(taken)

    def _fill(self) -> bool:
        """Read on until a piece is whole; False at the end."""
        while not self._due:
            block = self._read_block()
            self._due.extend(self._pacer.cut(block) if block else self._pacer.finish())
            if not block:
                break
        return bool(self._due)

    def _read_block(self) -> bytes:
        """A disk that fails ends the replay."""
        try:
            return b"" if self._file is None else self._file.read(BLOCK_BYTES)
        except (OSError, ValueError):
            return b""
