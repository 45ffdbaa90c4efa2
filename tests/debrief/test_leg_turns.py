"""Which turn is which leg's, in drills whose turns follow each other without a pause."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.debrief.make import debrief_session
from coach.debrief.model import Debrief, LegFlown
from coach.drill.plan import plan_drill
from coach.nav.wind import parse_wind
from coach.store.drills import read_drill
from tests.debrief.flown import STATION, Receiver, reported
from tests.debrief.flown_drill import Errors, flown_session


def debriefed(drill: str, errors: Errors | None = None, wind: str = "250/15") -> Debrief:
    plan = plan_drill(read_drill(drill, {}), tas_kt=90, wind=parse_wind(wind))
    path, session = flown_session(plan, errors)
    # On the journal's own clock: some of these drills have too few turns to lay a file beside it.
    track = replace(reported(path, Receiver(has_heading=True)), form="session")
    return debrief_session(session, track, STATION)


def begins(flown: LegFlown) -> list[float]:
    return [mark.value for mark in flown.marks if mark.what == "turn begins"]


def test_a_turn_that_goes_on_for_legs_begins_once_and_no_heading_is_held_in_it():
    debrief = debriefed("vertical-s-turning")
    first, *others = debrief.legs
    assert begins(first) == [pytest.approx(0.0, abs=0.5)]
    assert {flown.told for flown in others} == {"Its turn is one with that of the leg before."}
    assert not [held for flown in debrief.legs for held in flown.held if held.what == "heading"]


def test_a_heading_is_held_from_the_end_of_a_turn_that_was_late():
    debrief = debriefed("timed-turns", Errors(late_s={3: 5.0}))
    held = {flown.leg.n: held for flown in debrief.legs for held in flown.held if held.what == "heading"}
    assert begins(debrief.legs[2]) == [pytest.approx(5.0, abs=0.5)]
    assert abs(held[2].worst) < 0.1
    # The turn was cut short by its five seconds: fifteen degrees are missing, and no more.
    assert abs(held[4].worst) == pytest.approx(15.0, abs=0.1)
    assert held[4].seconds > 25.0


def test_a_turn_into_the_opposite_one_is_two():
    debrief = debriefed("80-260", wind="360/0")
    away, back = (flown for flown in debrief.legs if flown.leg.leg in ("away", "back"))
    assert away.turn is not None
    assert back.turn is not None
    assert (away.turn.turn_deg, back.turn.turn_deg) == pytest.approx((-80.0, 260.0), abs=1.5)
    assert {flown.how for flown in debrief.legs} == {"flown"}


def test_an_arc_leg_is_held_to_a_mile():
    debrief = debriefed("dme-arc", wind="360/0")
    (arc,) = [held for flown in debrief.legs for held in flown.held if held.what == "arc"]
    assert arc.within_share == 1.0
    assert arc.standard.limit == 1.0
    assert arc.aim == 10.0
    assert len(debrief.arcs) == 1


def test_a_holding_pattern_is_held_to_ten_degrees_and_a_procedure_turn_to_five():
    limits = {
        drill: {
            held.standard.limit
            for flown in debriefed(drill).legs
            for held in flown.held
            if held.what == "heading"
        }
        for drill in ("hold-station", "45-180", "timed-turns")
    }
    assert limits == {"hold-station": {10.0}, "45-180": {5.0}, "timed-turns": {10.0}}
