"""Bytes of a terminal as keys: no piece of an escape sequence is ever a letter."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.screen.keystrokes import Keystrokes


@pytest.mark.parametrize(
    ("received", "keys"),
    [
        (b"p", ("p",)),
        (b"P?+", ("P", "?", "+")),
        (b" \r\n\t\x7f\x08", ("space", "enter", "enter", "tab", "backspace", "backspace")),
        ("é漢🛩".encode(), ("é", "漢", "🛩")),
        (b"\x01\x04\x1a", ()),
        (b"\xff\x80p", ("p",)),
        # ECMA-48 cursor keys in normal and application mode; xterm and DEC function keys.
        (b"\x1b[A\x1b[B\x1b[C\x1b[D", ("up", "down", "right", "left")),
        (b"\x1bOA\x1bOP\x1bOS", ("up", "f1", "f4")),
        (b"\x1b[5~\x1b[6~\x1b[15~\x1b[24~", ("pageup", "pagedown", "f5", "f12")),
        (b"\x1b[1;2P\x1b[6;5~", ("f1", "pagedown")),
        (b"\x1b[[A\x1b[[E", ("f1", "f5")),
        (b"\x1b[Z\x1b[99~\x1bOM", ()),
        (b"\x1b[200~", ()),
        # Alt and a key: the key is not lost.
        (b"\x1bm", ("escape", "m")),
        (b"\x1b\x1b[A", ("escape", "up")),
    ],
)
def test_bytes_are_read_as_keys(received: bytes, keys: tuple[str, ...]) -> None:
    assert Keystrokes().feed(received) == keys


SENT = "p é\x1b[A\x1b[[B漢\x1b[15~\x1bOPx".encode()
PRESSED = ("p", "space", "é", "up", "f2", "漢", "f5", "f1", "x")


@pytest.mark.parametrize("cut", range(len(SENT) + 1))
def test_a_stream_cut_anywhere_gives_the_same_keys(cut: int) -> None:
    keystrokes = Keystrokes()
    assert keystrokes.feed(SENT[:cut]) + keystrokes.feed(SENT[cut:]) == PRESSED


def test_a_stream_byte_by_byte_gives_the_same_keys() -> None:
    keystrokes = Keystrokes()
    keys = [key for byte in SENT for key in keystrokes.feed(bytes([byte]))]
    assert tuple(keys) == PRESSED


def test_an_escape_alone_is_the_key_once_nothing_follows() -> None:
    keystrokes = Keystrokes()
    assert keystrokes.feed(b"\x1b") == ()
    assert keystrokes.is_waiting
    assert keystrokes.flush() == ("escape",)
    assert not keystrokes.is_waiting
    assert keystrokes.flush() == ()


def test_half_a_sequence_is_an_escape_once_nothing_follows_and_never_its_letters() -> None:
    keystrokes = Keystrokes()
    assert keystrokes.feed(b"\x1b[1") == ()
    assert keystrokes.flush() == ("escape",)
    assert keystrokes.feed(b"p") == ("p",)


def test_a_sequence_without_end_is_given_up() -> None:
    keystrokes = Keystrokes()
    assert keystrokes.feed(b"\x1b[" + b"1" * 100) == ()
    assert keystrokes.feed(b"p") == ("p",)


@given(st.lists(st.binary(max_size=40), max_size=20))
def test_no_bytes_make_a_key_without_a_name_or_are_hoarded(chunks: list[bytes]) -> None:
    keystrokes = Keystrokes()
    for chunk in chunks:
        assert all(
            key.isprintable() and key.strip() == key != "" for key in keystrokes.feed(chunk) if key.isascii()
        )
    assert len(keystrokes._rest) <= 72
