"""Journals on disk: private, mended when torn, never overwritten when foreign or in use."""

import errno
import os
import stat
from datetime import timedelta
from pathlib import Path
from queue import Queue

import pytest

from coach.errors import JournalError
from coach.session.actions import Listen
from coach.session.events import EdgeFailed, Event, SessionStarted, Woken
from coach.session.journal import Closed, Header, encode_line
from coach.store import journal_file, journals
from coach.store.journal_file import JournalFile, create_file, open_file
from coach.store.journal_writer import JournalWriter
from coach.store.journals import begin_journal, journals_folder, list_journals, read_journal, resume_journal
from tests.session.test_journal import CONTENT, HEADER, LINES

STARTED = SessionStarted(at_s=0.5, onset_s=0.5)
WOKEN = Woken(at_s=60.5, onset_s=60.5)
LISTEN = Listen(phrases=("station passage",))
NAME = "20310504T092910Z-eight-spoke.jsonl"
LONG_S = 60.0


def begin(folder: Path, header: Header = HEADER, told: Queue[Event] | None = None) -> JournalWriter:
    return begin_journal(folder, header, post=(told or Queue()).put, now_s=lambda: 0.0)


def begin_and_wait(folder: Path, name: str, header: Header = HEADER) -> JournalWriter:
    """Begun for certain, however busy the machine is."""
    return JournalWriter(
        lambda: create_file(folder, name),
        post=print,
        now_s=lambda: 0.0,
        header=header,
        late_after_s=LONG_S,
        begin_within_s=LONG_S,
    )


def stored(tmp_path: Path, content: bytes, name: str = NAME) -> Path:
    path = tmp_path / name
    path.write_bytes(content)
    return path


def test_journals_live_in_the_users_data_folder() -> None:
    assert journals_folder().parts[-2:] == ("drill-coach", "journals")


def test_a_flight_comes_back_from_disk_as_it_was(tmp_path: Path) -> None:
    with begin(tmp_path) as writer:
        writer.write(STARTED, (LISTEN,))
        writer.write(WOKEN, ())
    stored = read_journal(tmp_path / NAME)
    assert stored.repair is None
    assert stored.journal.header == HEADER
    assert stored.journal.steps == ((STARTED, (LISTEN,)), (WOKEN, ()))
    assert stored.journal.is_closed


@pytest.mark.skipif(os.name == "nt", reason="Windows has no modes")
def test_a_journal_is_for_its_owner_only(tmp_path: Path) -> None:
    begin(tmp_path / "deep" / "journals").close()
    assert stat.S_IMODE((tmp_path / "deep" / "journals").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "deep" / "journals" / NAME).stat().st_mode) == 0o600


def test_two_flights_in_one_second_are_two_files(tmp_path: Path) -> None:
    begin(tmp_path).close()
    begin(tmp_path).close()
    assert sorted(path.name for path in tmp_path.iterdir()) == [NAME.replace(".jsonl", "-2.jsonl"), NAME]


def test_a_drills_name_never_leads_out_of_the_folder(tmp_path: Path) -> None:
    drill = "../../Evil\0 /drill" + "x" * 300
    header = Header(version=1, drill=drill, drill_settings=(), began_utc=HEADER.began_utc, coach_version="1")
    begin(tmp_path / "journals", header).close()
    (path,) = (tmp_path / "journals").iterdir()
    assert path.name.startswith("20310504T092910Z-evil-drillxxx")
    assert len(path.name) < 100
    assert list(tmp_path.iterdir()) == [tmp_path / "journals"]


def test_a_folder_that_cannot_be_made_is_told_and_the_flight_goes_on(tmp_path: Path) -> None:
    (tmp_path / "journals").write_text("a file stands here")
    told: Queue[Event] = Queue()
    with begin(tmp_path / "journals", told=told) as writer:
        assert told.get(timeout=LONG_S) == EdgeFailed(
            at_s=0.0, onset_s=0.0, edge="journal", reason="journal: File exists"
        )
        writer.write(STARTED, (LISTEN,))
    assert (tmp_path / "journals").read_text() == "a file stands here"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_disk_is_told(tmp_path: Path) -> None:
    told: Queue[Event] = Queue()
    writer = JournalWriter(
        lambda: JournalFile(os.open("/dev/full", os.O_RDWR), 0),
        post=told.put,
        now_s=lambda: 0.0,
        header=HEADER,
    )
    assert told.get(timeout=LONG_S).reason == "journal: No space left on device"  # type: ignore[union-attr]
    writer.close()


