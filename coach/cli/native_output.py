"""Keeps what native sound libraries print off the pilot's screen. Never hides what the coach itself says."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO


@contextmanager
def native_output_aside() -> Iterator[TextIO]:
    """Keep what PortAudio and ALSA write to descriptor 2 off the screen; standard error proper is yielded."""
    sys.stderr.flush()
    kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    try:
        with os.fdopen(os.dup(kept), "w") as stderr:
            yield stderr
    finally:
        os.dup2(kept, 2)
        os.close(kept)
