"""The terminal: draws what is to be seen, on a screen or as lines, and never holds the flight up."""

import io
import re
import threading
from collections.abc import Callable
from queue import Queue

import pytest
from rich.console import Console

from coach.errors import SetupError
from coach.screen.keypad import KeyPad
from coach.screen.keys import KeyReader
from coach.screen.terminal import HOLD, LET_GO, Terminal
from coach.session.actions import Listen, Say, Silence
from coach.session.events import EdgeFailed, Event, PhraseHeard
from tests.screen.test_glance import SHOW, TIMES
from tests.screen.test_keys import LONG_S, ScriptedKeys
from tests.screen.test_layout import TABLE


class Written(io.StringIO):
    """What a terminal was sent; lets a test wait for it."""

    def __init__(self) -> None:
        super().__init__()
        self.changed = threading.Condition()

    def write(self, text: str) -> int:
        with self.changed:
            self.changed.notify_all()
            return super().write(text)

    def wait_for(self, text: str) -> None:
        with self.changed:
            assert self.changed.wait_for(lambda: text in self.getvalue(), LONG_S), self.getvalue()


class Broken(io.StringIO):
    """A terminal that is gone."""

    def write(self, text: str) -> int:
        raise OSError(5, "Input/output error")


class Clock:
    """A session clock that stands where it is put."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


class NoKeys(ScriptedKeys):
    def open(self) -> None:
        raise SetupError("standard input: expected a terminal to read keys from, got none")


def screen_on(file: io.StringIO) -> Console:
    return Console(
        file=file, force_terminal=True, width=80, height=24, legacy_windows=False, _environ={"TERM": "xterm"}
    )


def lines_on(file: io.StringIO) -> Console:
    return Console(file=file, force_terminal=False, width=80, height=24)


def opened(
    console: Console,
    clock: Callable[[], float],
    source: ScriptedKeys | None = None,
    posted: Queue[Event] | None = None,
) -> Terminal:
    terminal = Terminal(TABLE, console=console, keys=KeyReader(KeyPad(TABLE), source or ScriptedKeys()))
    terminal.open(post=(posted or Queue()).put, clock=clock)
    return terminal


def test_each_picture_is_held_until_it_is_whole() -> None:
    written = Written()
    terminal = opened(screen_on(written), Clock())
    terminal.show(SHOW)
    written.wait_for("course 060")
    terminal.close()
    pictures = written.getvalue().split(HOLD)[1:]
    assert len(pictures) > 1
    assert all(picture.count(LET_GO) == 1 for picture in pictures)
    assert "\x1b[2J" not in written.getvalue()


def test_without_colour_what_matters_still_stands_out(monkeypatch: pytest.MonkeyPatch) -> None:
    written = Written()
    console = Console(
        file=written, force_terminal=True, width=80, height=24, _environ={"TERM": "xterm", "NO_COLOR": "1"}
    )
    terminal = opened(console, Clock())
    terminal.tell("No voice, text only")
    terminal.show(SHOW)
    written.wait_for("No voice, text only")
    terminal.close()
    assert "\x1b[1mNo voice" in written.getvalue()
    assert not re.findall(r"\x1b\[[0-9;]*(3[0-7]|9[0-7]|38)[;m]", written.getvalue())


def test_the_screen_is_taken_over_drawn_and_given_back() -> None:
    written = Written()
    terminal = opened(screen_on(written), Clock())
    terminal.do(Listen(phrases=("next leg",)))
    terminal.show(SHOW)
    terminal.prompt("Left, one niner five")
    terminal.heard(PhraseHeard(**TIMES, phrase="next leg", by="key"))
    for text in ("Spoke 1, offset", "course 060", "Left, one niner five", "next leg (key)", "space"):
        written.wait_for(text)
    terminal.close()
    text = written.getvalue()
    # Alternate screen and cursor: xterm's private modes 1049 and 25.
    assert text.index("\x1b[?1049h") < text.index("Spoke 1") < text.index("\x1b[?1049l")
    assert text.rindex("\x1b[?25h") > text.rindex("\x1b[?25l")


def test_what_was_told_is_left_on_the_terminal() -> None:
    written = Written()
    terminal = opened(screen_on(written), Clock())
    terminal.tell("No microphone, keys only")
    terminal.close()
    assert written.getvalue().endswith("No microphone, keys only\n")


def test_without_a_terminal_each_change_is_one_line_in_order() -> None:
    written, clock = Written(), Clock()
    terminal = opened(lines_on(written), clock, NoKeys())
    terminal.show(SHOW)
    terminal.show(SHOW)
    clock.now_s = 75.0
    terminal.prompt("Left, one niner five")
    written.wait_for("coach")
    terminal.heard(PhraseHeard(**TIMES, phrase="next leg", by="voice"))
    written.wait_for("pilot")
    terminal.close()
    assert written.getvalue().splitlines() == [
        "  0:00  note  No keys. standard input: expected a terminal to read keys from, got none",
        "  0:00  leg   Spoke 1, offset, heading 195, course 060",
        "  1:15  coach Left, one niner five",
        "  1:15  pilot next leg (voice)",
    ]


def test_a_prompt_not_yet_due_is_not_printed_and_silence_takes_it_back() -> None:
    written, clock = Written(), Clock()
    terminal = opened(lines_on(written), clock)
    terminal.do(Say(prompt=1, text="Left", due_s=60.0, stale_s=62.0, is_time_call=True))
    terminal.do(Silence())
    clock.now_s = 61.0
    terminal.prompt("Right", due_s=61.0)
    written.wait_for("Right")
    terminal.close()
    assert written.getvalue() == "  1:01  coach Right\n"


def test_keys_are_posted() -> None:
    posted: Queue[Event] = Queue()
    terminal = opened(lines_on(Written()), Clock(), ScriptedKeys(("p",)), posted)
    assert posted.get(timeout=LONG_S) == PhraseHeard(
        at_s=0.0, onset_s=0.0, phrase="station passage", by="key"
    )
    terminal.close()


def test_a_terminal_that_goes_is_told_and_the_flight_goes_on() -> None:
    posted: Queue[Event] = Queue()
    terminal = opened(lines_on(Broken()), Clock(), posted=posted)
    terminal.show(SHOW)
    assert posted.get(timeout=LONG_S) == EdgeFailed(
        at_s=0.0, onset_s=0.0, edge="screen", reason="screen: Input/output error"
    )
    terminal.show(SHOW)
    terminal.close()


def test_a_pipe_that_is_closed_is_told_too() -> None:
    class Closed(io.StringIO):
        def write(self, text: str) -> int:
            raise SystemExit(1)

    posted: Queue[Event] = Queue()
    terminal = opened(lines_on(Closed()), Clock(), posted=posted)
    terminal.show(SHOW)
    assert posted.get(timeout=LONG_S).reason == "screen: the terminal is gone"  # type: ignore[union-attr]
    terminal.close()


def test_a_terminal_that_is_stopped_never_holds_the_flight_up() -> None:
    is_free, is_stuck = threading.Event(), threading.Event()

    class Stopped(io.StringIO):
        def write(self, text: str) -> int:
            is_stuck.set()
            is_free.wait(LONG_S)
            return super().write(text)

    written = Stopped()
    terminal = opened(lines_on(written), Clock())
    terminal.tell("one")
    assert is_stuck.wait(LONG_S)
    # The drawing thread hangs; every call returns all the same.
    for n in range(100):
        terminal.prompt(f"line {n}")
        terminal.show(SHOW)
    is_free.set()
    terminal.close()
    assert "line 99" in written.getvalue()


def test_a_terminal_that_stays_stopped_does_not_keep_the_coach_from_ending(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("coach.screen.terminal.CLOSE_WITHIN_S", 0.01)
    is_free, is_stuck = threading.Event(), threading.Event()

    class Stopped(io.StringIO):
        def write(self, text: str) -> int:
            is_stuck.set()
            is_free.wait(LONG_S)
            return super().write(text)

    terminal = opened(lines_on(Stopped()), Clock())
    terminal.tell("one")
    assert is_stuck.wait(LONG_S)
    terminal.close()
    is_free.set()


def test_closing_what_was_never_opened_is_harmless() -> None:
    Terminal(TABLE, console=lines_on(Written()), keys=KeyReader(KeyPad(TABLE), ScriptedKeys())).close()


def test_by_default_it_is_this_systems_terminal_and_keyboard() -> None:
    Terminal(TABLE).close()
