"""Every drill that ships is planned in any wind of 20 kt, and the simulated pilot flies it to its end.

By default each drill is flown once, in nil wind or in one of eight directions; with COACH_LONG=1 in all nine.
"""

from __future__ import annotations

import os
from functools import cache

import pytest

from coach.drill.plan import Plan, plan_drill
from coach.nav.angles import difference_deg
from coach.nav.wind import Wind
from coach.rehearsal.rehearse import Conditions, Rehearsal, rehearse
from coach.rehearsal.summary import encode_rehearsal, words_by_spoke
from coach.session.progress import legs_in_round
from coach.session.prompts import COMPLETE, Talk, budget_words
from coach.settings import Settings
from coach.store.drills import list_drills, read_drill
from coach.store.phrases import read_phrases

NAMES = [listing.name for listing in list_drills()]
WINDS = [None, *range(45, 361, 45)]
"""Where 20 kt come from, degrees magnetic; None: nil wind."""

TAS_KT, WIND_KT = 90.0, 20.0
IS_LONG = os.environ.get("COACH_LONG") == "1"

FLOWN = (
    [(name, wind) for name in NAMES for wind in WINDS]
    if IS_LONG
    else [(name, WINDS[i % len(WINDS)]) for i, name in enumerate(NAMES) if name != "eight-spoke"]
)
ids = [f"{name} in {'nil wind' if wind is None else f'{wind:03d}/20'}" for name, wind in FLOWN]


def planned(name: str, wind: int | None) -> Plan:
    blows = None if wind is None else Wind(from_deg=wind, speed_kt=WIND_KT)
    return plan_drill(read_drill(name, {}), tas_kt=TAS_KT, wind=blows)


@cache
def flown(name: str, wind: int | None) -> Rehearsal:
    return rehearse(planned(name, wind), Conditions(table=read_phrases("en"), typed=True))


@pytest.mark.parametrize("name", NAMES)
def test_drill_is_planned_to_its_end_in_every_wind(name: str) -> None:
    for wind in WINDS:
        plan = planned(name, wind)
        assert len(plan.legs) == len(read_drill(name, {}).legs)
        assert all(leg.duration_s > 0.0 for leg in plan.legs)


@pytest.mark.parametrize(("name", "wind"), FLOWN, ids=ids)
def test_simulated_pilot_flies_the_drill_to_its_end(name: str, wind: int | None) -> None:
    rehearsal = flown(name, wind)
    assert [leg.n for leg in rehearsal.legs] == [leg.leg.n for leg in rehearsal.plan.legs]
    assert rehearsal.calls[-1].what == COMPLETE
    assert not {"disregard", "resume drill"} & {said.phrase for said in rehearsal.said}


@pytest.mark.parametrize(("name", "wind"), FLOWN, ids=ids)
def test_headings_held_are_the_published_ones_where_no_wind_is_corrected(name: str, wind: int | None) -> None:
    flown_mag_deg = {leg.n: leg.heading_mag_deg for leg in flown(name, wind).legs}
    for planned_leg in flown(name, wind).plan.legs:
        leg = planned_leg.leg
        is_held = planned_leg.duration_s - planned_leg.turn_s > 15.0 and leg.arc_nm is None
        if leg.heading_mag_deg is not None and is_held and not leg.tracks and not leg.drift:
            assert abs(difference_deg(flown_mag_deg[leg.n], leg.heading_mag_deg)) < 2.0


@pytest.mark.parametrize(("name", "wind"), FLOWN, ids=ids)
def test_coach_keeps_within_its_budget(name: str, wind: int | None) -> None:
    rehearsal = flown(name, wind)
    plan = rehearsal.plan
    legs = max(legs_in_round(plan, i) for i in range(len(plan.legs)))
    assert max(words_by_spoke(rehearsal)) <= budget_words(Talk.SHORT, legs)
    assert encode_rehearsal(rehearsal)["words_a_spoke"] == max(words_by_spoke(rehearsal))


@pytest.mark.parametrize("talk", [Talk.CUE, Talk.FULL])
@pytest.mark.parametrize("name", NAMES if IS_LONG else ["hold-station", "dme-arc", "vertical-s-turning"])
def test_most_and_least_talk_fly_it_too(name: str, talk: Talk) -> None:
    conditions = Conditions(table=read_phrases("en"), typed=True, settings=Settings(talk=talk))
    rehearsal = rehearse(planned(name, None), conditions)
    assert rehearsal.calls[-1].what == COMPLETE
    assert not {"disregard", "resume drill"} & {said.phrase for said in rehearsal.said}
