"""A worker that a bug ends is begun again and told, one that ends in order is not."""

import threading

import pytest

from coach.session.events import EdgeFailed, EdgeRecovered
from coach.voice import lasting
from coach.voice.lasting import LastingThread


@pytest.fixture(autouse=True)
def no_waiting(monkeypatch):
    monkeypatch.setattr(lasting, "FIRST_WAIT_S", 0.0)


def run(work, closing=None):
    posted = []
    thread = LastingThread(
        work,
        name="ear",
        edge="ear",
        post=posted.append,
        closing=closing or threading.Event(),
        now_s=lambda: 7.0,
    )
    thread.start()
    thread.join(30.0)
    assert not thread.is_alive()
    return posted


def failing(times):
    left = [1] * times

    def work():
        if left:
            left.pop()
            raise ZeroDivisionError("division by zero")

    return work


def test_work_that_ends_in_order_is_told_nothing_of():
    assert run(failing(0)) == []


def test_each_failure_is_told_and_each_beginning_again():
    reason = "ear ended by ZeroDivisionError('division by zero'), begins again"
    failed = EdgeFailed(at_s=7.0, onset_s=7.0, edge="ear", reason=reason)
    back = EdgeRecovered(at_s=7.0, onset_s=7.0, edge="ear")
    assert run(failing(2)) == [failed, back, failed, back]


def test_what_is_closing_does_not_begin_again():
    closing = threading.Event()
    closing.set()
    assert [type(event) for event in run(failing(9), closing)] == [EdgeFailed]
