"""Writes a flight down while it is flown, in a thread of its own.

Each event and its actions are on disk (in the system's hands) before the actions are taken, unless the
disk takes longer than `LATE_AFTER_S`: then the flight goes first and the event is marked late. The
device is made to keep it (fsync) at every leg boundary and at least every second. A disk that fails is
told once; the lines wait and are written when it is back. Never holds the flight up, never raises.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from types import TracebackType
from typing import Protocol

from coach.session.actions import Action, Finish, Show
from coach.session.events import EdgeFailed, EdgeRecovered, Event
from coach.session.journal import Closed, Header, Late, Line, encode_line

LATE_AFTER_S = 0.020
"""How long a flight waits for a line to be written (issue: "a write slower than 20 ms")."""

SLOW_AFTER_S = 1.0
"""Events late one after the other for so long are a slow disk and told once; as long in time ends it."""

BEGIN_WITHIN_S = 0.25
"""How long the beginning waits for the header: there is time before the first event, none after it."""

SYNC_EVERY_S = 0.5
"""Half of the second that may be lost to a power failure; the other half is for a slow device."""

RETRY_EVERY_S = 1.0
"""How often a disk that failed is tried again."""

MOST_WAITING = 20_000
"""Events that wait for a disk that is gone: some hours. Beyond it the rest of the flight is not kept."""

CLOSE_WITHIN_S = 2.0
"""A disk that hangs does not keep the coach from ending."""


class AppendsLines(Protocol):
    """What the writer needs of a file; `journal_file.JournalFile` is the real one."""

    def append(self, content: bytes) -> None:
        """All of it at the end, or `OSError` and none of it."""

    def sync(self) -> None:
        """Have the device keep it."""

    def close(self) -> None:
        """No more lines come."""


@dataclass(slots=True)
class _Entry:
    """The lines of one event, on their way to the disk."""

    content: bytes
    event_n: int
    is_boundary: bool
    is_late: bool = False
    written: threading.Event = field(default_factory=threading.Event)


class JournalWriter:
    """Keeps a flight: `write` before the actions are taken, `close` at the end.

    `open_file` is called in the writer's thread, and again after each failure until it works. `post`
    takes `EdgeFailed` and `EdgeRecovered` dated by `now_s` (the session clock); it must not wait, and
    it is called from the writer's thread too. `header` is None where the file has one already, then
    `events_before` says how many events.
    """

    def __init__(
        self,
        open_file: Callable[[], AppendsLines],
        *,
        post: Callable[[Event], None],
        now_s: Callable[[], float],
        header: Header | None,
        events_before: int = 0,
        late_after_s: float = LATE_AFTER_S,
        sync_every_s: float = SYNC_EVERY_S,
        retry_every_s: float = RETRY_EVERY_S,
        most_waiting: int = MOST_WAITING,
        begin_within_s: float = BEGIN_WITHIN_S,
        slow_after_s: float = SLOW_AFTER_S,
    ) -> None:
        self.late_n = 0
        """How many events were acted on before they were written."""
        self._disk = _Disk(open_file, sync_every_s)
        self._post = post
        self._now_s = now_s
        self._late_after_s = late_after_s
        self._retry_every_s = retry_every_s
        self._slow_after_s = slow_after_s
        self._most_waiting = most_waiting
        self._event_n = events_before
        self._leg_n: int | None = None
        self._changed = threading.Condition()
        self._waiting: deque[_Entry] = deque()
        self._marks: list[bytes] = []
        self._is_failing = False
        self._troubles: set[str] = set()
        """What is wrong with the disk; told when it begins and when all of it is over."""

        self._changing_since_s: float | None = None
        """Since when each event is late on a quick disk, or in time on a slow one."""
        self._is_given_up = False
        self._is_closing = False
        self._is_in_order = False
        self._thread = threading.Thread(target=self._work, name="journal", daemon=True)
        self._thread.start()
        if header is not None:
            self._begin(header, begin_within_s)

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        """Keep an event and what followed from it; waits `late_after_s` at the most."""
        self._event_n += 1
        self._write(event, *actions)

    def write_missing(self, actions: tuple[Action, ...]) -> None:
        """Keep the actions that a torn journal lacks at its end, before anything else is written."""
        if actions:
            self._write(*actions)

    def _write(self, *lines: Event | Action) -> None:
        entry = _Entry(content=_encode(*lines), event_n=self._event_n, is_boundary=self._is_boundary(lines))
        if not self._put(entry) or not entry.written.wait(self._late_after_s):
            with self._changed:
                entry.is_late = not entry.written.is_set()
        self.late_n += entry.is_late
        self._note_pace(is_late=entry.is_late)

    def _note_pace(self, *, is_late: bool) -> None:
        """Tell once that the disk is slow, and once that it is quick again."""
        now_s = time.monotonic()
        if is_late is ("slow" in self._troubles):
            self._changing_since_s = None
        elif self._changing_since_s is None:
            self._changing_since_s = now_s
        elif now_s - self._changing_since_s >= self._slow_after_s:
            self._changing_since_s = None
            self._note_trouble("slow", "slow, written late" if is_late else None)

    def close(self, *, is_in_order: bool = True) -> None:
        """Write and sync the rest and give the file back; `is_in_order` False leaves the flight open."""
        with self._changed:
            self._is_in_order = is_in_order
            self._is_closing = True
            self._changed.notify()
        self._thread.join(CLOSE_WITHIN_S)

    def __enter__(self) -> JournalWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close(is_in_order=kind is None)

    def _begin(self, header: Header, within_s: float) -> None:
        entry = _Entry(content=_encode(header), event_n=0, is_boundary=True)
        self._put(entry)
        entry.written.wait(within_s)

    def _is_boundary(self, lines: tuple[Event | Action, ...]) -> bool:
        leg_n = next((line.leg_n for line in lines if isinstance(line, Show)), self._leg_n)
        is_new_leg, self._leg_n = leg_n != self._leg_n, leg_n
        return is_new_leg or any(isinstance(line, Finish) for line in lines)

    def _put(self, entry: _Entry) -> bool:
        """Queue it; False where it is not worth waiting for, since others wait before it."""
        with self._changed:
            is_first = not self._waiting
            if not self._is_given_up and len(self._waiting) < self._most_waiting:
                self._waiting.append(entry)
                self._changed.notify()
                return is_first
            self._is_given_up = True
        self._note_trouble("given up", "too far behind, the rest is not kept")
        return False

    def _work(self) -> None:
        is_closing = False
        while not is_closing:
            with self._changed:
                self._changed.wait_for(self._has_work, self._timeout_s())
                batch, is_closing = tuple(self._waiting), self._is_closing
            self._keep(batch, is_last=False)
        self._finish()

    def _finish(self) -> None:
        if self._is_failing:
            # Told already; at least what was written before is made safe.
            with suppress(OSError):
                self._disk.sync(is_asked=True)
        else:
            if self._is_in_order and not self._is_given_up:
                self._marks.append(_encode(Closed()))
            self._keep((), is_last=True)
        self._disk.close()

    def _has_work(self) -> bool:
        return self._is_closing or (bool(self._waiting) and not self._is_failing)

    def _timeout_s(self) -> float | None:
        return self._retry_every_s if self._is_failing else self._disk.sync_in_s()

    def _keep(self, batch: tuple[_Entry, ...], *, is_last: bool) -> None:
        try:
            self._disk.append(b"".join((*self._marks, *(entry.content for entry in batch))))
            self._tell_written(batch)
            self._disk.sync(is_asked=is_last or any(entry.is_boundary for entry in batch))
        except OSError as exc:
            self._fail(exc)
        else:
            self._recover()

    def _tell_written(self, batch: tuple[_Entry, ...]) -> None:
        with self._changed:
            for entry in batch:
                self._waiting.popleft()
                entry.written.set()
        # The marks go out with the next line: until then the line itself is there.
        self._marks = [_encode(Late(event_n=entry.event_n)) for entry in batch if entry.is_late]

    def _fail(self, error: OSError) -> None:
        self._is_failing = True
        self._note_trouble("failing", error.strerror or str(error))

    def _recover(self) -> None:
        if self._is_failing:
            self._is_failing = False
            self._note_trouble("failing", None)

    def _note_trouble(self, kind: str, reason: str | None) -> None:
        """Tell the first trouble, and that there is none any more; `reason` None: this one is over."""
        with self._changed:
            before, self._troubles = self._troubles, self._troubles - {kind} | ({kind} if reason else set())
            is_new, is_over = not before and self._troubles, before and not self._troubles
        at_s = self._now_s()
        if is_new:
            failed = EdgeFailed(at_s=at_s, onset_s=at_s, edge="journal", reason=f"journal: {reason}")
            self._post(failed)
        elif is_over:
            self._post(EdgeRecovered(at_s=at_s, onset_s=at_s, edge="journal"))


class _Disk:
    """The file, and when it was last synced; the writer's thread alone uses it."""

    def __init__(self, open_file: Callable[[], AppendsLines], sync_every_s: float) -> None:
        self._open_file = open_file
        self._sync_every_s = sync_every_s
        self._file: AppendsLines | None = None
        self._sync_due_s: float | None = None

    def append(self, content: bytes) -> None:
        if self._file is None:
            self._file = self._open_file()
        if content:
            self._file.append(content)
            self._sync_due_s = self._sync_due_s or time.monotonic() + self._sync_every_s

    def sync_in_s(self) -> float | None:
        """How long until a sync is due; None: everything is synced."""
        return None if self._sync_due_s is None else max(0.0, self._sync_due_s - time.monotonic())

    def sync(self, *, is_asked: bool) -> None:
        """Sync if it is asked for or due."""
        if self._file is None or self._sync_due_s is None:
            return
        if is_asked:
            self._sync_due_s = time.monotonic()
        if time.monotonic() >= self._sync_due_s:
            self._file.sync()
            self._sync_due_s = None

    def close(self) -> None:
        if self._file is not None:
            self._file.close()


def _encode(*lines: Line) -> bytes:
    return "".join(f"{encode_line(line)}\n" for line in lines).encode("ascii")
