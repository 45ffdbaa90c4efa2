"""The pilot flies by dial and prompt: what he does for each, and what he does not do."""

from __future__ import annotations

import pytest

from coach.drill.model import TimerFrom
from coach.drill.plan import plan_drill
from coach.nav.angles import difference_deg
from coach.nav.vor import Flag, receive
from coach.nav.wind import CALM, Wind
from coach.rehearsal.card import print_card
from coach.rehearsal.flight import Flight, arriving
from coach.rehearsal.pilot import Pilot
from coach.session.actions import Tone
from tests.drill.eight_spoke import eight_spoke

LEFT_195 = "Left, one niner five"
RIGHT_015 = "Right, zero one five"


class Seat:
    """A pilot in the aircraft, with a coach who says what the test says."""

    def __init__(self, *, seed=1, wind=CALM, timer_from=TimerFrom.TURN, spokes=8, offset_leg_s=60.0):
        drill = eight_spoke(timer_from=timer_from, spokes=spokes, offset_leg_s=offset_leg_s)
        plan = plan_drill(drill, wind=wind)
        self.pilot = Pilot(print_card(plan), seed=seed, only_keys=True, full_scale_deg=10.0)
        self.flight = Flight(self.pilot, arriving(285, 90.0, plan.wind), full_scale_deg=10.0)
        self.words = []
        self.track = []

    @property
    def at_s(self):
        return self.flight.next_step_s

    @property
    def heading(self):
        return self.flight.aircraft.heading_mag_deg

    def reading(self):
        aircraft = self.flight.aircraft
        return receive(aircraft.east_nm, aircraft.north_nm, course_mag_deg=self.pilot.course_mag_deg)

    def fly(self, seconds, *, answer=True):
        for _ in range(round(seconds * 10)):
            self.track.append((self.at_s, self.heading, self.reading()))
            self.flight.step()
            word = self.pilot.find_word(self.track[-1][0])
            if word is not None:
                self.words.append(word)
            if word is not None and answer:
                self.pilot.hear_tone(Tone.HEARD)
        return self

    def say(self, text):
        self.pilot.hear_prompt(text, self.at_s)
        return self

    def fly_to(self, leg_n):
        """Fly on with a coach who calls each minute, until that leg is begun."""
        while self.pilot.begun[-1].n < leg_n:
            last = self.pilot.begun[-1]
            if last.n and self.at_s - last.at_s > 60 and last.n % 4 in (1, 2):
                self.say(LEFT_195 if last.n % 4 == 1 else RIGHT_015)
            self.fly(1.0)
        return self

    def begun(self, n):
        return next((leg.at_s for leg in self.pilot.begun if leg.n == n), None)

    def word(self, phrase):
        return next((word for word in self.words if word.phrase == phrase), None)


@pytest.mark.parametrize("seed", range(8))
def test_passage_is_called_and_turned_on_after_a_reaction(seed):
    seat = Seat(seed=seed).fly(70)
    reversed_s = next(at_s for at_s, _, reading in seat.track if reading.flag is Flag.FROM)
    word = seat.word("station passage")
    assert 0.5 <= word.at_s - reversed_s <= 1.6
    assert seat.begun(1) == pytest.approx(word.at_s, abs=0.11)


def test_reactions_differ_from_seed_to_seed():
    assert len({Seat(seed=seed).fly(70).word("station passage").at_s for seed in range(8)}) > 3


def test_first_turn_intercepts_the_outbound_radial():
    seat = Seat().fly_to(1).fly(25)
    cut_deg = difference_deg(seat.heading, 240)
    assert cut_deg == pytest.approx(-20, abs=2)
    seat.fly(34)
    assert abs(seat.reading().needle_deg) < 2


def test_course_is_set_with_the_turn():
    seat = Seat().fly_to(1)
    assert seat.pilot.course_mag_deg == 240
    seat.fly(30).say(LEFT_195).fly(1)
    assert seat.pilot.course_mag_deg == 60


