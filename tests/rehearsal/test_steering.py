"""The hand keeps a turn on its way round, holds a heading, and leaves the needle alone when told."""

from __future__ import annotations

import pytest

from coach.drill.model import Turn
from coach.rehearsal.needle import Needle
from coach.rehearsal.steering import Steering
from coach.rehearsal.tracker import Tracker


def steering(needle_deg=0.0):
    needle = Needle(10.0)
    needle.watch(0.0, needle_deg)
    return Steering(needle, Tracker(90.0))


def test_turn_of_180_goes_round_the_way_it_was_told():
    hand = steering()
    hand.hold(15.0, Turn.LEFT)
    assert hand.steer(195.0) == pytest.approx(-180)
    assert hand.steer(190.0) == pytest.approx(-175)
    assert hand.is_on_way_round
    assert hand.steer(100.0) == pytest.approx(-85)
    assert not hand.is_on_way_round


def test_turn_a_little_past_its_heading_comes_back_and_does_not_go_round():
    hand = steering()
    hand.hold(15.0, Turn.LEFT)
    assert hand.steer(13.0) == pytest.approx(2)


def test_turn_of_more_than_180_goes_the_long_way():
    hand = steering()
    hand.hold(90.0, Turn.RIGHT)
    assert hand.steer(195.0) == pytest.approx(255)


def test_wings_are_level_only_when_the_way_round_is_over():
    hand = steering()
    hand.hold(15.0, Turn.RIGHT)
    assert not hand.is_level(hand.steer(195.0))
    assert not hand.is_level(hand.steer(10.0))
    assert hand.is_level(hand.steer(14.5))


def test_course_is_tracked_by_the_needle_until_steadied():
    hand = steering(needle_deg=3.0)
    hand.track(60.0)
    assert hand.is_tracking
    assert hand.steer(60.0) > 5
    hand.is_steadied = True
    assert abs(hand.steer(60.0)) < 0.1
    hand.hold(90.0)
    assert not hand.is_tracking
    assert hand.steer(60.0) == pytest.approx(30)


def fly_round(way, turn_deg, heading=30.0):
    """How far a turn really goes, in steps of a third of a degree at most."""
    hand, turned, step_deg = steering(), 0.0, 0.3
    hand.hold((heading + (turn_deg if way is Turn.RIGHT else -turn_deg)) % 360 or 360.0, way, turn_deg)
    for _ in range(5000):
        wanted = hand.steer((heading + turned) % 360 or 360.0)
        if abs(wanted) < 1e-6:
            return turned
        turned += max(-step_deg, min(step_deg, wanted))
    return None


@pytest.mark.parametrize("turn_deg", [45.0, 180.0, 260.0, 300.0, 360.0, 450.0])
def test_turn_goes_as_far_as_it_should_and_whole_circles_too(turn_deg):
    assert fly_round(Turn.RIGHT, turn_deg) == pytest.approx(turn_deg)
    assert fly_round(Turn.LEFT, turn_deg) == pytest.approx(-turn_deg)
