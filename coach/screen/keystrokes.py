"""The bytes a terminal sends, as names of keys. Never takes a piece of an escape sequence for a letter.

A printed character is its own name; the others are `space`, `enter`, `up`, `pagedown`, `f5` and so on,
as the phrase table names them. What has no name is left out.
"""

from __future__ import annotations

import re

ESCAPE_WITHIN_S = 0.05
"""A terminal sends a sequence in one go; an escape that stands alone so long is the key."""

_CONTROLS = {
    0x0D: "enter",
    0x0A: "enter",
    0x09: "tab",
    0x7F: "backspace",
    0x08: "backspace",
    0x20: "space",
    0x1B: "escape",
}

# What xterm, the Linux console and their kin send (ECMA-48 sequences, the DEC and xterm function keys).
_FINALS = {
    "A": "up", "B": "down", "C": "right", "D": "left", "H": "home", "F": "end",
    "P": "f1", "Q": "f2", "R": "f3", "S": "f4",
}  # fmt: skip
_NUMBERED = {
    "1": "home", "2": "insert", "3": "delete", "4": "end", "5": "pageup", "6": "pagedown", "7": "home",
    "8": "end", "11": "f1", "12": "f2", "13": "f3", "14": "f4", "15": "f5", "17": "f6", "18": "f7",
    "19": "f8", "20": "f9", "21": "f10", "23": "f11", "24": "f12",
}  # fmt: skip
_CONSOLE = {"A": "f1", "B": "f2", "C": "f3", "D": "f4", "E": "f5"}

_SEQUENCE = re.compile(rb"\x1b(?:\[\[([A-E])|\[([0-?]*)[ -/]*([@-Z\\-~])|O([ -~]))")
_UNFINISHED = re.compile(rb"\x1b(?:\[\[?|\[[0-?]*[ -/]*|O)?")
_LONGEST_SEQUENCE = 32

_CHARACTER = re.compile(
    rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}|.", re.DOTALL
)
"""One character of UTF-8, or one byte that is none."""

_HALF_CHARACTER = re.compile(rb"[\xc2-\xdf]|[\xe0-\xef][\x80-\xbf]?|[\xf0-\xf4][\x80-\xbf]{0,2}")


class Keystrokes:
    """Turns bytes into names of keys, however the bytes are cut; bounded whatever is sent."""

    def __init__(self) -> None:
        self._rest = b""

    @property
    def is_waiting(self) -> bool:
        """True while an escape may be a key or the beginning of a sequence."""
        return self._rest.startswith(b"\x1b")

    def feed(self, received: bytes) -> tuple[str, ...]:
        """The keys that these bytes complete."""
        if len(self._rest) > _LONGEST_SEQUENCE:
            self._rest = b""
        self._rest += received
        names: list[str | None] = []
        while self._rest and not self._is_unfinished():
            names.append(self._take())
        return tuple(name for name in names if name)

    def flush(self) -> tuple[str, ...]:
        """No more comes: an escape that waits was the key."""
        if not self.is_waiting:
            return ()
        self._rest = b""
        return ("escape",)

    def _is_unfinished(self) -> bool:
        return any(pattern.fullmatch(self._rest) for pattern in (_UNFINISHED, _HALF_CHARACTER))

    def _take(self) -> str | None:
        """The first key of what there is; None where it has no name."""
        sequence = _SEQUENCE.match(self._rest)
        if sequence:
            self._rest = self._rest[sequence.end() :]
            return _name_of(*(group.decode() if group is not None else None for group in sequence.groups()))
        character = _CHARACTER.match(self._rest)
        assert character is not None
        self._rest = self._rest[character.end() :]
        return _character_name(character[0])


def _character_name(character: bytes) -> str | None:
    if len(character) == 1 and character[0] in _CONTROLS:
        return _CONTROLS[character[0]]
    text = character.decode("utf-8", "ignore")
    return text if text.isprintable() and text else None


def _name_of(
    console: str | None, parameters: str | None, final: str | None, keypad: str | None
) -> str | None:
    if console is not None:
        return _CONSOLE[console]
    if final == "~":
        return _NUMBERED.get((parameters or "").partition(";")[0])
    return _FINALS.get(final or keypad or "")
