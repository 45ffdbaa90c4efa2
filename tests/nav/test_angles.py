import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.nav import angles

DIRECTIONS = st.floats(min_value=-720.0, max_value=1080.0)


@pytest.mark.parametrize(
    ("angle_deg", "heading"),
    [
        (0, 360),
        (360, 360),
        (359.6, 360),
        (359.4, 359),
        (0.5, 1),
        (0.4, 360),
        (-45, 315),
        (765, 45),
        (44.5, 45),
    ],
)
def test_a_heading_is_whole_and_never_zero(angle_deg: float, heading: int) -> None:
    assert angles.as_heading(angle_deg) == heading


@given(DIRECTIONS)
def test_every_heading_lies_between_1_and_360(angle_deg: float) -> None:
    assert 1 <= angles.as_heading(angle_deg) <= 360


@given(DIRECTIONS)
def test_wrapping_keeps_the_direction_and_is_above_zero(angle_deg: float) -> None:
    wrapped = angles.wrap_deg(angle_deg)
    assert 0.0 < wrapped <= 360.0
    assert math.isclose(math.cos(math.radians(wrapped - angle_deg)), 1.0, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("to_deg", "from_deg", "difference"),
    [
        (10, 350, 20),
        (350, 10, -20),
        (180, 360, 180),
        (360, 180, 180),
        (181, 360, -179),
        (90, 90, 0),
        (360, 0, 0),
    ],
)
def test_a_difference_goes_the_shorter_way_and_right_is_positive(
    to_deg: float, from_deg: float, difference: float
) -> None:
    assert angles.difference_deg(to_deg, from_deg) == difference


def test_dual_receivers_at_358_and_002_are_four_degrees_apart() -> None:
    # Facts row V25 and trap 9: the wrap-around of 14 CFR 91.171(c).
    assert abs(angles.difference_deg(358, 2)) == 4


def test_eight_steps_of_45_degrees_return_to_the_start() -> None:
    # Facts row P13 (computed): 360 is never written 000.
    steps = [angles.as_heading(45 + 45 * k) for k in range(9)]
    assert steps == [45, 90, 135, 180, 225, 270, 315, 360, 45]


@given(DIRECTIONS, DIRECTIONS)
def test_left_and_right_turns_make_a_whole_circle(from_deg: float, to_deg: float) -> None:
    both = angles.left_turn_deg(from_deg, to_deg) + angles.right_turn_deg(from_deg, to_deg)
    assert min(both % 360.0, 360.0 - both % 360.0) < 1e-6


@given(st.integers(1, 360))
def test_a_reciprocal_twice_is_the_same_direction(heading: int) -> None:
    assert angles.reciprocal_deg(angles.reciprocal_deg(heading)) == heading


@pytest.mark.parametrize(
    ("directions", "mean"),
    [((350, 10), 360), ((10, 20, 30), 20), ((359, 1, 3), 1), ((90,), 90)],
)
def test_the_mean_is_taken_round_the_circle(directions: tuple[float, ...], mean: float) -> None:
    assert angles.mean_deg(directions) == pytest.approx(mean)


@pytest.mark.parametrize("directions", [(), (180, 360), (30, 150, 270)])
def test_directions_that_cancel_have_no_mean(directions: tuple[float, ...]) -> None:
    assert angles.mean_deg(directions) is None


def test_the_shorter_turn_is_signed() -> None:
    assert angles.shorter_turn_deg(10, 325) == -45
