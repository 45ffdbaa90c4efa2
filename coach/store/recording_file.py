"""A journal in memory that remembers what was done to it: for tests and the fault bench.

It answers what a killed coach and what a power failure would have left. Never touches a disk.
"""

from __future__ import annotations

from collections.abc import Callable


class RecordingFile:
    """Stands in for `JournalFile`; `before` is told each operation first and may block or raise OSError."""

    def __init__(self, before: Callable[[str], None] = lambda _operation: None) -> None:
        self.operations: list[tuple[str, bytes]] = []
        """`append` with its bytes, `sync` and `close` with none, in order."""
        self._before = before

    def append(self, content: bytes) -> None:
        """Note that it was written."""
        self._note("append", content)

    def sync(self) -> None:
        """Note that all of it is safe."""
        self._note("sync")

    def close(self) -> None:
        """Note that it was given back."""
        self._note("close")

    def after_kill(self, operations_n: int | None = None) -> bytes:
        """What is there if the coach ends after so many operations (None: all): all that was written."""
        return b"".join(content for _, content in self.operations[:operations_n])

    def after_power_loss(self, operations_n: int | None = None) -> bytes:
        """What is there for certain if the power fails after so many operations: what was synced."""
        done = [operation for operation, _ in self.operations[:operations_n]]
        return self.after_kill(len(done) - done[::-1].index("sync")) if "sync" in done else b""

    def _note(self, operation: str, content: bytes = b"") -> None:
        self._before(operation)
        self.operations.append((operation, content))
