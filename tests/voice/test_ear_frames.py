"""Frames between the ear's child and its parent come back exactly, and broken ones are told."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from coach.session.answers import Direction, Kind, heading
from coach.session.events import AnswerHeard, NotUnderstood, PhraseHeard, SpeechEnded, SpeechStarted
from coach.session.voice_profile import Shift, VoiceProfile
from coach.voice import ear_frames as frames
from coach.voice.recogniser import EarChoice, Reading

FACTS = (
    SpeechStarted(at_s=1.5, onset_s=1.25),
    SpeechEnded(at_s=2.0, onset_s=1.75),
    PhraseHeard(at_s=2.0, onset_s=1.25, phrase="next leg", by="voice", score=-0.5),
    PhraseHeard(at_s=2.0, onset_s=1.25, phrase="station passage", by="voice"),
    AnswerHeard(
        at_s=2.0,
        onset_s=1.0,
        kind=Kind.HEADING,
        digits="315",
        direction=Direction.LEFT,
        is_right=True,
        score=-1.5,
    ),
    AnswerHeard(at_s=2.0, onset_s=1.0, kind=Kind.NUMBER, digits="4", direction=None, is_right=False),
    NotUnderstood(at_s=2.0, onset_s=1.25, reason="no phrase fits"),
)


def test_facts_come_back_exactly() -> None:
    assert frames.decode_facts(frames.encode_facts(FACTS)) == FACTS


def test_members_of_an_answer_come_back_as_members() -> None:
    (fact,) = frames.decode_facts(frames.encode_facts(FACTS[4:5]))
    assert isinstance(fact, AnswerHeard)
    assert fact.kind is Kind.HEADING
    assert fact.direction is Direction.LEFT


@pytest.mark.parametrize("answer", [None, heading(90), heading(315, Direction.RIGHT)], ids=str)
def test_expected_answer_comes_back_exactly(answer) -> None:
    assert frames.decode_answer(frames.encode_answer(answer)) == answer


def test_block_comes_back_exactly() -> None:
    block = np.array([0, 1, -1, 32767, -32768], np.int16)
    decoded, at_s, echo = frames.decode_block(frames.encode_block(block, 12.345678))
    assert echo is None
    assert decoded.tolist() == block.tolist()
    assert decoded.dtype == np.int16
    assert at_s == 12.345678


def test_echo_comes_back_beside_its_block() -> None:
    block, echo = np.array([1, 2, 3], np.int16), np.array([-4, 5, -6], np.int16)
    decoded, _, decoded_echo = frames.decode_block(frames.encode_block(block, 1.0, echo))
    assert decoded.tolist() == block.tolist()
    assert decoded_echo is not None
    assert decoded_echo.tolist() == echo.tolist()


def test_ways_come_back_exactly() -> None:
    ways = (("next", "next leg"), ("대기", "stand by"))
    assert frames.decode_ways(frames.encode_ways(ways)) == ways


def test_words_come_back_exactly() -> None:
    words = ("zzyzx", "어빔")
    assert frames.decode_words(frames.encode_words(words)) == words


PROFILE = VoiceProfile(
    version=1,
    made_utc=datetime(2026, 1, 1, tzinfo=UTC),
    recogniser="fake",
    least=-1.5,
    language="ko",
    microphone=None,
    shifts=(Shift(way="대기", by=-0.25),),
)


@pytest.mark.parametrize(
    "choice",
    [
        EarChoice(),
        EarChoice(engine="vosk", vosk_folder=Path("models") / "a b"),
        EarChoice(whisper_folder=Path("w"), profile=PROFILE),
    ],
    ids=["none", "all", "profile"],
)
def test_choice_comes_back_exactly(choice: EarChoice) -> None:
    assert frames.decode_choice(frames.encode_choice(choice)) == choice


@pytest.mark.parametrize(
    "reading",
    [
        None,
        Reading(phrase="next leg", way="next", score=-0.5, margin=2.0),
        Reading(phrase=None, way=None, score=0.0, reason="no phrase fits"),
    ],
    ids=["none", "phrase", "no phrase"],
)
def test_reading_comes_back_exactly(reading: Reading | None) -> None:
    assert frames.decode_reading(frames.encode_reading(reading)) == reading


def test_frames_are_read_one_after_the_other() -> None:
    stream = io.BytesIO(frames.encode_frame(frames.HEAR, b"abc") + frames.encode_frame(frames.STOP))
    assert frames.read_frame(stream.read) == (frames.HEAR, b"abc")
    assert frames.read_frame(stream.read) == (frames.STOP, b"")
    assert frames.read_frame(stream.read) is None


@pytest.mark.parametrize("cut", range(1, 8))
def test_stream_that_ends_inside_a_frame_is_broken(cut: int) -> None:
    stream = io.BytesIO(frames.encode_frame(frames.HEAR, b"abc")[:cut])
    with pytest.raises(frames.BrokenFrame):
        frames.read_frame(stream.read)


def test_printed_text_is_no_frame() -> None:
    stream = io.BytesIO(b"WARNING: something in the library")
    with pytest.raises(frames.BrokenFrame):
        frames.read_frame(stream.read)
