"""Tells of a worker that a bug has ended. Never begins it again: those that can, do it themselves."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def telling_of_dead_workers(tell: Callable[[str], None]) -> Iterator[None]:
    """Give `tell` one line for each thread that an exception ends; called on that thread."""
    before = threading.excepthook

    def hook(args: threading.ExceptHookArgs) -> None:
        name = args.thread.name if args.thread else "a worker"
        tell(f"{name} is gone: {args.exc_value!r:.100}")

    threading.excepthook = hook
    try:
        yield
    finally:
        threading.excepthook = before
