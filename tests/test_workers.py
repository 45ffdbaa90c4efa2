"""A worker that a bug ends is told; nothing stays changed afterwards."""

import threading

from coach.workers import telling_of_dead_workers


def die():
    raise ZeroDivisionError("division by zero")


def test_worker_that_dies_is_told_by_name():
    told = []
    before = threading.excepthook
    with telling_of_dead_workers(told.append):
        thread = threading.Thread(target=die, name="feed")
        thread.start()
        thread.join()
    assert told == ["feed is gone: ZeroDivisionError('division by zero')"]
    assert threading.excepthook is before
