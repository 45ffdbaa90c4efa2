"""The flow before flight: one key for all done, and no waiting for ever."""

from __future__ import annotations

import pytest

from coach.errors import SetupError
from coach.screen.preflight import Answer, ask_all_done
from tests.screen.test_keys import ScriptedKeys

ITEMS = ("Altimeter set", "Safety pilot")


class Timed(ScriptedKeys):
    """A keyboard on a clock: each read that brings nothing takes all the time it is given."""

    def __init__(self, *script: tuple[str, ...] | OSError, each_s: float = 1.0) -> None:
        super().__init__(*script)
        self.now_s = 0.0
        self._each_s = each_s

    def read(self, timeout_s: float | None) -> tuple[str, ...] | None:
        if not self.script:
            self.now_s += timeout_s or 0.0
            return ()
        self.now_s += self._each_s
        return super().read(timeout_s)


class NoTerminal(ScriptedKeys):
    def open(self) -> None:
        raise SetupError("standard input: expected a terminal to read keys from, got none")


class Closed(ScriptedKeys):
    def read(self, timeout_s: float | None) -> tuple[str, ...] | None:
        return None


@pytest.fixture
def told() -> list[str]:
    return []


def ask(keys: ScriptedKeys, told: list[str]) -> Answer:
    clock = (lambda: keys.now_s) if isinstance(keys, Timed) else (lambda: 0.0)
    return ask_all_done(ITEMS, longest_s=30.0, tell=told.append, keys=keys, now_s=clock)


def test_one_key_is_all_done(told: list[str]) -> None:
    keys = Timed(("enter",))
    assert ask(keys, told) is Answer.DONE
    assert told == [
        "Before flight, on the ground. Enter: all done (30 s at most).",
        "  - Altimeter set",
        "  - Safety pilot",
        "All done.",
    ]
    assert not keys.is_open


def test_no_other_key_is_a_yes(told: list[str]) -> None:
    keys = Timed(("space",), ("y",), ("a", "b"), ("x", "enter"))
    assert ask(keys, told) is Answer.DONE
    assert keys.now_s == 4.0


def test_after_thirty_seconds_the_flight_begins_unconfirmed(told: list[str]) -> None:
    keys = Timed(("y",))
    assert ask(keys, told) is Answer.LATE
    assert keys.now_s == 30.0
    assert told[-1] == "Not confirmed."
    assert not keys.is_open


def test_keys_that_never_stop_do_not_hold_it_up(told: list[str]) -> None:
    assert ask(Timed(*[("y",)] * 100), told) is Answer.LATE


def test_without_a_keyboard_it_is_left_out_in_one_line(told: list[str]) -> None:
    assert ask(NoTerminal(), told) is Answer.NO_KEYS
    assert told == ["Before flight: no keyboard to confirm it with, left out."]


@pytest.mark.parametrize("keys", [Timed(OSError(5, "Input/output error")), Closed()])
def test_a_keyboard_that_goes_is_no_yes(keys: ScriptedKeys, told: list[str]) -> None:
    assert ask(keys, told) is Answer.LATE
    assert not keys.is_open


def test_an_interrupt_gives_the_terminal_back(told: list[str]) -> None:
    class Interrupted(ScriptedKeys):
        def read(self, timeout_s: float | None) -> tuple[str, ...] | None:
            raise KeyboardInterrupt

    keys = Interrupted()
    with pytest.raises(KeyboardInterrupt):
        ask(keys, told)
    assert not keys.is_open
