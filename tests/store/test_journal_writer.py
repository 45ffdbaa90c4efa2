"""The journal's writer: written before acted on, synced in time, a disk that fails told once."""

import errno
import os
import threading
from collections.abc import Callable
from queue import Queue

import pytest

from coach.session.actions import Action, Finish, Record, Show
from coach.session.events import EdgeFailed, EdgeRecovered, Event, Woken
from coach.session.journal import Closed, Header, Late, encode_line, parse_journal, split_lines
from coach.store.journal_writer import JournalWriter
from coach.store.recording_file import RecordingFile
from tests.session.test_journal import HEADER

LONG_S = 60.0
"""So long that a machine under load never reaches it; no test waits for it to pass."""


def woken(n: int) -> Woken:
    return Woken(at_s=float(n), onset_s=float(n))


def record(n: int) -> Record:
    return Record(what=f"line {n}", onset_s=float(n))


def show(leg_n: int | None) -> Show:
    return Show(
        state="flying", leg_n=leg_n, spoke=None, leg=None, heading_mag_deg=None, course_mag_deg=None,
        timer_from_s=None, ends_at_s=None, coming="", note="",
    )  # fmt: skip


class Told:
    """Takes what the writer posts."""

    def __init__(self) -> None:
        self.events: Queue[Event] = Queue()

    def next(self) -> Event:
        return self.events.get(timeout=LONG_S)


def begin(
    file: RecordingFile, told: Told | None = None, *, header: Header | None = HEADER, **settings: float
) -> JournalWriter:
    # Not waited for: a test may hold the disk up from the beginning.
    settings = {
        "begin_within_s": 0.0,
        "late_after_s": LONG_S,
        "sync_every_s": LONG_S,
        "retry_every_s": 0.001,
    } | settings
    post = (told or Told()).events.put
    return JournalWriter(lambda: file, post=post, now_s=lambda: 7.0, header=header, **settings)  # type: ignore[arg-type]


def journal_of(content: bytes):
    return parse_journal(split_lines(content)[0])


def failing_while(is_broken: Callable[[str], bool], code: int = errno.ENOSPC) -> Callable[[str], None]:
    def before(operation: str) -> None:
        if is_broken(operation):
            raise OSError(code, os.strerror(code))

    return before


def operations_of(file: RecordingFile) -> list[str]:
    return [operation for operation, _ in file.operations]


def test_an_event_is_written_before_its_actions_are_taken() -> None:
    file = RecordingFile()
    with begin(file, begin_within_s=LONG_S) as writer:
        for n in range(1, 51):
            writer.write(woken(n), (record(n),))
            # Here the loop would take the actions.
            assert journal_of(file.after_kill()).steps[-1] == (woken(n), (record(n),))
    assert writer.late_n == 0


def test_a_closed_journal_holds_the_whole_flight_and_says_so() -> None:
    file = RecordingFile()
    with begin(file) as writer:
        writer.write(woken(1), (record(1), record(2)))
        writer.write(woken(2), ())
    journal = journal_of(file.after_power_loss())
    assert journal.header == HEADER
    assert journal.steps == ((woken(1), (record(1), record(2))), (woken(2), ()))
    assert journal.is_closed
    assert operations_of(file)[-1] == "close"


def test_a_flight_that_ends_by_a_bug_is_synced_but_not_called_closed() -> None:
    file = RecordingFile()

    def fly() -> None:
        with begin(file) as writer:
            writer.write(woken(1), ())
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fly()
    journal = journal_of(file.after_power_loss())
    assert journal.steps == ((woken(1), ()),)
    assert not journal.is_closed


def test_closing_twice_is_closing_once() -> None:
    file = RecordingFile()
    writer = begin(file)
    writer.close()
    writer.close()
    assert file.after_kill().count(encode_line(Closed()).encode()) == 1


def test_a_slow_write_lets_the_flight_go_first_and_is_marked_late() -> None:
    is_free = threading.Event()
    file = RecordingFile(before=lambda operation: is_free.wait(LONG_S) and None)
    writer = begin(file, header=None, late_after_s=0.0)
    writer.write(woken(1), ())
    writer.write(woken(2), ())
    assert file.operations == []
    assert writer.late_n == 2
    is_free.set()
    writer.close()
    text = file.after_kill().decode()
    assert text.index('"at_s":1.0') < text.index('"at_s":2.0') < text.index('"event_n":2')
    assert parse_journal([encode_line(HEADER), *text.splitlines()]).late == (1, 2)


def test_an_event_behind_a_slow_write_does_not_wait_as_well() -> None:
    is_free = threading.Event()
    file = RecordingFile(before=lambda operation: is_free.wait(LONG_S) and None)
    writer = begin(file, header=None, late_after_s=0.001)
    writer.write(woken(1), ())
    writer._late_after_s = LONG_S  # From here on a wait would never end.
    writer.write(woken(2), ())
    is_free.set()
    writer.close()
    assert writer.late_n == 2


