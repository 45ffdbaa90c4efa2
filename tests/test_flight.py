"""The ear as an edge: the held key, push to talk, the attention word."""

from __future__ import annotations

import numpy as np
import pytest

from coach.errors import SetupError
from coach.flight import tell_unknown_words
from coach.session.actions import Expect, Listen
from coach.session.answers import Answer, Direction, Kind, heading
from coach.session.events import TransmitEnded, TransmitStarted
from coach.sound_edges import EarEdge
from coach.store.phrases import read_phrases
from coach.voice.echo import LEAD_S
from coach.voice.played import Played

BLOCK = np.full(800, 1000, np.int16)


class Worker:
    """Keeps what it is sent."""

    def __init__(self) -> None:
        self.blocks: list[tuple[bool, float]] = []
        self.ways: tuple[tuple[str, str], ...] = ()
        self.expected: list[Answer | None] = []

    def send(self, block: np.ndarray, at_s: float, echo: np.ndarray | None = None) -> None:
        self.blocks.append((bool(block.any()), at_s))
        self.echo = echo

    def listen_for(self, ways: tuple[tuple[str, str], ...]) -> None:
        self.ways = ways

    def expect(self, expected: Answer | None) -> None:
        self.expected.append(expected)


def edge(**options: object) -> tuple[EarEdge, Worker]:
    worker = Worker()
    return EarEdge(worker, read_phrases(), **options), worker  # type: ignore[arg-type]


def started(at_s: float) -> TransmitStarted:
    return TransmitStarted(at_s=at_s, onset_s=at_s)


def ended(at_s: float) -> TransmitEnded:
    return TransmitEnded(at_s=at_s, onset_s=at_s)


def test_transmitting_closes_the_ear_after_a_second_of_silence():
    ear, worker = edge()
    ear.take(BLOCK, 0.0)
    ear.follow(started(1.0))
    for at_s in (1.0, 1.95, 2.05):
        ear.take(BLOCK, at_s)
    ear.follow(ended(3.0))
    ear.take(BLOCK, 3.0)
    assert worker.blocks == [(True, 0.0), (False, 1.0), (False, 1.95), (True, 3.0)]


def test_push_to_talk_opens_it_only_while_the_key_is_held():
    ear, worker = edge(push_to_talk=True)
    ear.take(BLOCK, 0.0)
    ear.follow(started(1.0))
    ear.take(BLOCK, 1.0)
    ear.follow(ended(2.0))
    ear.take(BLOCK, 2.0)
    ear.take(BLOCK, 3.5)
    assert worker.blocks == [(True, 1.0), (False, 2.0)]


def test_ear_is_told_which_answer_is_expected_and_when_none_is():
    ear, worker = edge()
    ear.do(Expect(kind=Kind.HEADING, digits="195", direction=Direction.LEFT))
    ear.do(Expect(kind=None))
    assert worker.expected == [heading(195, Direction.LEFT), None]


def test_ear_is_told_every_way_of_saying_what_is_listened_for():
    ear, worker = edge()
    ear.do(Listen(phrases=("station passage",)))
    assert worker.ways == (("station passage", "station passage"), ("passage", "station passage"))


class Ear:
    """Knows all words but some."""

    def __init__(self, *unknown: str, is_gone: bool = False) -> None:
        self.unknown = unknown
        self.is_gone = is_gone

    def find_unknown_words(self, ways: tuple[tuple[str, str], ...]) -> tuple[str, ...]:
        if self.is_gone:
            raise SetupError("ear: crashed")
        words = {word for way, _ in ways for word in way.split()}
        return tuple(word for word in self.unknown if word in words)


@pytest.mark.parametrize(
    ("ear", "expected"),
    [
        (Ear("abeam", "zzyzx"), ["The ear does not know abeam; by key only: abeam (b)"]),
        (Ear("zzyzx"), []),
        (Ear("abeam", is_gone=True), []),
    ],
    ids=["one word", "none", "gone"],
)
def test_words_that_cannot_be_heard_are_told_in_one_line(ear: Ear, expected: list[str]):
    told: list[str] = []
    tell_unknown_words(ear, read_phrases(), told.append)  # type: ignore[arg-type]
    assert told == expected


def test_what_the_speaker_sounded_goes_with_the_block():
    played = Played()
    tone = (8000 * np.sin(2 * np.pi * 440 * np.arange(48_000) / 48_000)).astype(np.int16)
    played.add(tone, 48_000)
    ear, worker = edge(played=played)
    ear.take(BLOCK, 0.5)
    assert worker.echo is not None
    expected = 8000 * np.sin(2 * np.pi * 440 * (0.5 + LEAD_S + np.arange(800) / 16_000))
    assert np.abs(worker.echo - expected).max() < 80


def test_without_a_speaker_there_is_nothing_to_cancel():
    ear, worker = edge()
    ear.take(BLOCK, 0.5)
    assert worker.echo is None


@pytest.mark.parametrize("word", ["coach", "drill"])
def test_attention_word_stands_before_every_way(word: str):
    table = read_phrases().with_attention(word)
    assert table.ways(("station passage",)) == (
        (f"{word} station passage", "station passage"),
        (f"{word} passage", "station passage"),
    )
    mute = table.find_phrase("mute")
    assert mute is not None
    assert mute.ways == ()
