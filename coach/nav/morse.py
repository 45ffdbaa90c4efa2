"""International Morse code of letters and digits, for the ident of a station.

As dots and dashes on paper and screen; never sounds them.
Source: AIM 4-2-7, the table beside the spelling alphabet.
"""

from __future__ import annotations

_LETTERS = (
    ".- -... -.-. -.. . ..-. --. .... .. .--- -.- .-.. -- "
    "-. --- .--. --.- .-. ... - ..- ...- .-- -..- -.-- --.."
)
_DIGITS = "----- .---- ..--- ...-- ....- ..... -.... --... ---.. ----."

_CODES = dict(zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", f"{_LETTERS} {_DIGITS}".split(), strict=True))
_CHARACTERS = {code: character for character, code in _CODES.items()}


def encode_morse(ident: str) -> str:
    """Dots and dashes, a space between characters: `AB` is `.- -...`.

    Raises ValueError for what is neither letter nor digit.
    """
    unknown = [character for character in ident.upper() if character not in _CODES]
    if unknown:
        raise ValueError(f"{unknown[0]!r} is neither letter nor digit")
    return " ".join(_CODES[character] for character in ident.upper())


def decode_morse(code: str) -> str | None:
    """The characters of dots and dashes with a space between; None if any is unknown."""
    characters = [_CHARACTERS.get(part) for part in code.split()]
    return None if None in characters else "".join(character for character in characters if character)