def test_turn_waits_for_the_prompt():
    seat = Seat().fly_to(1).fly(70)
    assert seat.begun(2) is None
    seat.say(LEFT_195)
    told_s = seat.at_s
    seat.fly(20)
    assert 0.2 <= seat.begun(2) - told_s <= 0.8
    assert seat.heading == pytest.approx(195)


@pytest.mark.parametrize(
    "text",
    [
        "Ten seconds. Left, one niner five",
        "Course zero six zero",
        "Right, one niner five",
        "Left, one niner zero",
    ],
    ids=["what is coming", "the course", "the other way", "another heading"],
)
def test_prompt_that_is_not_this_turn_turns_nothing(text):
    seat = Seat().fly_to(1).fly(40).say(text).fly(10)
    assert seat.begun(2) is None


def test_way_alone_is_enough_for_the_turn():
    assert Seat().fly_to(1).fly(40).say("Left").fly(2).begun(2) is not None


def test_turn_of_180_goes_the_cards_way():
    seat = Seat().fly_to(3)
    seat.fly(30)
    assert difference_deg(seat.heading, 195) == pytest.approx(90, abs=3)  # right from 195
    seat.fly(31)
    assert seat.heading == pytest.approx(15, abs=1)


@pytest.mark.parametrize("from_deg", [0, 60, 105, 150, 240, 285, 330])
def test_needle_alive_is_called_off_the_stop_and_never_before_half_way_round(from_deg):
    seat = Seat(wind=Wind(from_deg=from_deg or 360, speed_kt=20.0)).fly_to(4)
    word = seat.word("needle alive") or seat.fly(3).word("needle alive")
    turned = next(
        difference_deg(heading, 195) % 360 for at_s, heading, _ in seat.track if at_s >= word.at_s - 0.5
    )
    assert turned >= 90
    at_word = next(reading for at_s, _, reading in seat.track if at_s >= word.at_s)
    assert abs(at_word.needle_deg) < 10


def test_last_turn_is_led_so_that_the_roll_out_is_on_the_course():
    # R15: the turn of 45 degrees begins 7.9 s before the line, 6.8 s on the intercept heading for a 45 s leg.
    seat = Seat(offset_leg_s=60.0).fly_to(4)
    led_s = seat.begun(4) - seat.begun(3) - 60
    assert 4 <= led_s <= 10
    seat.fly(20)
    assert abs(seat.reading().needle_deg) < 1
    assert abs(difference_deg(seat.heading, 60)) < 5


def test_needle_through_the_centre_is_met_by_a_cut_back():
    # 20 kt from the side that pushes spoke 1's offset leg toward the radial: 20 degrees of cut, 10 of wind.
    seat = Seat(wind=Wind(from_deg=150, speed_kt=20.0)).fly_to(4)
    assert difference_deg(seat.heading, 15) < -5  # still in the turn of 180 degrees
    largest = max(difference_deg(seat.fly(0.1).heading, 60) for _ in range(600))
    assert 18 <= largest <= 30


def test_established_comes_after_needle_alive_and_within_half_scale():
    seat = Seat().fly_to(5)
    alive, established = seat.word("needle alive"), seat.word("established")
    assert alive.at_s < established.at_s
    at_word = next(item for item in seat.track if item[0] >= established.at_s)
    assert abs(at_word[2].needle_deg) <= 5
    assert abs(difference_deg(at_word[1], 60)) <= 10


def test_established_is_never_called_on_the_way_to_the_first_passage():
    assert Seat().fly(60).word("established") is None


def test_wings_level_is_called_only_where_the_timer_waits_for_it():
    level = Seat(timer_from=TimerFrom.LEVEL).fly_to(1).fly(40)
    assert 15 <= level.word("wings level").at_s - level.begun(1) <= 27
    assert Seat().fly_to(1).fly(40).word("wings level") is None


def test_wings_level_is_not_called_inbound():
    seat = Seat(timer_from=TimerFrom.LEVEL).fly_to(5)
    calls = [word for word in seat.words if word.phrase == "wings level"]
    assert len(calls) == 2