def test_what_a_full_disk_took_of_a_line_is_cut_off_before_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, write, calls = create_file(tmp_path, "torn"), os.write, []

    def write_a_part(descriptor: int, content: bytes) -> int:
        calls.append(content)
        if len(calls) == 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(descriptor, content[:3])

    monkeypatch.setattr(journal_file.os, "write", write_a_part)
    with pytest.raises(OSError, match="No space left"):
        file.append(b"torn off\n")
    monkeypatch.setattr(journal_file.os, "write", write)
    file.append(b"whole\n")
    file.close()
    assert (tmp_path / "torn.jsonl").read_bytes() == b"whole\n"


@pytest.mark.parametrize("cut", range(len(LINES[0]) + 1, len(CONTENT), 7))
def test_a_journal_torn_anywhere_is_mended_once_and_said(tmp_path: Path, cut: int) -> None:
    path = stored(tmp_path, CONTENT[:cut])
    first = read_journal(path)
    again = read_journal(path)
    assert again.repair is None
    assert again.journal == first.journal
    is_whole = CONTENT[:cut].endswith(b"\n")
    assert (first.repair is None) is is_whole
    assert CONTENT.startswith(path.read_bytes())


def test_a_repair_says_where_and_how_much(tmp_path: Path) -> None:
    path = stored(tmp_path, CONTENT + b'{"line":"Wok')
    assert read_journal(path).repair == f"{path}: the last line was torn, 12 bytes left out"
    assert path.read_bytes() == CONTENT


def test_a_journal_that_cannot_be_mended_is_read_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = stored(tmp_path, CONTENT + b"{")

    def refuse(descriptor: int, length: int) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(journal_file.os, "ftruncate", refuse)
    read = read_journal(path)
    assert read.journal.is_closed
    assert read.repair == (
        f"{path}: the last line was torn, 1 bytes left out; the file is as it was: Read-only file system"
    )


def test_a_journal_on_a_disk_not_to_be_written_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, opened = stored(tmp_path, CONTENT), os.open

    def open_to_read_only(name: Path, flags: int, mode: int = 0o777) -> int:
        if flags & os.O_RDWR:
            raise OSError(errno.EROFS, "Read-only file system")
        return opened(name, flags, mode)

    monkeypatch.setattr(journal_file.os, "open", open_to_read_only)
    assert read_journal(path).journal.is_closed


REFUSED = {
    "an empty file": (b"", "{path}:1: expected the header of a journal, got an empty file"),
    "a foreign text": (b"hello", "{path}:1: expected the header of a journal, got b'hello'"),
    "foreign lines": (b"hello\nyou\n", "{path}:1: expected a line of a journal, got 'hello'"),
    "foreign bytes": (
        b"\x89PNG\r\n\x1a\n\x00\x00",
        r"{path}:1: expected a line of a journal, got '\\x89PNG\r'",
    ),
    "foreign JSON": (b'{"drill": 1}\n', "{path}:1: expected a line of a journal, got '{{\"drill\": 1}}'"),
    "a journal that lacks its header": (
        (LINES[1] + "\n").encode(),
        "{path}:1: expected the header of a journal, got "
        '\'{{"line":"SessionStarted","at_s":0.25,"onset_s":0.25}}\'',
    ),
    "another version": (
        CONTENT.replace(b'"version":1', b'"version":99') + b"torn",
        "{path}:1: expected a journal of version 1, got version 99",
    ),
    "a broken line within": (
        CONTENT.replace(b'"onset_s":11.9', b'"onset_s":11,9') + b"torn",
        "{path}:3: expected a line of a journal, got "
        '\'{{"line":"PhraseHeard","at_s":12.5,"onset_s":11,9,"phras …\'',
    ),
}


