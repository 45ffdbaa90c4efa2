from __future__ import annotations

import pytest

from coach.nav.aircraft import Aircraft
from coach.nav.wind import Wind
from coach.session.lookout import FRESH_S, Lookout
from coach.session.outlook import FeedUse
from coach.session.progress import Progress, State
from tests.session.fed import STATION, fix_at, planned

PLAN = planned(spokes=1)
INBOUND = Progress(state=State.FLYING, leg_i=3, begun_s=0.0)
OUTBOUND = Progress(state=State.FLYING, leg_i=0, begun_s=0.0)


def looking(aircraft: Aircraft, progress: Progress, *, lasts_s: int = 20) -> Lookout:
    """Straight on for so long, a fix a second."""
    lookout = Lookout(FeedUse(station=STATION), 90.0)
    for at_s in range(lasts_s):
        lookout.see(fix_at(aircraft.step(float(at_s)), float(at_s)), PLAN, progress)
    return lookout


def inbound_beside(off_deg: float) -> Aircraft:
    """Inbound on 060, on a radial so far beyond 240, straight for the station."""
    place = Aircraft(0.0, 0.0, 240.0 + off_deg, 14_400.0).step(1.0)
    return Aircraft(place.east_nm, place.north_nm, 60.0 + off_deg, 90.0)


def test_what_a_needle_taught_inbound_moves_it_the_other_way_outbound():
    lookout = looking(inbound_beside(3.0), INBOUND)
    assert lookout.teach_zero(19.0) == (pytest.approx(-3.0, abs=0.01), None)
    seeing = lookout.see(fix_at(inbound_beside(3.0).step(20.0), 20.0), PLAN, INBOUND)
    assert seeing is not None
    assert seeing.outlook.needle_deg(60.0) == pytest.approx(0.0, abs=0.01)
    # Outbound on the same radial of 243 with 240 set the feed sees 3 degrees left, his receiver none.
    assert seeing.outlook.needle_deg(240.0) == pytest.approx(0.0, abs=0.01)
    assert seeing.outlook.reading(240).needle_deg == pytest.approx(-3.0, abs=0.01)


def test_a_needle_teaches_nothing_without_a_fix_of_its_time_or_without_a_course():
    lookout = Lookout(FeedUse(station=STATION), 90.0)
    assert lookout.teach_zero(0.0) is None
    lookout = looking(inbound_beside(3.0), INBOUND)
    assert lookout.teach_zero(19.0 + FRESH_S + 1.0) is None
    lookout = looking(inbound_beside(3.0), Progress(state=State.ARRIVING))
    assert lookout.teach_zero(19.0) is None


def test_a_plan_stands_while_no_wind_or_the_same_is_known():
    lookout = looking(inbound_beside(0.0), INBOUND)
    assert lookout.find_plan(PLAN) is None
    lookout.wind = Wind(from_deg=250.0, speed_kt=3.0)
    assert lookout.find_plan(PLAN) is None


def test_a_wind_in_which_the_drill_cannot_be_planned_leaves_the_plan():
    lookout = looking(inbound_beside(0.0), INBOUND)
    lookout.wind = Wind(from_deg=250.0, speed_kt=95.0)
    assert lookout.find_plan(PLAN) is None


def test_another_wind_makes_another_plan_of_the_same_drill():
    lookout = looking(inbound_beside(0.0), INBOUND)
    lookout.wind = Wind(from_deg=250.0, speed_kt=20.0)
    plan = lookout.find_plan(PLAN)
    assert plan is not None
    assert plan.wind == lookout.wind
    assert plan.drill == PLAN.drill
    assert plan.total_s != PLAN.total_s


def test_positions_alone_are_enough_to_see_with():
    lookout = Lookout(FeedUse(station=STATION), 90.0)
    aircraft, found = Aircraft(0.0, -0.5, 360.0, 90.0), []
    for at_s in range(40):
        fix = fix_at(aircraft.step(float(at_s)), float(at_s), ground_speed_kt=None, track_true_deg=None)
        seeing = lookout.see(fix, planned(spokes=1, arrive_course=360), Progress(state=State.ARRIVING))
        found += [] if seeing is None else seeing.sightings
    assert [sighting.onset_s for sighting in found] == [pytest.approx(20.0, abs=0.05)]


def test_a_feed_is_live_from_its_first_fix_until_it_is_lost():
    lookout = Lookout(FeedUse(station=STATION), 90.0)
    assert not lookout.is_live
    lookout.see(fix_at(inbound_beside(0.0), 1.0), PLAN, OUTBOUND)
    assert lookout.is_live
    lookout.lose()
    assert not lookout.is_live
