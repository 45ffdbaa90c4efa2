"""One word after another out of a microphone's blocks, on a made-up ear."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from coach.errors import SetupError
from coach.session.events import EdgeFailed, NotUnderstood, PhraseHeard, SpeechEnded, SpeechStarted
from coach.session.voice_profile import Take
from coach.voice import takes
from coach.voice.ear import Block
from coach.voice.recogniser import Reading, Ways
from coach.voice.takes import QUEUED_BLOCKS, SETTLE_S, WAIT_S, Interrupted, TakeListener

BLOCK_S = 0.05
HISS = np.tile(np.array([40, -40], np.int16), 400)
LOUD = np.tile(np.array([9000, -9000], np.int16), 400)
CLIPPED = np.tile(np.array([32767, -32768], np.int16), 400)
WAYS: Ways = (("next", "next leg"), ("next leg", "next leg"), ("time", "time"))
SURE = Reading(phrase="next leg", way="Next leg", score=2.5, margin=1.5)


class FakeEar:
    """A loud block is a voice; the quiet block after it ends it, and the reading is what it is told."""

    def __init__(self, reading: Reading | None = SURE, *, is_told: bool = True) -> None:
        self.reading = reading
        self.is_told = is_told
        self.ways: list[Ways] = []
        self.heard: list[float] = []
        self._is_speaking = False
        self._last: Reading | None = None

    def listen_for(self, ways: Ways) -> None:
        self.ways.append(ways)

    def hear(self, block: Block, at_s: float) -> tuple:
        self.heard.append(at_s)
        was_speaking, self._is_speaking = self._is_speaking, bool(np.abs(block.astype(int)).max() > 1000)
        times = {"at_s": at_s, "onset_s": at_s}
        if self._is_speaking and not was_speaking:
            return (SpeechStarted(**times),)
        if was_speaking and not self._is_speaking:
            self._last = self.reading
            return (SpeechEnded(**times), *self._tell(times))
        return ()

    def _tell(self, times: dict[str, float]) -> tuple:
        if not self.is_told:
            return ()
        if self.reading is None or self.reading.phrase is None:
            return (NotUnderstood(**times, reason="longer than any phrase"),)
        return (PhraseHeard(**times, phrase=self.reading.phrase, by="voice", score=self.reading.score),)

    def take_reading(self) -> Reading | None:
        last, self._last = self._last, None
        return last


def fill(listener: TakeListener, *blocks: Block, from_s: float = 0.0) -> None:
    for n, block in enumerate(blocks):
        listener.take(block, from_s + n * BLOCK_S)


def said(loud: Block = LOUD) -> Iterator[Block]:
    yield from (HISS,) * 20
    yield from (loud,) * 8
    yield HISS


def test_take_is_understood_with_its_score() -> None:
    listener = TakeListener(FakeEar())
    fill(listener, *said())
    heard = listener.listen("next leg", WAYS, from_s=0.0)
    assert heard.take == Take(understood="next leg", score=2.5, margin=1.5)
    assert not heard.is_clipped


def test_recording_holds_the_word_and_little_else() -> None:
    listener = TakeListener(FakeEar())
    fill(listener, *said())
    sound = listener.listen("next leg", WAYS, from_s=0.0).sound
    assert 0.4 + 0.5 <= len(sound) / 16_000 <= 0.4 + 0.65
    assert np.count_nonzero(np.abs(sound) == 9000) == 8 * 800


def test_grammar_is_the_one_asked_for() -> None:
    ear = FakeEar()
    listener = TakeListener(ear)
    fill(listener, *said())
    listener.listen("next leg", WAYS, from_s=0.0)
    assert ear.ways == [WAYS]


def test_another_way_of_saying_has_no_score_of_this_one() -> None:
    listener = TakeListener(FakeEar())
    fill(listener, *said())
    assert listener.listen("next", WAYS, from_s=0.0).take == Take(understood="next leg")


def test_refused_take_keeps_its_score_and_reason() -> None:
    refused = Reading(phrase=None, way="next leg", score=-3.0, reason="no phrase fits", margin=0.2)
    listener = TakeListener(FakeEar(refused))
    fill(listener, *said())
    take = listener.listen("next leg", WAYS, from_s=0.0).take
    assert take == Take(understood=None, reason="longer than any phrase", score=-3.0, margin=0.2)


def test_faint_voice_that_the_ear_does_not_tell_of_is_a_take_too() -> None:
    listener = TakeListener(FakeEar(None, is_told=False))
    fill(listener, *said())
    assert listener.listen("next leg", WAYS, from_s=0.0).take == Take(
        understood=None, reason="hardly a voice"
    )


def test_silence_ends_the_wait_after_so_much_sound() -> None:
    ear = FakeEar()
    listener = TakeListener(ear)
    fill(listener, *(HISS,) * 500)
    heard = listener.listen("next leg", WAYS, from_s=0.0)
    assert heard.take == Take(understood=None, reason="no voice found")
    assert heard.sound.size == 0
    assert len(ear.heard) == pytest.approx(WAIT_S / BLOCK_S, abs=1)


def test_what_the_coach_said_before_is_not_heard() -> None:
    ear = FakeEar()
    listener = TakeListener(ear)
    fill(listener, *(LOUD,) * 20, *said())
    listener.listen("next leg", WAYS, from_s=1.0)
    assert min(ear.heard) == pytest.approx(1.0)


def test_too_loud_a_take_is_told() -> None:
    listener = TakeListener(FakeEar())
    fill(listener, *said(CLIPPED))
    assert listener.listen("next leg", WAYS, from_s=0.0).is_clipped


def test_cabin_is_measured_while_nobody_speaks() -> None:
    listener = TakeListener(FakeEar())
    fill(listener, *(HISS,) * int(SETTLE_S / BLOCK_S + 1))
    listener.settle()
    assert listener.cabin_rms == pytest.approx(40 / 32768)


def test_silent_microphone_is_told() -> None:
    listener = TakeListener(FakeEar())
    fill(listener, *(np.zeros_like(HISS),) * 50)
    with pytest.raises(SetupError, match="microphone: silent; unmute it"):
        listener.settle()


def test_microphone_that_gives_nothing_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(takes, "NO_BLOCK_S", 0.0)
    with pytest.raises(SetupError, match="microphone: no sound comes from it"):
        TakeListener(FakeEar()).settle()


def test_microphone_that_is_lost_is_told() -> None:
    listener = TakeListener(FakeEar())
    listener.fail(EdgeFailed(at_s=0.0, onset_s=0.0, edge="microphone", reason="microphone: no such device"))
    with pytest.raises(SetupError) as raised:
        listener.listen("next leg", WAYS, from_s=0.0)
    assert str(raised.value) == "microphone: no such device"


def test_ear_that_is_lost_is_told() -> None:
    class Broken(FakeEar):
        def hear(self, block: Block, at_s: float) -> tuple:
            return (EdgeFailed(at_s=at_s, onset_s=at_s, edge="ear", reason="crashed"),)

    listener = TakeListener(Broken())
    fill(listener, HISS)
    with pytest.raises(SetupError, match="ear: crashed"):
        listener.listen("next leg", WAYS, from_s=0.0)


def test_key_ends_the_wait() -> None:
    listener = TakeListener(FakeEar(), find_key=lambda: "s")
    fill(listener, *said())
    with pytest.raises(Interrupted) as raised:
        listener.listen("next leg", WAYS, from_s=0.0)
    assert raised.value.key == "s"


def test_oldest_sound_goes_where_nobody_listens() -> None:
    ear = FakeEar()
    listener = TakeListener(ear)
    fill(listener, *(HISS,) * (QUEUED_BLOCKS + 10))
    fill(listener, *said(), from_s=100.0)
    listener.listen("next leg", WAYS, from_s=100.0)
    assert ear.heard[0] == 100.0
