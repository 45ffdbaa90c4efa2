"""The ear's child: its facts come back, and one that hangs, crashes or talks nonsense is replaced."""

from __future__ import annotations

import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from coach.errors import SetupError
from coach.session.answers import heading
from coach.session.events import EdgeFailed, EdgeRecovered, SpeechStarted
from coach.voice.ear_process import FIRST_WAIT_S, EarProcess
from coach.voice.recogniser import EarChoice, Reading

BLOCK = np.zeros(800, np.int16)

CHILD = """
import sys, time
from coach.session.events import SpeechStarted
from coach.voice.ear_frames import *
from coach.voice.recogniser import Reading
def answer(kind, body):
    sys.stdout.buffer.write(encode_frame(kind, body)); sys.stdout.buffer.flush()
answer(READY, b"fake ear")
heard = 0
while (frame := read_frame(sys.stdin.buffer.read)) and frame[0] != STOP:
    if frame[0] == LISTEN:
        ways = decode_ways(frame[1])
        continue
    if frame[0] == EXPECT:
        ways = decode_answer(frame[1]).digits
        continue
    if frame[0] == TELL:
        answer(READING, encode_reading(Reading(phrase=None, way="go", score=float(heard))))
        continue
    if frame[0] == CHECK:
        answer(UNKNOWN, encode_words(tuple(way for way, _ in decode_ways(frame[1]))))
        continue
    heard += 1
    block, at_s, echo = decode_block(frame[1])
    {trouble}
    answer(FACTS, encode_facts((SpeechStarted(at_s=at_s, onset_s=at_s - len(ways)),)))
"""


def make_ear(trouble: str = "pass", *, deadline_s: float = 30.0) -> EarProcess:
    command = (sys.executable, "-c", CHILD.replace("{trouble}", trouble))
    return EarProcess(EarChoice(), command=command, hear_deadline_s=deadline_s)


def started(at_s: float, ways: int = 0) -> tuple[SpeechStarted, ...]:
    return (SpeechStarted(at_s=at_s, onset_s=at_s - ways),)


def test_facts_of_a_block_come_back() -> None:
    ear = make_ear()
    ear.start()
    assert ear.name == "fake ear"
    assert ear.hear(BLOCK, 5.0) == started(5.0)
    ear.close()


def test_what_was_read_last_is_told_when_asked() -> None:
    ear = make_ear()
    ear.start()
    ear.hear(BLOCK, 5.0)
    assert ear.take_reading() == Reading(phrase=None, way="go", score=1.0)
    ear.close()


def test_grammar_reaches_the_child_before_the_next_block() -> None:
    ear = make_ear()
    ear.start()
    ear.listen_for((("next", "next leg"), ("passage", "station passage")))
    assert ear.hear(BLOCK, 5.0) == started(5.0, ways=2)
    ear.close()


def test_expected_answer_reaches_the_child_and_the_one_after_it() -> None:
    ear = make_ear("if heard == 2: sys.exit(1)")
    ear.start()
    ear.expect(heading(90))
    assert ear.hear(BLOCK, 5.0) == started(5.0, ways=3)
    assert isinstance(ear.hear(BLOCK, 6.0)[0], EdgeFailed)
    assert ear.hear(BLOCK, 7.0) == (EdgeRecovered(at_s=7.0, onset_s=7.0, edge="ear"),)
    assert ear.hear(BLOCK, 8.0) == started(8.0, ways=3)
    ear.close()


def test_unknown_words_are_asked_of_the_child() -> None:
    ear = make_ear()
    ear.start()
    ear.listen_for((("next", "next leg"),))
    assert ear.find_unknown_words((("zzyzx", "nowhere"), ("qwert", "nowhere"))) == ("zzyzx", "qwert")
    assert ear.hear(BLOCK, 5.0) == started(5.0, ways=1)
    ear.close()


def test_child_that_cannot_look_words_up_is_one_clear_line() -> None:
    ear = make_ear("pass")
    ear.start()
    ear.hear(BLOCK, 5.0)
    ear._child.kill()  # type: ignore[union-attr]
    with pytest.raises(SetupError, match=r"^ear: crashed"):
        ear.find_unknown_words((("next", "next leg"),))
    ear.close()


@pytest.mark.parametrize(
    ("trouble", "reason"),
    [
        (
            "if heard > 1: sys.stderr.write('loading\\nno such model\\n'); sys.exit(1)",
            "crashed: no such model",
        ),
        (
            "if heard > 1: sys.stderr.write('ERROR: no graph\\nWARNING: no grammar\\n'); sys.exit(1)",
            "crashed: ERROR: no graph",
        ),
        ("if heard > 1: sys.stdout.buffer.write(b'WARNING: x'); sys.exit(0)", "crashed"),
        ("if heard > 1: answer(READY, b'again')", "talks nonsense"),
    ],
    ids=["crash", "crash after a warning", "print", "wrong answer"],
)
def test_broken_child_is_told_once_and_replaced(trouble: str, reason: str) -> None:
    ear = make_ear(trouble)
    ear.start()
    ear.listen_for((("next", "next leg"),))
    assert ear.hear(BLOCK, 5.0) == started(5.0, ways=1)
    assert ear.hear(BLOCK, 5.05) == (EdgeFailed(at_s=5.05, onset_s=5.05, edge="ear", reason=reason),)
    later_s = 5.05 + FIRST_WAIT_S
    assert ear.hear(BLOCK, later_s) == (EdgeRecovered(at_s=later_s, onset_s=later_s, edge="ear"),)
    assert ear.hear(BLOCK, 6.0) == started(6.0, ways=1)
    ear.close()


def test_child_that_hangs_is_killed_at_its_deadline() -> None:
    ear = make_ear("time.sleep(3600)", deadline_s=0.2)
    ear.start()
    assert ear.hear(BLOCK, 5.05) == (
        EdgeFailed(at_s=5.05, onset_s=5.05, edge="ear", reason="hangs for 0.2 s"),
    )
    ear.close()


def test_child_that_stops_reading_cannot_hold_up_its_parent() -> None:
    ear = make_ear("time.sleep(3600)", deadline_s=0.1)
    ear.start()
    (failure,) = ear.hear(np.zeros(1_000_000, np.int16), 5.0)
    assert isinstance(failure, EdgeFailed)
    ear.close()


def test_child_that_keeps_failing_is_started_less_and_less_often() -> None:
    ear = make_ear("sys.exit(1)")
    ear.start()
    times_s = [n * 0.05 for n in range(100)]
    events = [event for at_s in times_s for event in ear.hear(BLOCK, at_s)]
    recovered_s = [event.at_s for event in events if isinstance(event, EdgeRecovered)]
    gaps_s = np.diff(recovered_s)
    assert len(gaps_s) >= 3
    assert all(later > earlier for earlier, later in pairwise(gaps_s))
    ear.close()


def test_ear_that_cannot_be_loaded_is_one_clear_line(tmp_path: Path) -> None:
    ear = EarProcess(EarChoice(engine="vosk", vosk_folder=tmp_path / "nothing"))
    with pytest.raises(SetupError, match="expected the folder of a Vosk model, got nothing there"):
        ear.start()
    ear.close()


def test_command_that_is_no_ear_is_one_clear_line() -> None:
    ear = EarProcess(EarChoice(), command=(sys.executable, "-c", "print('hello')"))
    with pytest.raises(SetupError, match="ear: crashed"):
        ear.start()
    ear.close()
