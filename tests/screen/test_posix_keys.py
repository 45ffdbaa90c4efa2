"""Keys of a POSIX terminal, on a pseudo-terminal: one by one, and the terminal as it was at the end."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from coach.errors import SetupError

pty = pytest.importorskip("pty")
termios = pytest.importorskip("termios")
PosixKeys = pytest.importorskip("coach.screen.posix_keys").PosixKeys

LONG_S = 60.0


@pytest.fixture
def terminal() -> Iterator[tuple[int, int]]:
    """A pseudo-terminal: the side a user types into, the side a program reads."""
    ours, programs = pty.openpty()
    yield ours, programs
    os.close(ours)
    os.close(programs)


def test_keys_come_one_by_one_without_an_enter(terminal: tuple[int, int]) -> None:
    ours, programs = terminal
    keys = PosixKeys(programs)
    keys.open()
    os.write(ours, b"p")
    assert keys.read(LONG_S) == ("p",)
    os.write(ours, b"\x1b[A\x13\x1a\x1c\r")
    assert keys.read(LONG_S) == ("up", "enter")
    keys.stop()
    assert keys.read(LONG_S) is None
    keys.close()


def test_an_escape_alone_is_a_key_after_a_moment(terminal: tuple[int, int]) -> None:
    ours, programs = terminal
    keys = PosixKeys(programs)
    keys.open()
    os.write(ours, b"\x1b")
    assert keys.read(None) == ()
    assert keys.read(None) == ("escape",)
    keys.close()


def test_no_key_is_nothing_at_the_end_of_the_timeout(terminal: tuple[int, int]) -> None:
    keys = PosixKeys(terminal[1])
    keys.open()
    assert keys.read(0.0) == ()
    keys.close()


def test_the_terminal_has_its_settings_back_and_nothing_typed_is_left_over(terminal: tuple[int, int]) -> None:
    ours, programs = terminal
    before = termios.tcgetattr(programs)
    keys = PosixKeys(programs)
    keys.open()
    assert termios.tcgetattr(programs) != before
    os.write(ours, b"ls\n")
    keys.close()
    keys.close()
    assert termios.tcgetattr(programs) == before
    os.set_blocking(programs, False)
    with pytest.raises(BlockingIOError):
        os.read(programs, 100)


def test_ctrl_c_still_interrupts(terminal: tuple[int, int]) -> None:
    keys = PosixKeys(terminal[1])
    keys.open()
    assert termios.tcgetattr(terminal[1])[3] & termios.ISIG
    assert termios.tcgetattr(terminal[1])[6][termios.VINTR] == b"\x03"
    keys.close()


def test_a_terminal_hung_up_is_an_error() -> None:
    ours, programs = pty.openpty()
    keys = PosixKeys(programs)
    keys.open()
    os.close(ours)
    with pytest.raises(OSError, match=r"terminal is gone|Input/output error"):
        keys.read(LONG_S)
    keys.close()
    os.close(programs)


def test_what_is_no_terminal_is_refused_with_one_line(tmp_path: Path) -> None:
    with (tmp_path / "file").open("w") as file, pytest.raises(SetupError) as caught:
        PosixKeys(file.fileno()).open()
    assert str(caught.value) == "standard input: expected a terminal to read keys from, got none"


PROGRAM = """
import os, sys
from coach.screen.keypad import KeyPad
from coach.screen.keys import KeyReader
from coach.session.phrases import PhraseTable
reader = KeyReader(KeyPad(PhraseTable(language="en", phrases=())))
try:
    reader.open(post=print, clock=lambda: 0.0)
    os.write(1, b"open\\n")
    {then}
finally:
    {close}
"""


@pytest.mark.parametrize(
    ("then", "close", "status"),
    [
        ("os.read(reader._source._woken, 1)", "reader.close()", 128 + signal.SIGTERM),
        ("raise ValueError", "reader.close()", 1),
        # Nobody closes: the interpreter's own end does.
        ("raise ValueError", "pass", 1),
        ("sys.exit(3)", "pass", 3),
    ],
    ids=["terminated", "an error", "an error and no close", "an exit and no close"],
)
def test_a_program_that_ends_gives_the_terminal_back(
    terminal: tuple[int, int], then: str, close: str, status: int
) -> None:
    _, programs = terminal
    before = termios.tcgetattr(programs)
    program = PROGRAM.format(then=then, close=close)
    with subprocess.Popen(
        [sys.executable, "-c", program], stdin=programs, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == b"open\n"
        if status > 128:
            assert termios.tcgetattr(programs) != before
            child.send_signal(signal.SIGTERM)
        assert child.wait(LONG_S) == status
    assert termios.tcgetattr(programs) == before
