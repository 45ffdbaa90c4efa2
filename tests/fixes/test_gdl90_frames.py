"""GDL 90 framing against the interface specification's own values (560-1058-00 Rev A, 2.2; G1-G5)."""

from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.gdl90_frames import (
    BAD_CRC,
    BAD_ESCAPE,
    CRC_TABLE,
    LONGEST_FRAME,
    TOO_LONG,
    TOO_SHORT,
    FrameCutter,
    crc_of,
    decode_frame,
    encode_frame,
)

WORKED_HEARTBEAT = bytes.fromhex("7E 00 81 41 DB D0 08 02 B3 8B 7E")


def test_table_begins_and_ends_as_specified():
    assert CRC_TABLE[:8] == (0x0000, 0x1021, 0x2042, 0x3063, 0x4084, 0x50A5, 0x60C6, 0x70E7)
    assert (len(CRC_TABLE), CRC_TABLE[255]) == (256, 0x1EF0)


def xmodem(message: bytes) -> int:
    """The usual order with the same table, which must not be used (G4)."""
    crc = 0
    for byte in message:
        crc = CRC_TABLE[crc >> 8 ^ byte] ^ (crc << 8 & 0xFFFF)
    return crc


def test_check_is_made_in_the_interface_s_own_order():
    """G4, G5."""
    assert (crc_of(b"123456789"), xmodem(b"123456789")) == (0xBEEF, 0x31C3)
    assert (crc_of(WORKED_HEARTBEAT[1:8]), xmodem(WORKED_HEARTBEAT[1:8])) == (0x8BB3, 0x50DA)


def test_worked_heartbeat_comes_out_byte_for_byte():
    """G5."""
    assert encode_frame(WORKED_HEARTBEAT[1:8]) == WORKED_HEARTBEAT
    assert decode_frame(WORKED_HEARTBEAT[1:-1]) == WORKED_HEARTBEAT[1:8]


def test_flag_and_escape_bytes_are_escaped():
    """G1."""
    assert encode_frame(bytes.fromhex("02 7E"))[:4] == bytes.fromhex("7E 02 7D 5E")
    assert encode_frame(bytes.fromhex("02 7D"))[:4] == bytes.fromhex("7E 02 7D 5D")


def test_broken_frames_are_refused_with_their_reason():
    assert decode_frame(WORKED_HEARTBEAT[1:-2] + b"\x00") == BAD_CRC
    assert decode_frame(b"\x00\x81\x7d") == BAD_ESCAPE
    assert decode_frame(b"\x00\x7d\x41\x00") == BAD_ESCAPE
    assert decode_frame(b"\x00\x00") == TOO_SHORT


@given(st.binary(min_size=1, max_size=600))
def test_every_message_comes_back_from_its_frame(message: bytes):
    frame = encode_frame(message)
    assert (frame[0], frame[-1], 0x7E in frame[1:-1]) == (0x7E, 0x7E, False)
    assert decode_frame(frame[1:-1]) == message


def cut(*parts: bytes) -> list:
    cutter = FrameCutter()
    return [(frame if problem is None else problem) for part in parts for frame, problem in cutter.cut(part)]


def test_shared_and_doubled_flags_and_rubbish_cost_nothing_but_themselves():
    stream = b"rubbish" + WORKED_HEARTBEAT + WORKED_HEARTBEAT[1:] + b"lost" + WORKED_HEARTBEAT
    inner = WORKED_HEARTBEAT[1:-1]
    assert cut(stream) == [b"rubbish", inner, inner, b"lost", inner]


def test_endless_frame_is_refused_once_and_not_kept():
    assert cut(*[b"x" * 100] * 1000, b"\x7e", WORKED_HEARTBEAT) == [TOO_LONG, WORKED_HEARTBEAT[1:-1]]


@given(
    st.lists(st.sampled_from([b"\x7e", b"\x7d", b"x" * 700, b"\x00\x01"]), max_size=12), st.integers(1, 900)
)
def test_any_division_gives_the_same_frames(parts: list[bytes], step: int):
    stream = b"".join(parts)
    pieces = [stream[n : n + step] for n in range(0, len(stream), step)]
    assert cut(*pieces) == cut(stream)


def test_longest_frame_has_room_for_an_escaped_uplink():
    """432 bytes of payload, 4 of header (ICD 3.3), each byte escaped, and its check."""
    assert len(encode_frame(bytes((7,)) + b"\x7e" * 435)) - 2 <= LONGEST_FRAME
