"""Offsets of clocks: from three turns on, never forced."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.debrief.alignment import Begun, align, could_be
from coach.debrief.model import Alignment, PassageFlown, TurnFlown
from coach.drill.model import Ending, Leg
from tests.session.dialogue import eight_spoke

LEGS = [planned.leg for planned in eight_spoke(spokes=3).legs]
BEGUN_S = (0.0, 60.0, 120.0, 186.0, 310.0, 370.0, 430.0, 496.0)


def begun() -> list[Begun]:
    return [Begun(leg=leg, at_s=at_s) for leg, at_s in zip(LEGS, BEGUN_S, strict=False)]


def turn(leg: Leg, at_s: float) -> TurnFlown:
    sign = 1.0 if leg.turn == "right" else -1.0
    return TurnFlown(
        start_s=at_s,
        end_s=at_s + leg.turn_deg / 3.0,
        turn_deg=sign * leg.turn_deg,
        rate_deg_s=3.0,
        before_mag_deg=360.0,
        after_mag_deg=float(leg.heading_mag_deg or 360),
        by="heading",
    )


def turns(offset_s: float, late_s: tuple[float, ...] = (0.0,) * 8) -> list[TurnFlown]:
    return [turn(one.leg, one.at_s + offset_s + late) for one, late in zip(begun(), late_s, strict=True)]


@pytest.mark.parametrize("offset_s", [1000.0, -86_399.5, 30.0, -5.0, 4.0])
def test_an_offset_is_found(offset_s: float):
    found = align(begun(), turns(offset_s))
    assert isinstance(found, Alignment)
    assert found.offset_s == pytest.approx(offset_s)
    assert (found.residual_s, found.n_turns) == (0.0, 8)


def test_clocks_that_agree_are_not_shifted_by_the_pilots_usual_delay():
    found = align(begun(), turns(0.0, (1.5, 2.0, 1.8, 2.2, 2.0, 1.9, 2.1, 2.0)))
    assert isinstance(found, Alignment)
    assert found.offset_s == 0.0
    assert found.residual_s == pytest.approx(0.1, abs=0.05)


def test_one_late_turn_of_seven_seconds_changes_nothing():
    found = align(begun(), turns(500.0, (0.0, 0.0, 7.0, 0.0, 0.0, 0.0, 0.0, 0.0)))
    assert isinstance(found, Alignment)
    assert found.offset_s == pytest.approx(500.0)


def test_two_turns_are_too_few():
    told = align(begun()[:2], turns(10.0))
    assert told == (
        "The track could not be laid beside the journal: 2 of 2 turns and passages agree on an offset of the "
        "clocks, 3 are needed."
    )
    assert isinstance(align(begun()[:3], turns(10.0)), Alignment)


def test_passages_help_where_turns_are_few_and_the_turn_after_an_intercept_tells_nothing():
    legs = [replace(one, by=Ending.PASSAGE if i == 0 else None) for i, one in enumerate(begun()[:2])]
    passage = PassageFlown(
        at_s=10.0, distance_nm=0.1, inbound_radial_mag_deg=None, outbound_radial_mag_deg=None
    )
    found = align(legs, turns(10.0), (passage,))
    assert isinstance(found, Alignment)
    assert (found.offset_s, found.n_turns) == (10.0, 3)
    told = align([replace(one, by=Ending.INTERCEPT) for one in begun()], turns(10.0))
    assert isinstance(told, str)


@pytest.mark.parametrize(("word_s", "offset_s"), [(0.0, 5.0), (1.5, 3.5)])
def test_passages_tell_an_offset_from_a_pilot_who_is_always_late(word_s: float, offset_s: float):
    legs = [replace(one, by=Ending.PASSAGE if i in (0, 4) else None) for i, one in enumerate(begun())]
    passages = [
        PassageFlown(
            at_s=legs[i].at_s - word_s + 5.0,
            distance_nm=0.1,
            inbound_radial_mag_deg=None,
            outbound_radial_mag_deg=None,
        )
        for i in (0, 4)
    ]
    found = align(legs, turns(5.0, (4.0,) * 8), passages)
    assert isinstance(found, Alignment)
    assert found.offset_s == pytest.approx(offset_s)


@pytest.mark.parametrize(("scatter_s", "is_taken"), [(2.9, True), (3.2, False)])
def test_turns_that_scatter_by_more_than_three_seconds_are_refused(scatter_s: float, is_taken: bool):
    late = tuple(scatter_s if i % 2 else -scatter_s for i in range(8))
    found = align(begun(), turns(500.0, late))
    assert isinstance(found, Alignment) is is_taken
    if isinstance(found, str):
        assert found.endswith("3 s at most are taken.")


def test_a_turn_belongs_to_a_leg_by_its_way_its_size_and_its_heading():
    leg = LEGS[1]
    assert could_be(turn(leg, 0.0), leg)
    assert not could_be(turn(LEGS[2], 0.0), leg)
    assert not could_be(turn(LEGS[5], 0.0), leg)
