"""What a pilot of habits does: late, too much, the wrong way round; and one who says nothing."""

from __future__ import annotations

import random

import pytest

from coach.drill.plan import plan_drill
from coach.nav.angles import difference_deg
from coach.rehearsal.card import print_card
from coach.rehearsal.flight import Flight, arriving
from coach.rehearsal.habits import WRONG_FOR_S, Habits, WrongTurn
from coach.rehearsal.needle import Needle
from coach.rehearsal.pilot import Pilot
from coach.rehearsal.tracker import Tracker
from tests.drill.eight_spoke import eight_spoke


def flown(
    habits: Habits, *, is_mute: bool = False, lasts_s: float = 90.0
) -> tuple[Flight, list[float], list[str]]:
    """A minute to the station and half a minute on, nil wind: the flight, its headings, the pilot's words."""
    plan = plan_drill(eight_spoke(spokes=1))
    pilot = Pilot(
        print_card(plan), seed=1, only_keys=True, full_scale_deg=10.0, is_mute=is_mute, habits=habits
    )
    flight = Flight(pilot, arriving(285, 90.0, plan.wind), full_scale_deg=10.0)
    headings, words = [], []
    for _ in range(round(lasts_s * 10)):
        headings.append(flight.aircraft.heading_mag_deg)
        flight.step()
        word = pilot.find_word(flight.next_step_s)
        words += [] if word is None else [word.phrase]
    return flight, headings, words


def test_a_late_pilot_turns_so_much_later():
    prompt, _, _ = flown(Habits())
    late, _, _ = flown(Habits(late_s=3.0))
    assert late.pilot.begun[1].at_s - prompt.pilot.begun[1].at_s == pytest.approx(3.0, abs=0.2)


def test_the_passage_itself_is_where_it_is_for_both():
    passages = [flown(Habits(late_s=late_s))[0].passages for late_s in (0.0, 3.0)]
    assert [len(found) for found in passages] == [1, 1]
    assert passages[0][0].at_s == pytest.approx(60.0, abs=0.1)
    assert passages[0][0].at_s == passages[1][0].at_s


def test_a_wrong_turn_goes_the_other_way_for_some_seconds_and_then_round():
    flight, headings, _ = flown(Habits(wrong_turns=1.0), lasts_s=110.0)
    begun_s = flight.pilot.begun[1].at_s
    # From 285 to 240 he should turn left.
    soon = headings[round((begun_s + WRONG_FOR_S[0] - 0.5) * 10)]
    assert difference_deg(soon, 285.0) == pytest.approx(7.5, abs=1.0)
    assert difference_deg(headings[-1], 240.0) == pytest.approx(0.0, abs=25.0)


def test_without_the_habit_no_turn_is_wrong():
    wrong = WrongTurn(0.0, random.Random(1))
    wrong.begin(10.0)
    assert wrong.find_turn(10.1, -45.0) is None


def test_the_share_of_wrong_turns_is_the_one_asked_for():
    wrong, begun = WrongTurn(0.25, random.Random(1)), []
    for n in range(2000):
        wrong.begin(100.0 * n)
        begun.append(wrong.find_turn(100.0 * n + 1.0, 45.0))
    assert {turn for turn in begun if turn is not None} == {-10.0}
    assert sum(turn is not None for turn in begun) / 2000 == pytest.approx(0.25, abs=0.03)


def test_overcorrection_takes_more_cut_for_the_same_needle():
    needle = Needle(10.0)
    needle.watch(0.0, 2.0)
    cuts = []
    for overcorrection in (1.0, 2.0):
        tracker = Tracker(90.0, overcorrection=overcorrection)
        tracker.begin(360.0)
        cuts.append(difference_deg(tracker.steer(needle, 360.0, 0.1), tracker.holding_mag_deg))
    assert cuts[1] == pytest.approx(2.0 * cuts[0])


def test_a_mute_pilot_turns_at_the_station_and_says_nothing():
    flight, _, words = flown(Habits(), is_mute=True)
    assert words == []
    assert flight.pilot.begun[1].n == 1


def test_a_pilot_with_keys_says_the_same_passage():
    _, _, words = flown(Habits())
    assert words[:1] == ["station passage"]


def test_a_moment_tells_what_the_aircraft_was_doing():
    flight, _, _ = flown(Habits())
    before = flight.moment(50.0)
    assert (before.leg_n, before.is_straight) == (0, True)
    assert before.distance_nm == pytest.approx(0.25, abs=0.01)
    turning = flight.moment(flight.pilot.begun[1].at_s + 5.0)
    assert (turning.leg_n, turning.is_straight) == (1, False)