def test_unanswered_word_is_repeated():
    seat = Seat().fly(75, answer=False)
    assert [word.phrase for word in seat.words] == ["station passage"] * 3


def test_prompt_answers_a_word_and_the_low_tone_does_not():
    seat = Seat()
    while not seat.words:
        seat.fly(0.1, answer=False)
    seat.pilot.hear_tone(Tone.LOW)
    seat.fly(6, answer=False)
    assert len(seat.words) == 2
    seat.say("Left, two four zero").fly(10, answer=False)
    assert len(seat.words) == 2


def test_early_makes_him_say_it_again():
    seat = Seat().fly_to(1)
    seat.say("Early").fly(3)
    assert [word.phrase for word in seat.words] == ["station passage", "station passage"]


def test_use_key_makes_him_press_the_key_soon():
    seat = Seat()
    while not seat.words:
        seat.fly(0.1, answer=False)
    seat.say("Use key").fly(2, answer=False)
    assert [word.by_key for word in seat.words] == [True, True]


def test_after_the_last_passage_he_holds_his_heading():
    seat = Seat(spokes=1).fly_to(4)
    while len([word for word in seat.words if word.phrase == "station passage"]) < 2:
        seat.fly(1)
    before = seat.heading
    seat.say("Drill complete. Hold heading. Look out.").fly(30)
    assert seat.heading == pytest.approx(before)
    assert seat.pilot.begun[-1].n == 4


def test_hold_heading_near_the_station_stops_corrections():
    seat = Seat().fly_to(4).fly(60)
    seat.say("Hold heading").fly(5)
    held = seat.heading
    seat.fly(10)
    assert seat.heading == pytest.approx(held, abs=1e-6)


@pytest.mark.parametrize(
    "text",
    [
        "Direct to the station. Spoke one from passage, outbound two four zero",
        "Left, one niner zero",
        "Inbound zero six zero",
    ],
    ids=["a return he did not ask for", "a turn that is not on the card", "a leg that is not yet"],
)
def test_coach_gone_astray_is_told_to_disregard(text):
    seat = Seat().fly_to(2).fly(30).say(text).fly(5)
    assert seat.words[-1].phrase == "disregard"
    assert seat.begun(3) is None


def test_passage_that_he_did_not_call_is_disregarded():
    seat = Seat().fly_to(4).fly(60).say("Left, zero one five").fly(5)
    assert seat.words[-1].phrase == "disregard"
    assert seat.begun(5) is None


def test_where_no_time_call_comes_he_turns_by_his_own_clock_and_says_so():
    seat = Seat().fly_to(1).fly(85)
    assert seat.words[-1].phrase == "next leg"
    assert 80 <= seat.words[-1].at_s - seat.begun(1) <= 81
    assert seat.begun(2) == pytest.approx(seat.words[-1].at_s)
    seat.say(LEFT_195).fly(8)
    assert [leg.n for leg in seat.pilot.begun] == [0, 1, 2]
    assert seat.words[-1].phrase == "next leg"


def test_coach_who_stays_silent_is_told_to_resume():
    seat = Seat().fly_to(1).fly(95)
    assert [word.phrase for word in seat.words[-2:]] == ["next leg", "resume drill"]


def test_coach_who_is_a_leg_behind_is_moved_on():
    seat = Seat().fly_to(1).fly(95).say("Outbound leg, thirty-five over").fly(3)
    assert [word.phrase for word in seat.words[-2:]] == ["resume drill", "next leg"]
    seat = Seat().fly_to(1).fly(95).say("Offset leg, twenty to go").fly(3)
    assert seat.words[-1].phrase == "resume drill"


def test_drill_that_is_complete_too_early_is_contradicted():
    seat = Seat().fly_to(4).fly(60).say("Drill complete. Hold heading. Look out.").fly(3)
    assert seat.words[-1].phrase == "disregard"
    assert not seat.pilot.begun[-1].n > 4
