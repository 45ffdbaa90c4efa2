"""What must be on the dials before the pilot takes a checkpoint for true."""

from __future__ import annotations

import pytest

from coach.nav.vor import Flag
from coach.rehearsal.needle import Needle
from coach.rehearsal.watch import Instruments, Watch

TO, FROM, NEITHER = Flag.TO, Flag.FROM, Flag.NEITHER


def watching(*needle, heading=0.0):
    """A watch and its needle after these readings, a second apart."""
    dial = Needle(10.0)
    for at_s, deg in enumerate(needle):
        dial.watch(float(at_s), deg)
    return Watch(dial, heading)


def seen(*, at_s=0.0, heading=0.0, flag=TO):
    return Instruments(at_s, heading, 0.0, flag)


@pytest.mark.parametrize(
    ("flags", "passages"),
    [
        ([TO, TO, NEITHER, NEITHER, FROM, FROM], 1),
        ([TO, FROM, FROM], 1),
        ([FROM, FROM], 0),
        ([TO, NEITHER, TO, NEITHER], 0),
        ([NEITHER, FROM], 0),
    ],
    ids=["through the cone", "at once", "set from the start", "flicker", "never to"],
)
def test_passage_is_the_first_complete_reversal(flags, passages):
    watch = watching(0.0)
    assert sum(watch.sees_passage(seen(flag=flag)) for flag in flags) == passages


def test_half_way_round_counts_from_the_heading_at_the_beginning():
    watch = watching(0.0, heading=350.0)
    assert not watch.is_half_way_round(seen(heading=79.0))
    assert watch.is_half_way_round(seen(heading=80.5))
    assert watch.is_half_way_round(seen(heading=259.0))


def test_needle_is_alive_off_the_stop_and_only_after_it_was_there():
    assert not watching(10.0, 10.0).sees_needle_alive()
    assert watching(10.0, 9.0).sees_needle_alive()
    assert not watching(9.5, 9.0).sees_needle_alive()


@pytest.mark.parametrize(
    ("needle", "is_time"),
    [
        ((6.0, 5.5), False),  # 11 s to the centre
        ((4.0, 3.5), True),  # 7 s
        ((3.5, 4.0), False),
        ((10.0, 10.0), False),
    ],
    ids=["too early", "now", "going out", "at the stop"],
)
def test_turn_of_45_degrees_is_led_by_8_seconds(needle, is_time):
    # R15: lead = tan(22.5 degrees) / standard rate = 7.9 s.
    assert watching(*needle).sees_lead_point(45.0) is is_time


def test_needle_through_the_centre_is_time_to_turn_whatever_is_left():
    dial = Needle(10.0)
    watch = Watch(dial, 0.0)
    dial.watch(0.0, 2.0)
    assert not watch.sees_lead_point(160.0)
    dial.watch(1.0, -1.0)
    assert watch.sees_lead_point(160.0)


def test_established_must_last_two_seconds():
    watch = watching(4.0, 4.0, 4.0)
    answers = [watch.sees_established(seen(at_s=tenth / 10, heading=65.0), 60.0) for tenth in range(25)]
    assert answers == [False] * 20 + [True] * 5


@pytest.mark.parametrize(
    ("needle", "heading"),
    [((6.0, 5.5), 60.0), ((3.0, 4.0), 60.0), ((0.0, 0.0), 71.0)],
    ids=["beyond half scale", "going out", "heading off"],
)
def test_what_is_not_established(needle, heading):
    watch = watching(*needle)
    assert not any(
        watch.sees_established(seen(at_s=float(at_s), heading=heading), 60.0) for at_s in range(10)
    )


def test_needle_that_runs_off_is_the_cone():
    assert watching(1.0, 2.0).sees_cone()
    assert not watching(2.0, 1.0).sees_cone()
    assert not watching(1.0, 1.2).sees_cone()
