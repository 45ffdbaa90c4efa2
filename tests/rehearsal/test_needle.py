"""The pilot reads position, movement and the stop off the dial, and nothing else."""

from __future__ import annotations

import pytest

from coach.rehearsal.needle import Needle


def watched(*readings, full_scale_deg=10.0):
    needle = Needle(full_scale_deg)
    for at_s, deg in readings:
        needle.watch(at_s, deg)
    return needle


def test_rate_is_taken_over_two_seconds():
    steady = [(t / 10, 8.0 - 0.5 * t / 10) for t in range(41)]
    needle = watched(*steady)
    assert needle.rate_deg_s == pytest.approx(-0.5)
    assert needle.deg == pytest.approx(6.0)


def test_rate_before_two_seconds_is_over_what_was_seen():
    assert watched((0.0, 4.0), (1.0, 3.0)).rate_deg_s == pytest.approx(-1.0)
    assert watched((0.0, 4.0)).rate_deg_s == 0.0


@pytest.mark.parametrize(
    ("from_deg", "to_deg", "centre_in_s"),
    [(4.0, 3.0, 3.0), (-4.0, -3.0, 3.0), (3.0, 4.0, None), (3.0, 3.0, None), (10.0, 10.0, None)],
    ids=["from the right", "from the left", "going out", "still", "at the stop"],
)
def test_centre_is_foreseen_only_when_it_comes_in(from_deg, to_deg, centre_in_s):
    assert watched((0.0, from_deg), (1.0, to_deg)).find_centre_in_s() == (
        None if centre_in_s is None else pytest.approx(centre_in_s)
    )


def test_stop_is_remembered_until_looked_at_anew():
    needle = watched((0.0, 12.0), (1.0, 9.0), full_scale_deg=12.0)
    assert needle.has_been_at_stop
    assert not needle.is_at_stop
    needle.restart()
    needle.watch(2.0, 9.0)
    assert not needle.has_been_at_stop


def test_another_full_scale_has_another_stop():
    assert not watched((0.0, 10.0), full_scale_deg=12.0).is_at_stop
