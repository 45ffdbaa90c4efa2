"""How the simulated pilot sees by his dials that a leg is over."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.drill.model import Ending, Leg, Turn
from coach.nav.vor import Flag
from coach.rehearsal.needle import Needle
from coach.rehearsal.reached import Reached
from coach.rehearsal.watch import Instruments
from tests.drill.eight_spoke import leg

BEGUN = Instruments(100.0, 360.0, 10.0, Flag.FROM, radial_mag_deg=360.0, distance_nm=8.0, altitude_ft=3000.0)


def leg_to(ending: Ending, **more: object) -> Leg:
    made = leg(1, None, "on", Turn.NONE, 0, 360, 20, ends_on=ending, tracks=False)
    return replace(made, **more)  # type: ignore[arg-type]


def watch(ending: Ending, needle: Needle | None = None, **more: object) -> Reached:
    return Reached(leg_to(ending, **more), BEGUN, needle or Needle(10.0))


def test_heading_is_reached_with_the_wings_level() -> None:
    reached = watch(Ending.HEADING)
    assert not reached.is_reached(BEGUN, is_level=False)
    assert reached.is_reached(BEGUN, is_level=True)


@pytest.mark.parametrize("climb_ft", [1000.0, -1000.0])
def test_level_off_is_led_by_a_tenth_of_the_rate(climb_ft: float) -> None:
    # P9: 50 ft at 500 ft/min (FAA-H-8083-15A p. 5-17).
    reached = watch(Ending.ALTITUDE, climb_ft=climb_ft, rate_ft_min=500.0)
    short = 949.0 if climb_ft > 0 else -949.0
    lead = 950.0 if climb_ft > 0 else -950.0
    assert not reached.is_reached(replace(BEGUN, altitude_ft=3000.0 + short), is_level=True)
    assert reached.is_reached(replace(BEGUN, altitude_ft=3000.0 + lead), is_level=True)


@pytest.mark.parametrize(("wanted", "before", "after"), [(5.0, 5.1, 5.0), (11.0, 10.9, 11.0)])
def test_distance_is_reached_from_either_side(wanted: float, before: float, after: float) -> None:
    reached = watch(Ending.DISTANCE, distance_nm=wanted)
    assert not reached.is_reached(replace(BEGUN, distance_nm=before), is_level=True)
    assert reached.is_reached(replace(BEGUN, distance_nm=after), is_level=True)


def test_own_word_comes_after_the_time_he_takes() -> None:
    reached = watch(Ending.WORD, leg_s=30.0)
    assert not reached.is_reached(replace(BEGUN, at_s=129.9), is_level=True)
    assert reached.is_reached(replace(BEGUN, at_s=130.0), is_level=True)


def test_radial_is_reached_when_the_needle_goes_through_the_centre_with_from() -> None:
    needle = Needle(10.0)
    reached = watch(Ending.RADIAL, needle)

    def sees(deg: float, flag: Flag = Flag.FROM) -> bool:
        needle.watch(101.0, deg)
        return reached.is_reached(replace(BEGUN, needle_deg=deg, flag=flag), is_level=True)

    assert not sees(10.0)
    assert not sees(4.0)
    assert not sees(-1.0, Flag.TO)
    assert sees(-0.1)


def test_other_endings_are_not_this_watchs_to_see() -> None:
    assert not watch(Ending.TIME, leg_s=1.0).is_reached(replace(BEGUN, at_s=999.0), is_level=True)


@pytest.mark.parametrize(("flag", "distance_nm"), [(Flag.TO, 4.9), (Flag.FROM, 5.1)])
def test_fix_that_was_passed_in_the_turn_is_reached_when_the_turn_is_over(
    flag: Flag, distance_nm: float
) -> None:
    begun = replace(BEGUN, distance_nm=distance_nm, flag=flag)
    made = leg_to(Ending.DISTANCE, distance_nm=5.0, tracks=True)
    reached = Reached(made, begun, Needle(10.0))
    assert not reached.is_reached(begun, is_level=False)
    assert reached.is_reached(begun, is_level=True)
    assert reached.is_reached(begun, is_level=False)
