"""The ear beside the loop: nothing waits for it."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable

import numpy as np

from coach.errors import SetupError
from coach.session.events import EdgeFailed, SpeechStarted
from coach.voice.ear_worker import QUEUED_BLOCKS, EarWorker
from coach.voice.recogniser import Ways

BLOCK = np.zeros(800, np.int16)
DEADLINE_S = 30.0


class FakeEar:
    """Stands in for the child process; can be held up."""

    name = "fake ear"

    def __init__(self, answer: Callable[[float], tuple] = lambda at_s: (speech(at_s),)) -> None:
        self.answer = answer
        self.may_go_on = threading.Event()
        self.may_go_on.set()
        self.has_block = threading.Event()
        self.ways: list[Ways] = []
        self.is_closed = False

    def start(self) -> None: ...

    def listen_for(self, ways: Ways) -> None:
        self.ways.append(ways)

    def hear(self, block: np.ndarray, at_s: float, echo: np.ndarray | None = None) -> tuple:
        self.has_block.set()
        assert self.may_go_on.wait(DEADLINE_S)
        return self.answer(at_s)

    def close(self) -> None:
        self.is_closed = True


def speech(at_s: float) -> SpeechStarted:
    return SpeechStarted(at_s=at_s, onset_s=at_s)


def start(ear: FakeEar) -> tuple[EarWorker, queue.Queue, queue.Queue]:
    posted: queue.Queue = queue.Queue()
    ready: queue.Queue = queue.Queue()
    worker = EarWorker(ear, post=posted.put, ready=ready.put)
    worker.start()
    return worker, posted, ready


def test_facts_are_posted_in_order() -> None:
    worker, posted, _ = start(FakeEar())
    for n in range(5):
        worker.send(BLOCK, float(n))
    assert [posted.get(timeout=DEADLINE_S) for _ in range(5)] == [speech(float(n)) for n in range(5)]
    worker.close()


def test_loaded_ear_is_told_by_name() -> None:
    worker, _, ready = start(FakeEar())
    assert ready.get(timeout=DEADLINE_S) == "fake ear"
    worker.close()


def test_grammar_takes_its_turn_before_the_next_block() -> None:
    ear = FakeEar()
    worker, posted, _ = start(ear)
    worker.listen_for((("next", "next leg"),))
    worker.send(BLOCK, 1.0)
    posted.get(timeout=DEADLINE_S)
    assert ear.ways == [(("next", "next leg"),)]
    worker.close()


def test_blocks_beyond_the_limit_are_dropped_and_counted() -> None:
    ear = FakeEar()
    ear.may_go_on.clear()
    worker, _, _ = start(ear)
    worker.send(BLOCK, 0.0)
    assert ear.has_block.wait(DEADLINE_S)
    for n in range(QUEUED_BLOCKS + 7):
        worker.send(BLOCK, float(n))
    assert worker.dropped_blocks == 7
    ear.may_go_on.set()
    worker.close()


def test_what_waited_while_the_ear_hung_is_dropped_but_the_grammar_is_not() -> None:
    failed = EdgeFailed(at_s=0.0, onset_s=0.0, edge="ear", reason="hangs")
    ear = FakeEar(lambda at_s: (failed,) if at_s == 0.0 else (speech(at_s),))
    ear.may_go_on.clear()
    worker, posted, _ = start(ear)
    worker.send(BLOCK, 0.0)
    assert ear.has_block.wait(DEADLINE_S)
    worker.send(BLOCK, 1.0)
    worker.listen_for((("next", "next leg"),))
    worker.send(BLOCK, 2.0)
    ear.may_go_on.set()
    assert posted.get(timeout=DEADLINE_S) == failed
    assert worker.dropped_blocks == 2
    worker.send(BLOCK, 3.0)
    assert posted.get(timeout=DEADLINE_S) == speech(3.0)
    assert ear.ways == [(("next", "next leg"),)]
    worker.close()


def test_ear_that_cannot_be_loaded_is_a_fact() -> None:
    class NoEar(FakeEar):
        def start(self) -> None:
            raise SetupError("ear: no model")

    worker, posted, _ = start(NoEar())
    assert posted.get(timeout=DEADLINE_S).reason == "ear: no model"
    worker.close()


def test_closed_worker_has_closed_its_ear() -> None:
    ear = FakeEar()
    worker, _, _ = start(ear)
    worker.close()
    assert ear.is_closed