@pytest.mark.parametrize(("content", "message"), REFUSED.values(), ids=REFUSED.keys())
@pytest.mark.parametrize("take", ["read", "resume"])
def test_a_file_that_is_not_ours_is_refused_and_left_alone(
    tmp_path: Path, content: bytes, message: str, take: str
) -> None:
    path = stored(tmp_path, content)
    with pytest.raises(JournalError) as caught:
        read_journal(path) if take == "read" else resume_journal(path, post=print, now_s=lambda: 0.0)
    assert str(caught.value) == message.format(path=path)
    assert path.read_bytes() == content


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="x: expected a journal, got no such file"):
        read_journal(tmp_path / "x")
    with pytest.raises(JournalError, match="expected a journal, got a folder"):
        read_journal(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in the file system here")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(JournalError, match="expected a journal, got a device or pipe"):
        read_journal(tmp_path / "pipe")


def test_a_file_too_large_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(journals, "MAX_BYTES", len(CONTENT) - 1)
    with pytest.raises(JournalError, match=f"expected at most {len(CONTENT) - 1} bytes, got more"):
        read_journal(stored(tmp_path, CONTENT))


def test_a_file_that_cannot_be_opened_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = stored(tmp_path, CONTENT)

    def refuse(name: Path, flags: int, mode: int = 0o777) -> int:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(journal_file.os, "open", refuse)
    with pytest.raises(JournalError, match="expected a journal, got Permission denied"):
        read_journal(path)


def test_a_journal_that_a_coach_is_writing_is_refused(tmp_path: Path) -> None:
    with begin_and_wait(tmp_path, NAME.removesuffix(".jsonl")) as writer:
        writer.write(STARTED, ())
        path = tmp_path / NAME
        content = path.read_bytes()
        for take in (read_journal, lambda path: resume_journal(path, post=print, now_s=lambda: 0.0)):
            with pytest.raises(JournalError) as caught:
                take(path)
            assert str(caught.value) == (
                f"{path}: expected a journal that no other coach is writing, got one being written"
            )
        assert path.read_bytes() == content
    assert read_journal(path).journal.is_closed


def test_a_flight_broken_off_is_gone_on_with(tmp_path: Path) -> None:
    broken_off = "".join(line + "\n" for line in LINES[:5]).encode()
    path = stored(tmp_path, broken_off + LINES[1][:9].encode())
    before, writer = resume_journal(path, post=print, now_s=lambda: 0.0)
    with writer:
        writer.write(WOKEN, (LISTEN,))
    assert before.repair == f"{path}: the last line was torn, 9 bytes left out"
    after = read_journal(path).journal
    assert after.steps == (*before.journal.steps, (WOKEN, (LISTEN,)))
    assert after.is_closed


def test_the_list_is_newest_first_and_says_what_each_file_is(tmp_path: Path) -> None:
    older = stored(tmp_path, CONTENT)
    broken_off = stored(tmp_path, CONTENT.replace(encode_line(Closed()).encode(), b""), "20310504T1.jsonl")
    foreign = stored(tmp_path, b"hello\n", "20310504T2.jsonl")
    headless = stored(tmp_path, LINES[1].encode(), "20310504T3.jsonl")
    (tmp_path / "20310504T4.jsonl").mkdir()
    stored(tmp_path, CONTENT, "20310504T5.txt")
    later = Header(
        version=1,
        drill="x",
        drill_settings=(),
        began_utc=HEADER.began_utc + timedelta(days=1),
        coach_version="1",
    )
    with begin_and_wait(tmp_path, "20310505T092910Z-x", later) as writer:
        writer.write(STARTED, ())
        found = list_journals(tmp_path)
    assert [(item.path.name, item.header, item.is_closed, item.is_in_use) for item in found] == [
        ("20310505T092910Z-x.jsonl", later, False, True),
        ("20310504T4.jsonl", None, False, False),
        (headless.name, None, False, False),
        (foreign.name, None, False, False),
        (broken_off.name, HEADER, False, False),
        (older.name, HEADER, True, False),
    ]
    assert [item.problem for item in found] == [
        None,
        f"{tmp_path / '20310504T4.jsonl'}: Is a directory",
        f"{headless}:1: expected the header of a journal",
        f"{foreign}:1: expected a line of a journal, got 'hello'",
        None,
        None,
    ]


def test_no_folder_is_no_journals(tmp_path: Path) -> None:
    assert list_journals(tmp_path / "none") == ()


def test_the_lock_goes_with_the_file(tmp_path: Path) -> None:
    file = create_file(tmp_path, "a")
    file.close()
    open_file(tmp_path / "a.jsonl").close()
    assert not journal_file.is_in_use(tmp_path / "a.jsonl")
