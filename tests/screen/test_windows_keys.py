"""Keys of a Windows console, with its two questions played by a script."""

import signal

import pytest

from coach.screen.windows_keys import WindowsKeys


def typed(characters: str) -> WindowsKeys:
    waiting = list(characters)
    keys = WindowsKeys(has_key=lambda: bool(waiting), read_character=lambda: waiting.pop(0))
    keys.open()
    return keys


@pytest.mark.parametrize(
    ("characters", "names"),
    [
        ("p?", ("p", "?")),
        (" \r\t\b\x1b", ("space", "enter", "tab", "backspace", "escape")),
        ("\xe0H\xe0Q\x00;", ("up", "pagedown", "f1")),
        ("\xe0~\x01", ()),
        ("", ()),
    ],
)
def test_characters_are_read_as_keys(characters: str, names: tuple[str, ...]) -> None:
    assert typed(characters).read(0.0) == names


def test_ctrl_c_interrupts() -> None:
    # A run in the background has the signal switched off.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with pytest.raises(KeyboardInterrupt):
            typed("\x03").read(0.0)
    finally:
        signal.signal(signal.SIGINT, before)


def test_once_stopped_no_key_comes() -> None:
    keys = typed("p")
    keys.stop()
    assert keys.read(None) is None
    keys.close()
