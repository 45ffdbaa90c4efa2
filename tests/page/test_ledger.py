"""Numbered changes: whoever was away gets what came since, or everything, and nothing twice."""

from __future__ import annotations

import json

import pytest

from coach.page.ledger import KEPT_LINES, LOG, Ledger


def filled(count: int, kept: int = 8) -> Ledger:
    ledger = Ledger(kept)
    for i in range(count):
        ledger.put("leg", i, float(i))
    return ledger


def values_of(changes: tuple[bytes, ...] | None) -> list[int] | None:
    return None if changes is None else [json.loads(change)["v"] for change in changes]


def test_what_came_since_a_number_is_given_in_order():
    assert values_of(filled(5).since(2)) == [2, 3, 4]


@pytest.mark.parametrize("n", range(6))
def test_wherever_a_watcher_stopped_it_misses_nothing(n: int):
    first, rest = filled(n), values_of(filled(6).since(n))
    assert [*range(n), *(rest or [])] == list(range(6))
    assert first.n == n


def test_who_is_up_to_date_gets_nothing():
    assert filled(5).since(5) == ()


@pytest.mark.parametrize(
    "n", [0, 11, 21, -1], ids=["long ago", "just too old", "from the future", "negative"]
)
def test_who_asks_for_what_is_not_kept_needs_everything(n: int):
    assert filled(20).since(n) is None


def test_the_oldest_kept_change_is_still_given():
    assert values_of(filled(20).since(12)) == list(range(12, 20))


def test_a_value_that_is_the_same_is_no_change():
    ledger = Ledger()
    assert ledger.put("leg", {"n": 1}, 0.0)
    assert not ledger.put("leg", {"n": 1}, 1.0)
    assert ledger.n == 1


def test_two_lines_of_the_log_that_are_the_same_are_two():
    ledger = Ledger()
    ledger.put(LOG, "say again", 0.0)
    assert ledger.put(LOG, "say again", 1.0)


def test_everything_holds_the_present_values_and_the_last_lines():
    ledger = filled(3)
    for i in range(KEPT_LINES + 5):
        ledger.put(LOG, i, 9.0)
    everything = json.loads(ledger.everything(9.5))
    assert everything["v"]["values"] == {"leg": 2}
    assert everything["v"]["log"] == list(range(5, KEPT_LINES + 5))
    assert (everything["n"], everything["t"]) == (ledger.n, 9.5)


def test_the_other_side_of_the_pipe_has_the_same_numbers_and_values():
    here, there = filled(5), Ledger(8)
    there.take(here.everything(5.0))
    here.put("leg", 7, 6.0)
    here.put(LOG, "a line", 7.5)
    for change in here.since(5) or ():
        at_s = there.take(change)
    assert at_s == 7.5
    assert there.everything(8.0) == here.everything(8.0)
    assert there.since(5) == here.since(5)


def test_who_was_before_everything_came_anew_gets_everything():
    there = Ledger(8)
    there.take(filled(5).everything(5.0))
    assert there.since(3) is None


def test_a_number_that_json_does_not_have_is_refused():
    ledger = Ledger()
    with pytest.raises(ValueError, match="JSON"):
        ledger.put("needle", float("nan"), 0.0)
    assert (ledger.n, ledger.since(0)) == (0, ())
