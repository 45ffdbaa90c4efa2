"""GDL 90 framing: flags, escapes and the interface's own frame check sequence.

Source: GDL 90 Data Interface Specification 560-1058-00 Rev A, 2.2 (G1-G4). Never reads what a message says.
"""

from __future__ import annotations

FLAG = 0x7E
ESCAPE = 0x7D
ESCAPED_BY = 0x20

LONGEST_FRAME = 1024
"""Bytes between two flags; the longest message, an uplink of 436 bytes, all escaped, needs 876."""

BAD_CRC = "frame check"
BAD_ESCAPE = "broken escape"
TOO_SHORT = "shorter than a message"
TOO_LONG = "longer than a message"

_FLAG = bytes((FLAG,))
_POLYNOMIAL = 0x1021


def _table_entry(high: int) -> int:
    crc = high << 8
    for _ in range(8):
        crc = (crc << 1) ^ (_POLYNOMIAL if crc & 0x8000 else 0)
    return crc & 0xFFFF


CRC_TABLE = tuple(map(_table_entry, range(256)))
"""ICD 2.2.3: 0000 1021 2042 … 1EF0."""


def crc_of(message: bytes) -> int:
    """Return the frame check sequence, in the interface's own order: not that of XMODEM (ICD 2.2.3)."""
    crc = 0
    for byte in message:
        crc = CRC_TABLE[crc >> 8] ^ (crc << 8 & 0xFFFF) ^ byte
    return crc


def encode_frame(message: bytes) -> bytes:
    """Return a message with its check, least significant byte first, escaped, between flags."""
    framed = bytearray(_FLAG)
    for byte in message + crc_of(message).to_bytes(2, "little"):
        framed += bytes((ESCAPE, byte ^ ESCAPED_BY)) if byte in (FLAG, ESCAPE) else bytes((byte,))
    return bytes(framed + _FLAG)


def decode_frame(framed: bytes) -> bytes | str:
    """Return the message in what stood between two flags, or why there is none."""
    message = _unescape(framed)
    if message is None:
        return BAD_ESCAPE
    if len(message) < 3:
        return TOO_SHORT
    if crc_of(message[:-2]) != int.from_bytes(message[-2:], "little"):
        return BAD_CRC
    return message[:-2]


def _unescape(framed: bytes) -> bytes | None:
    """Return the bytes without their escapes; None where an escape stands for nothing that needs one."""
    if ESCAPE not in framed:
        return framed
    first, *rest = framed.split(bytes((ESCAPE,)))
    plain = bytearray(first)
    for part in rest:
        if not part or part[0] ^ ESCAPED_BY not in (FLAG, ESCAPE):
            return None
        plain.append(part[0] ^ ESCAPED_BY)
        plain += part[1:]
    return bytes(plain)


class FrameCutter:
    """Takes bytes in any division and gives the same frames: what stood between flags."""

    def __init__(self) -> None:
        self._rest = b""
        self._is_skipping = False

    def cut(self, data: bytes) -> list[tuple[bytes, str | None]]:
        """Return the frames these bytes completed, each with None or the reason why it is none."""
        *pieces, last = (self._rest + data).split(_FLAG)
        if pieces and self._is_skipping:
            pieces[0] = b""
            self._is_skipping = False
        found = [_judge(piece) for piece in pieces if piece]
        if self._is_skipping:
            last = b""
        elif len(last) > LONGEST_FRAME:
            found.append((last, TOO_LONG))
            last, self._is_skipping = b"", True
        self._rest = last
        return found


def _judge(piece: bytes) -> tuple[bytes, str | None]:
    return piece, TOO_LONG if len(piece) > LONGEST_FRAME else None