def test_a_disk_quick_again_is_no_longer_late() -> None:
    is_free = threading.Event()
    file = RecordingFile(before=lambda operation: is_free.wait(LONG_S) and None)
    writer = begin(file, late_after_s=0.0)
    writer.write(woken(1), ())
    is_free.set()
    writer._late_after_s = LONG_S
    # Events behind the backlog are late too; in the end one is not.
    n, late_n = 1, -1
    while writer.late_n > late_n:
        n, late_n = n + 1, writer.late_n
        writer.write(woken(n), ())
    writer.close()
    journal = journal_of(file.after_kill())
    assert [event for event, _ in journal.steps] == [woken(i) for i in range(1, n + 1)]
    assert journal.late == tuple(range(1, n))


def test_a_new_leg_and_the_end_are_synced_at_once_and_nothing_else() -> None:
    file = RecordingFile()
    with begin(file, header=None) as writer:
        for actions in ((), (show(None),), (show(1),), (show(1),), (), (show(2),), (Finish(),)):
            writer.write(woken(1), actions)
        assert file.operations[0][0] == "append"
    synced = [
        content.count(b"Show") or content.count(b"Finish")
        for (_, content), following in zip(file.operations, operations_of(file)[1:], strict=False)
        if following == "sync"
    ]
    assert synced == [1, 1, 1, 0]  # Leg 1, leg 2, the end, closing.


def test_every_write_is_synced_when_it_is_due() -> None:
    file = RecordingFile()
    with begin(file, header=None, sync_every_s=0.0) as writer:
        writer.write(woken(1), ())
        writer.write(woken(2), ())
    assert operations_of(file) == ["append", "sync"] * 3 + ["close"]


def test_what_is_unsynced_is_synced_without_another_event() -> None:
    is_synced = threading.Event()
    file = RecordingFile(before=lambda operation: is_synced.set() if operation == "sync" else None)
    writer = begin(file, header=None, sync_every_s=0.001)
    writer.write(woken(1), ())
    assert is_synced.wait(LONG_S)
    writer.close()


@pytest.mark.parametrize(
    ("code", "reason"),
    [
        (errno.ENOSPC, "No space left on device"),
        (errno.EROFS, "Read-only file system"),
        (errno.EIO, "Input/output error"),
    ],
)
def test_a_disk_that_fails_is_told_once_and_nothing_is_lost_when_it_is_back(code: int, reason: str) -> None:
    is_broken, told = threading.Event(), Told()
    is_broken.set()
    file = RecordingFile(
        before=failing_while(lambda operation: operation != "close" and is_broken.is_set(), code)
    )
    writer = begin(file, told, late_after_s=0.001)
    for n in range(1, 21):
        writer.write(woken(n), ())
    assert told.next() == EdgeFailed(at_s=7.0, onset_s=7.0, edge="journal", reason=f"journal: {reason}")
    is_broken.clear()
    assert told.next() == EdgeRecovered(at_s=7.0, onset_s=7.0, edge="journal")
    writer.close()
    assert told.events.empty()
    journal = journal_of(file.after_power_loss())
    assert [event for event, _ in journal.steps] == [woken(n) for n in range(1, 21)]
    assert journal.late == tuple(range(1, 21))


def test_a_sync_that_fails_is_told_and_tried_again() -> None:
    failures, told = [1, 1, 1], Told()
    file = RecordingFile(
        before=failing_while(lambda operation: operation == "sync" and bool(failures) and failures.pop())
    )
    writer = begin(file, told)
    writer.write(woken(1), (show(1),))
    assert isinstance(told.next(), EdgeFailed)
    assert isinstance(told.next(), EdgeRecovered)
    writer.close()
    assert journal_of(file.after_power_loss()).steps == ((woken(1), (show(1),)),)


def test_a_file_that_cannot_be_opened_is_told_and_opened_later() -> None:
    refusals, told, file = [1, 1], Told(), RecordingFile()

    def open_file() -> RecordingFile:
        if refusals:
            refusals.pop()
            raise PermissionError(errno.EACCES, "Permission denied")
        return file

    writer = JournalWriter(
        open_file,
        post=told.events.put,
        now_s=lambda: 7.0,
        header=HEADER,
        late_after_s=0.001,
        retry_every_s=0.001,
    )
    writer.write(woken(1), ())
    assert told.next().reason == "journal: Permission denied"  # type: ignore[union-attr]
    assert isinstance(told.next(), EdgeRecovered)
    writer.close()
    assert journal_of(file.after_kill()).steps == ((woken(1), ()),)


def test_a_slow_disk_is_told_once_and_once_that_it_is_quick_again() -> None:
    is_slow, told = threading.Event(), Told()
    is_slow.set()
    free = threading.Semaphore(0)
    file = RecordingFile(before=lambda operation: free.acquire() and None if is_slow.is_set() else None)
    writer = begin(file, told, header=None, late_after_s=0.001, slow_after_s=0.0)
    for n in range(1, 4):
        writer.write(woken(n), ())
    assert told.next() == EdgeFailed(
        at_s=7.0, onset_s=7.0, edge="journal", reason="journal: slow, written late"
    )
    is_slow.clear()
    free.release(100)
    writer._late_after_s = LONG_S
    while writer._waiting:
        pass
    for n in range(4, 8):
        writer.write(woken(n), ())
    assert isinstance(told.next(), EdgeRecovered)
    writer.close()
    assert told.events.empty()
    assert [
        event for event, _ in journal_of(encode_line(HEADER).encode() + b"\n" + file.after_kill()).steps
    ] == [woken(n) for n in range(1, 8)]


