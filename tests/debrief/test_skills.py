"""The figures of a skill over a whole flight, pooled from its legs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.debrief.model import Debrief, Held, LegFlown, Mark, Standard
from coach.debrief.skills import find_skill, gather_skills
from coach.debrief.standards import ALTITUDE, LEG_TIME, REACTION, TURN_RATE
from coach.drill.plan import plan_drill
from coach.fixes.track import EPOCH
from coach.store.drills import read_drill

LEGS = [planned.leg for planned in plan_drill(read_drill("eight-spoke", {})).legs]


def mark(what: str, value: float, standard: Standard | None, *, is_within: bool) -> Mark:
    return Mark(
        what=what,
        value=value,
        unit="s",
        standard=standard,
        is_within=is_within,
        reason="r",
        start_s=value,
        end_s=value,
    )


def held(seconds: float, share: float, worst: float, rms: float) -> Held:
    return Held(
        what="altitude",
        aim=3000.0,
        standard=ALTITUDE,
        seconds=seconds,
        within_share=share,
        worst=worst,
        worst_at_s=7.0,
        rms=rms,
        reason="r",
        start_s=0.0,
        end_s=seconds,
    )


def leg(n: int, marks: tuple[Mark, ...] = (), helds: tuple[Held, ...] = ()) -> LegFlown:
    return LegFlown(
        leg=LEGS[n - 1],
        how="flown",
        told="",
        begun_s=0.0,
        ended_s=60.0,
        turn=None,
        marks=marks,
        held=helds,
    )


def flown(*legs: LegFlown) -> Debrief:
    return Debrief(began_utc=EPOCH, has_date=True, flight=None, legs=legs)


def test_marks_are_counted_and_their_spread_stands_beside_the_mean():
    values = [(1.0, True), (3.0, True), (8.0, False)]
    debrief = flown(
        *(
            leg(n, (mark("turn begins", value, REACTION, is_within=so),))
            for n, (value, so) in enumerate(values, 1)
        )
    )
    (skill,) = gather_skills(debrief)
    assert (skill.n, skill.n_within, skill.within_share) == (3, 2, pytest.approx(2 / 3))
    assert skill.mean == pytest.approx(4.0)
    assert skill.spread == pytest.approx(2.944, abs=1e-3)
    assert (skill.worst, skill.worst_leg_n, skill.worst_at_s) == (8.0, 3, 8.0)


def test_holding_is_pooled_by_its_seconds_not_by_its_legs():
    (skill,) = gather_skills(
        flown(leg(1, (), (held(10.0, 0.0, -150.0, 120.0),)), leg(2, (), (held(90.0, 1.0, 20.0, 10.0),)))
    )
    assert skill.seconds == 100.0
    assert skill.within_share == pytest.approx(0.9)
    assert skill.spread == pytest.approx((0.1 * 120.0**2 + 0.9 * 10.0**2) ** 0.5)
    assert (skill.worst, skill.worst_leg_n, skill.mean, skill.n_within) == (-150.0, 1, None, None)


def test_a_turn_rate_is_worst_where_it_is_farthest_from_standard_rate():
    rates = [mark("turn rate", value, TURN_RATE, is_within=True) for value in (2.4, 3.2)]
    (skill,) = gather_skills(flown(leg(1, tuple(rates))))
    assert skill.worst == 2.4
    assert skill.used == pytest.approx(((0.6**2 + 0.2**2) / 2) ** 0.5 / 0.3)


def test_a_figure_without_a_standard_is_no_skill():
    assert gather_skills(flown(leg(1, (mark("lead", 2.5, None, is_within=True),)))) == ()


def test_one_name_under_two_standards_is_two_skills():
    finer = replace(LEG_TIME, text="within 3 s", limit=3.0)
    marks = (mark("leg time", 5.0, LEG_TIME, is_within=True), mark("leg time", 5.0, finer, is_within=False))
    assert [skill.within_share for skill in gather_skills(flown(leg(1, marks)))] == [1.0, 0.0]


def test_a_skill_is_found_by_its_name():
    skills = gather_skills(flown(leg(1, (mark("turn begins", 1.0, REACTION, is_within=True),))))
    assert find_skill(skills, "turn begins") == skills[0]
    assert find_skill(skills, "needle") is None
