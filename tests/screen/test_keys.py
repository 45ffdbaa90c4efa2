"""The key reader: posts what keys mean, and gives the terminal back however it ends."""

import os
import signal
import threading
from collections.abc import Iterator
from queue import Queue

import pytest

from coach.screen.keypad import KeyPad
from coach.screen.keys import KeyReader, find_source
from coach.session.events import EdgeFailed, Event, PhraseHeard, TransmitEnded, TransmitStarted
from tests.screen.test_layout import TABLE

LONG_S = 60.0


class ScriptedKeys:
    """A keyboard that plays a script of what `read` gives; then it waits to be stopped."""

    def __init__(self, *script: tuple[str, ...] | OSError) -> None:
        self.script = list(script)
        self.timeouts: list[float | None] = []
        self.is_open = False
        self.stopped = threading.Event()

    def open(self) -> None:
        self.is_open = True

    def read(self, timeout_s: float | None) -> tuple[str, ...] | None:
        self.timeouts.append(timeout_s)
        if self.script:
            step = self.script.pop(0)
            if isinstance(step, OSError):
                raise step
            return step
        self.stopped.wait(LONG_S)
        return None

    def stop(self) -> None:
        self.stopped.set()

    def close(self) -> None:
        self.is_open = False


def read_all(source: ScriptedKeys, times: Iterator[float], posts_n: int) -> list[Event]:
    posted: Queue[Event] = Queue()
    reader = KeyReader(KeyPad(TABLE), source)
    reader.open(post=posted.put, clock=lambda: next(times))
    events = [posted.get(timeout=LONG_S) for _ in range(posts_n)]
    reader.close()
    assert posted.empty()
    assert not source.is_open
    return events


def test_each_key_is_posted_with_the_time_it_came() -> None:
    source = ScriptedKeys(("p",), ("z",), (), ("s", "space"))
    events = read_all(source, iter((1.0, 2.0, 3.0, 4.0)), 3)
    assert events == [
        PhraseHeard(at_s=1.0, onset_s=1.0, phrase="station passage", by="key"),
        PhraseHeard(at_s=4.0, onset_s=4.0, phrase="say again", by="key"),
        PhraseHeard(at_s=4.0, onset_s=4.0, phrase="next leg", by="key"),
    ]


def test_a_held_transmit_key_is_let_go_without_another_key() -> None:
    source = ScriptedKeys(("x",), ("x",), ("x",), ())
    # Each read: the time of its keys, then (held) the time its timeout is counted from.
    events = read_all(source, iter((1.0, 1.5, 1.5, 1.55, 1.55, 1.85)), 2)
    assert events == [TransmitStarted(at_s=1.0, onset_s=1.0), TransmitEnded(at_s=1.85, onset_s=1.55)]
    assert source.timeouts == [None, None, pytest.approx(0.3), pytest.approx(0.3), None]


def test_a_keyboard_that_goes_is_told() -> None:
    source = ScriptedKeys(("p",), OSError(5, "Input/output error"))
    assert read_all(source, iter((1.0, 2.0)), 2)[1] == EdgeFailed(
        at_s=2.0, onset_s=2.0, edge="screen", reason="keys: Input/output error"
    )


def test_closing_what_was_never_opened_is_harmless() -> None:
    KeyReader(KeyPad(TABLE), ScriptedKeys()).close()


def test_signals_that_end_a_program_unwind_it_while_open_and_no_longer() -> None:
    before = signal.getsignal(signal.SIGTERM)
    reader = KeyReader(KeyPad(TABLE), ScriptedKeys())
    reader.open(post=print, clock=lambda: 0.0)
    with pytest.raises(SystemExit) as caught:
        signal.raise_signal(signal.SIGTERM)
    reader.close()
    assert caught.value.code == 128 + signal.SIGTERM
    assert signal.getsignal(signal.SIGTERM) == before


def test_another_thread_may_open_it_and_leaves_the_signals_alone() -> None:
    before = signal.getsignal(signal.SIGTERM)
    reader = KeyReader(KeyPad(TABLE), ScriptedKeys())
    thread = threading.Thread(target=lambda: reader.open(post=print, clock=lambda: 0.0))
    thread.start()
    thread.join(LONG_S)
    assert signal.getsignal(signal.SIGTERM) == before
    reader.close()


def test_this_system_has_a_keyboard() -> None:
    assert type(find_source()).__name__ == ("WindowsKeys" if os.name == "nt" else "PosixKeys")