def test_actions_that_a_torn_journal_lacks_are_written_before_the_next_event() -> None:
    file = RecordingFile()
    first = encode_line(HEADER) + "\n" + encode_line(woken(1)) + "\n"
    with begin(file, header=None, events_before=1) as writer:
        writer.write_missing((record(1),))
        writer.write_missing(())
        writer.write(woken(2), ())
    assert journal_of(first.encode() + file.after_kill()).steps == (
        (woken(1), (record(1),)),
        (woken(2), ()),
    )


def test_a_disk_gone_for_good_keeps_a_true_beginning_and_is_told_once() -> None:
    told = Told()
    is_broken = threading.Event()
    is_broken.set()
    file = RecordingFile(before=failing_while(lambda operation: is_broken.is_set()))
    writer = begin(file, told, late_after_s=0.0, most_waiting=5)
    assert isinstance(told.next(), EdgeFailed)
    for n in range(1, 21):
        writer.write(woken(n), ())
    is_broken.clear()
    writer.close()
    assert told.events.empty()
    assert writer.late_n == 20
    journal = journal_of(file.after_kill())
    assert [event for event, _ in journal.steps] == [woken(n) for n in range(1, 5)]
    assert not journal.is_closed


def test_a_disk_too_slow_for_good_is_told() -> None:
    is_free, told = threading.Event(), Told()
    file = RecordingFile(before=lambda operation: is_free.wait(LONG_S) and None)
    writer = begin(file, told, header=None, late_after_s=0.0, most_waiting=2)
    for n in range(4):
        writer.write(woken(n), ())
    assert told.next().reason == "journal: too far behind, the rest is not kept"  # type: ignore[union-attr]
    is_free.set()
    writer.close()
    assert told.events.empty()


def test_a_disk_that_fails_to_the_end_does_not_keep_the_coach() -> None:
    told = Told()
    file = RecordingFile(before=failing_while(lambda operation: operation != "close"))
    writer = begin(file, told, late_after_s=0.0, retry_every_s=LONG_S)
    writer.write(woken(1), ())
    writer.close()
    assert isinstance(told.next(), EdgeFailed)
    assert operations_of(file) == ["close"]


def test_a_disk_full_to_the_end_is_not_called_recovered_and_keeps_what_it_took() -> None:
    is_full, told = threading.Event(), Told()
    file = RecordingFile(before=failing_while(lambda operation: operation == "append" and is_full.is_set()))
    writer = begin(file, told, begin_within_s=LONG_S, retry_every_s=LONG_S)
    writer.write(woken(1), ())
    is_full.set()
    writer._late_after_s = 0.001
    writer.write(woken(2), ())
    assert isinstance(told.next(), EdgeFailed)
    writer.close()
    assert told.events.empty()
    journal = journal_of(file.after_power_loss())
    assert journal.steps == ((woken(1), ()),)
    assert not journal.is_closed


def test_a_journal_gone_on_with_counts_its_events_on() -> None:
    is_free = threading.Event()
    file = RecordingFile(before=lambda operation: is_free.wait(LONG_S) and None)
    writer = JournalWriter(
        lambda: file,
        post=Told().events.put,
        now_s=lambda: 0.0,
        header=None,
        events_before=41,
        late_after_s=0.0,
    )
    writer.write(woken(1), ())
    is_free.set()
    writer.close()
    assert encode_line(Late(event_n=42)).encode() in file.after_kill()


def test_cut_anywhere_what_was_acted_on_is_there_or_marked_late() -> None:
    file = RecordingFile()
    acted: list[tuple[int, Event, tuple[Action, ...]]] = []
    with begin(file, begin_within_s=LONG_S) as writer:
        for n in range(1, 41):
            actions = (record(n), show(n // 4))
            writer.write(woken(n), actions)
            acted.append((len(file.operations), woken(n), actions))
    assert writer.late_n == 0
    for cut in range(2, len(file.operations) + 1):
        steps = journal_of(file.after_kill(cut)).steps
        assert all((event, actions) in steps for done_n, event, actions in acted if done_n <= cut)


def test_a_power_loss_anywhere_leaves_every_leg_that_was_synced() -> None:
    file = RecordingFile()
    with begin(file) as writer:
        for n in range(1, 41):
            writer.write(woken(n), (show(n // 4),))
    for cut in range(2, len(file.operations) + 1):
        safe = file.after_power_loss(cut)
        assert file.after_kill(cut).startswith(safe)
        unsafe = file.after_kill(cut)[len(safe) :]
        # Not synced yet: the present leg, and one boundary whose sync is the next operation.
        assert unsafe.count(b"Show") <= 4
