"""A distance, a radial or a heading that the feed sees ends its leg, dated back to the crossing."""

from __future__ import annotations

import pytest

from coach.drill.plan import Plan, plan_drill
from coach.nav.wind import Wind
from coach.session.outlook import Role
from coach.store.drills import read_drill
from tests.session.fed import FIRST_S, STATION, FedDialogue

HEIGHT_FT = 3000.0


def planned(name: str, wind: Wind | None = None, **settings: str) -> Plan:
    return plan_drill(read_drill(name, settings), tas_kt=90, wind=wind)


def begun(plan: Plan, **use: object) -> FedDialogue:
    """The drill begun by the pilot's word where the plan begins it."""
    dialogue = FedDialogue(plan, height_ft=HEIGHT_FT, **use)
    dialogue.fly_until(FIRST_S)
    dialogue.hear("next leg")
    return dialogue


@pytest.mark.parametrize("every_s", [1.0, 5.0])
def test_distance_is_seen_as_dme_shows_it(every_s: float) -> None:
    plan = planned("dme-arc")
    dialogue = begun(plan)
    dialogue.fly_until(FIRST_S + plan.legs[1].start_s + 10.0, every_s=every_s)
    (seen_s,) = dialogue.seen("distance reached")
    # At 3,000 ft DME shows 10.5 NM where 10.4884 NM lie over the ground (V46: slant range): 0.5 s later.
    assert seen_s == pytest.approx(FIRST_S + plan.legs[1].start_s + 0.46, abs=0.1)
    assert dialogue.leg == "None arc"


def test_radial_is_seen_where_the_needle_centers() -> None:
    plan = planned("time-to-station", Wind(from_deg=200, speed_kt=20))
    dialogue = begun(plan)
    dialogue.fly_until(FIRST_S + plan.legs[1].start_s + 5.0)
    assert dialogue.seen("radial reached") == [pytest.approx(FIRST_S + plan.legs[0].end_s, abs=0.1)]
    assert dialogue.leg == "None inbound"


def test_word_for_a_distance_that_was_seen_is_acknowledged_and_counts_nothing() -> None:
    plan = planned("dme-arc")
    dialogue = begun(plan)
    dialogue.fly_until(FIRST_S + plan.legs[1].start_s + 6.0)
    dialogue.hear("next leg")
    assert dialogue.tones[-1] == "heard"
    assert dialogue.leg == "None arc"


def test_only_recorded_a_radial_moves_nothing() -> None:
    plan = planned("time-to-station")
    dialogue = begun(plan, role=Role.RECORD)
    dialogue.fly_until(FIRST_S + plan.legs[1].start_s + 5.0)
    assert dialogue.seen("radial reached")
    assert dialogue.leg == "None bearing"


def test_heading_ends_its_leg_only_after_half_of_the_turn() -> None:
    plan = planned("turns-to-headings", laps="1")
    dialogue = FedDialogue(plan)
    dialogue.fly_until(FIRST_S)
    dialogue.hear("next leg")
    at_s = dialogue.at_s
    while at_s < FIRST_S + plan.legs[0].duration_s:
        at_s += 1.0
        heading = STATION.as_true(dialogue.where(at_s).heading_mag_deg)
        dialogue.wait_until(at_s)
        dialogue.fix(at_s, heading_true_deg=heading)
    seen_s = dialogue.seen("heading reached")[0]
    assert seen_s == pytest.approx(FIRST_S + 29.0, abs=1.0)
    assert dialogue.leg == "None after_right"


def test_passage_of_a_station_does_not_begin_a_drill_that_waits_for_a_word() -> None:
    plan = planned("timed-turns")
    dialogue = FedDialogue(plan)
    dialogue.fly_until(FIRST_S + 30.0)
    assert dialogue.leg == "arriving"
