"""Cuts a stream of bytes into NMEA 0183 sentences, however the stream was divided.

A sentence runs from `$` or `!` to the two digits after `*`; its line end is not waited for. Never keeps more
than one sentence's bytes, and never reads what a sentence says.
"""

from __future__ import annotations

LONGEST = 80
"""Characters besides `$` and the line end (Betke, "The NMEA 0183 Protocol", an unofficial compilation)."""

NO_SENTENCE = "no sentence"
CUT_OFF = "cut off before its checksum"

_STARTS = b"$!"
_BLANK = b" \t\0"

Piece = tuple[bytes, str | None]
"""A whole sentence and None; or what is none and the reason."""


def too_long(longest: int) -> str:
    """Return the reason given for a sentence longer than allowed."""
    return f"longer than {longest} characters"


class SentenceCutter:
    """Takes bytes in any division and gives the same pieces."""

    def __init__(self, longest: int = LONGEST) -> None:
        """`longest`: characters besides `$` and line end; some receivers send more than the standard's 80."""
        self._longest = longest
        self._too_long = too_long(longest)
        self._rest = b""
        self._is_skipping = False

    def cut(self, data: bytes) -> list[Piece]:
        """Return what has become whole with these bytes."""
        text = (self._rest + data).replace(b"\r", b"\n").replace(b"$", b"\n$").replace(b"!", b"\n!")
        pieces = text.split(b"\n")
        if self._is_skipping and len(pieces) == 1:
            return []
        if self._is_skipping:
            pieces[0] = b""
        last = pieces.pop()
        self._rest, self._is_skipping = b"", False
        found: list[Piece] = []
        for piece in pieces:
            if piece:
                self._take(piece, found, is_ended=True)
        if last:
            self._take(last, found, is_ended=False)
        return found

    def _take(self, piece: bytes, found: list[Piece], *, is_ended: bool) -> None:
        if piece[0] not in _STARTS:
            self._skip(piece, NO_SENTENCE, found, is_ended=is_ended)
            return
        star = piece.find(b"*", 0, self._longest - 1)
        if star < 0 and len(piece) >= self._longest - 1:
            self._skip(piece, self._too_long, found, is_ended=is_ended)
        elif 0 <= star <= len(piece) - 3:
            found.append((piece[: star + 3], None))
            self._skip(piece[star + 3 :], NO_SENTENCE, found, is_ended=is_ended)
        elif is_ended:
            found.append((piece, CUT_OFF))
        else:
            self._rest = piece

    def _skip(self, piece: bytes, reason: str, found: list[Piece], *, is_ended: bool) -> None:
        """Refuse a piece; what is still to come of it is dropped without another word."""
        if piece.strip(_BLANK):
            found.append((piece, reason))
            self._is_skipping = not is_ended
