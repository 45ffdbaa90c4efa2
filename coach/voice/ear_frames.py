"""What the ear's child process and its parent say to each other: frames of bytes over two pipes.

A frame is one kind byte, four bytes of length and a body. Pure: bytes to values and back, no pipes.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from coach.session.answers import Answer, Direction, Kind
from coach.session.events import AnswerHeard, NotUnderstood, PhraseHeard, SpeechEnded, SpeechStarted
from coach.session.fields import decode_fields, encode_fields
from coach.session.voice_profile import VoiceProfile
from coach.voice.ear import Block, Fact
from coach.voice.recogniser import EarChoice, Reading, Ways

LISTEN, EXPECT, HEAR, CHECK, STOP = b"L", b"E", b"H", b"C", b"S"
"""Parent to child: a grammar, an answer, a block of sound, ways of saying to look up, the end."""

READY, FACTS, UNKNOWN, REFUSED = b"R", b"F", b"U", b"X"
"""Child to parent: loaded (its name), the facts of one block, words it cannot hear, why it cannot start."""

HEADER = struct.Struct(">cI")
TELL, READING = b"T", b"G"
"""Parent to child: what was read last? And its answer."""

BLOCK = struct.Struct(">dI")
"""Session time of the first sample, samples of the block; what follows the block is the echo."""

LONGEST_BODY = 1 << 24
"""No frame is longer; a longer length is a broken pipe."""

_FACTS: dict[str, type[Fact]] = {
    kind.__name__: kind for kind in (SpeechStarted, SpeechEnded, PhraseHeard, AnswerHeard, NotUnderstood)
}


class BrokenFrame(Exception):  # noqa: N818
    """The other side no longer speaks in frames."""


def encode_frame(kind: bytes, body: bytes = b"") -> bytes:
    """One frame."""
    return HEADER.pack(kind, len(body)) + body


def read_frame(read: Callable[[int], bytes]) -> tuple[bytes, bytes] | None:
    """The next (kind, body) of a blocking stream; None at its end. `BrokenFrame` for anything else."""
    header = read(HEADER.size)
    if not header:
        return None
    if len(header) < HEADER.size:
        raise BrokenFrame("the stream ends inside a frame")
    kind, length = HEADER.unpack(header)
    if length > LONGEST_BODY:
        raise BrokenFrame(f"a frame of {length} bytes")
    body = read(length) if length else b""
    if len(body) < length:
        raise BrokenFrame("the stream ends inside a frame")
    return kind, body


def encode_block(block: Block, at_s: float, echo: Block | None = None) -> bytes:
    """The body of a `HEAR` frame."""
    sound = block if echo is None else np.concatenate([block, echo])
    return BLOCK.pack(at_s, len(block)) + sound.astype("<i2").tobytes()


def decode_block(body: bytes) -> tuple[Block, float, Block | None]:
    """The block, the session time of its first sample, and what the speaker played in the same time."""
    at_s, length = BLOCK.unpack_from(body)
    sound = np.frombuffer(body, "<i2", offset=BLOCK.size).astype(np.int16)
    return sound[:length], at_s, sound[length:] if len(sound) > length else None


def encode_ways(ways: Ways) -> bytes:
    """The body of a `LISTEN` or `CHECK` frame."""
    return json.dumps(ways).encode()


def decode_ways(body: bytes) -> Ways:
    """The (way of saying, canonical phrase) pairs."""
    return tuple((way, phrase) for way, phrase in json.loads(body))


def encode_answer(expected: Answer | None) -> bytes:
    """The body of an `EXPECT` frame; None: no answer is listened for."""
    return json.dumps(None if expected is None else asdict(expected)).encode()


def decode_answer(body: bytes) -> Answer | None:
    """The answer of an `EXPECT` frame."""
    fields = json.loads(body)
    return None if fields is None else Answer(**_name_choices(fields))


def _name_choices(fields: dict[str, Any]) -> dict[str, Any]:
    """The fields of an answer with its kind and side as members."""
    side = fields["direction"]
    return {**fields, "kind": Kind(fields["kind"]), "direction": None if side is None else Direction(side)}


def encode_words(words: tuple[str, ...]) -> bytes:
    """The body of an `UNKNOWN` frame."""
    return json.dumps(words).encode()


def decode_words(body: bytes) -> tuple[str, ...]:
    """The words of an `UNKNOWN` frame."""
    return tuple(json.loads(body))


def encode_facts(facts: tuple[Fact, ...]) -> bytes:
    """The body of a `FACTS` frame."""
    return json.dumps([[type(fact).__name__, asdict(fact)] for fact in facts]).encode()


def decode_facts(body: bytes) -> tuple[Fact, ...]:
    """The facts of one block."""
    return tuple(
        _FACTS[name](**(_name_choices(fields) if name == AnswerHeard.__name__ else fields))
        for name, fields in json.loads(body)
    )


def encode_reading(reading: Reading | None) -> bytes:
    """The body of a `READING` frame; None: nothing was read."""
    return json.dumps(None if reading is None else asdict(reading)).encode()


def decode_reading(body: bytes) -> Reading | None:
    """The reading of a `READING` frame."""
    fields = json.loads(body)
    return None if fields is None else Reading(**fields)


def encode_choice(choice: EarChoice) -> str:
    """A choice as one argument of a command line."""
    fields = asdict(choice)
    profile = None if choice.profile is None else encode_fields(choice.profile)
    texts = {key: str(value) for key, value in fields.items() if value is not None and key != "profile"}
    return json.dumps({**texts, "profile": profile} if profile else texts)


def decode_choice(text: str) -> EarChoice:
    """The choice of such an argument."""
    fields: dict[str, Any] = json.loads(text)
    folders = {key: Path(value) for key, value in fields.items() if key.endswith("_folder")}
    profile = fields.pop("profile", None)
    return EarChoice(
        **{**fields, **folders},
        profile=None if profile is None else decode_fields(VoiceProfile, profile, "profile"),
    )
