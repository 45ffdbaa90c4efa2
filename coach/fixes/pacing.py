"""When each piece of a recorded feed was sent, from the times in it: a replay waits so long.

Never waits itself and never judges a sentence: what cannot be read has the time of what stood before it.
"""

from __future__ import annotations

import re
from typing import Protocol

from coach.fixes.gdl90_frames import FLAG, LONGEST_FRAME, decode_frame
from coach.fixes.gdl90_messages import HEARTBEAT, MESSAGE_BYTES, decode_heartbeat

LONGEST_PAUSE_S = 60.0
"""A longer gap in a recording is replayed as one of a minute; our own choice."""

REWOUND_S = 5.0
"""A time so much before the last is another recording; less is the order of a receiver's sentences."""

LONGEST_LINE = 4096
"""Bytes kept while waiting for a line end; a longer line is passed on in parts."""

_DAY_S = 86_400.0
_TIMED = re.compile(rb"\$[A-Z]{2}(?:RMC|GGA|ZDA),(\d\d)(\d\d)(\d\d(?:\.\d+)?),")
_FLAG = bytes((FLAG,))

Timed = tuple[float, bytes]
"""Seconds of the recording since its beginning, and what was sent then."""


class Pacer(Protocol):
    """Cuts a recording into timed pieces; all bytes come out, in order."""

    def cut(self, data: bytes) -> list[Timed]:
        """Return the pieces that are whole with these bytes."""

    def finish(self) -> list[Timed]:
        """Return what is left at the end."""


class _Course:
    """The recording's seconds, made steady: never back, no pause over a minute."""

    def __init__(self) -> None:
        self._last_s: float | None = None
        self.elapsed_s = 0.0

    def reach(self, of_day_s: float) -> None:
        """Take a time that stands in the recording."""
        if self._last_s is not None:
            step_s = (of_day_s - self._last_s + _DAY_S / 2) % _DAY_S - _DAY_S / 2
            if -REWOUND_S < step_s < 0.0:
                return
            self.elapsed_s += min(max(step_s, 0.0), LONGEST_PAUSE_S)
        self._last_s = of_day_s


class NmeaPacer:
    """Lines, timed by RMC, GGA and ZDA."""

    def __init__(self) -> None:
        self._course = _Course()
        self._rest = b""

    def cut(self, data: bytes) -> list[Timed]:
        """Return whole lines with their ends."""
        lines = (self._rest + data).splitlines(keepends=True)
        self._rest = lines.pop() if lines and not lines[-1].endswith(b"\n") else b""
        if len(self._rest) > LONGEST_LINE:
            lines.append(self._rest)
            self._rest = b""
        return [self._timed(line) for line in lines]

    def finish(self) -> list[Timed]:
        """Return the last line."""
        rest, self._rest = self._rest, b""
        return [self._timed(rest)] if rest else []

    def _timed(self, line: bytes) -> Timed:
        match = _TIMED.search(line)
        if match is not None:
            self._course.reach(int(match[1]) * 3600 + int(match[2]) * 60 + float(match[3]))
        return self._course.elapsed_s, line


class Gdl90Pacer:
    """Frames, timed by the heartbeats."""

    def __init__(self) -> None:
        self._course = _Course()
        self._rest = b""

    def cut(self, data: bytes) -> list[Timed]:
        """Return whole frames, each with its closing flag."""
        *pieces, self._rest = (self._rest + data).split(_FLAG)
        pieces = [piece + _FLAG for piece in pieces]
        if len(self._rest) > LONGEST_FRAME:
            pieces.append(self._rest)
            self._rest = b""
        return [self._timed(piece) for piece in pieces]

    def finish(self) -> list[Timed]:
        """Return what stood behind the last flag."""
        rest, self._rest = self._rest, b""
        return [self._timed(rest)] if rest else []

    def _timed(self, piece: bytes) -> Timed:
        message = decode_frame(piece[:-1])
        if (
            isinstance(message, bytes)
            and message[0] == HEARTBEAT
            and len(message) == MESSAGE_BYTES[HEARTBEAT]
        ):
            self._course.reach(float(decode_heartbeat(message).utc_of_day_s))
        return self._course.elapsed_s, piece
