"""The whole drill on the simulated clock with the real session: by keys, and by voice and ear of tones."""

from __future__ import annotations

from itertools import pairwise

import pytest

from coach.drill.model import TimerFrom
from coach.drill.plan import plan_drill
from coach.nav.angles import difference_deg
from coach.nav.wind import CALM, Wind
from coach.rehearsal.cabin import Cabin
from coach.rehearsal.microphone import Microphone
from coach.rehearsal.rehearse import Conditions, fly_plan, rehearse
from coach.rehearsal.sound import CockpitSound
from coach.session.events import PhraseHeard
from coach.session.prompts import Talk
from coach.settings import Settings
from coach.store.phrases import read_phrases
from tests.drill.eight_spoke import eight_spoke
from tests.rehearsal.tone_ear import ToneEar, tone_voice

TABLE = read_phrases()

# The headings of procedure.md, worked by hand from an outbound of 240 (common practice, no source).
FIRST_SPOKES = [240, 195, 15, 60, 15, 60, 240, 195, 150, 105, 285, 330]


def flown(*, wind=CALM, timer_from=TimerFrom.TURN, seed=1, talk=Talk.SHORT, **drill):
    plan = plan_drill(eight_spoke(timer_from=timer_from, **drill), wind=wind)
    return rehearse(plan, Conditions(table=TABLE, typed=True, seed=seed, settings=Settings(talk=talk)))


def spoken(ear, **drill):
    plan = plan_drill(eight_spoke(**drill))
    microphone = Microphone(ear, TABLE, tone_voice, Cabin(seed=1), 20.0)
    sound = CockpitSound(microphone=microphone, ear="tones")
    return fly_plan(plan, Conditions(table=TABLE), sound, 0.0)


def assert_all_32_in_order(rehearsal):
    legs = rehearsal.legs
    assert [leg.n for leg in legs] == list(range(1, 33))
    assert all(before.start_s < after.start_s for before, after in pairwise(legs))


@pytest.mark.parametrize("seed", [1, 2])
def test_nil_wind_drill_has_32_heading_changes_to_the_published_headings(seed):
    rehearsal = flown(seed=seed)
    assert_all_32_in_order(rehearsal)
    assert [planned.leg.heading_mag_deg for planned in rehearsal.plan.legs[:12]] == FIRST_SPOKES
    for leg, planned in zip(rehearsal.legs, rehearsal.plan.legs, strict=True):
        assert abs(difference_deg(leg.heading_mag_deg, planned.leg.heading_mag_deg)) < 5


@pytest.mark.parametrize("from_deg", range(45, 361, 45))
def test_drill_is_flown_in_20_kt_from_anywhere(from_deg):
    rehearsal = flown(wind=Wind(from_deg=from_deg, speed_kt=20.0))
    assert_all_32_in_order(rehearsal)
    said = [word.phrase for word in rehearsal.said]
    assert said.count("station passage") == 9
    assert said.count("needle alive") == 8
    assert said.count("established") >= 7  # one may come too late: the station is there first
    assert rehearsal.calls[-1].what.startswith("Drill complete")


@pytest.mark.parametrize("seed", [1, 5])
@pytest.mark.parametrize(
    ("timer_from", "from_min", "to_min"), [(TimerFrom.TURN, 40, 48), (TimerFrom.LEVEL, 50, 54)]
)
def test_drill_lasts_as_long_as_it_should(timer_from, from_min, to_min, seed):
    rehearsal = flown(timer_from=timer_from, seed=seed)
    assert from_min <= rehearsal.simulated_s / 60 <= to_min
    assert_all_32_in_order(rehearsal)


def test_level_timer_is_started_by_the_pilots_word():
    rehearsal = flown(timer_from=TimerFrom.LEVEL, spokes=2)
    words = [word for word in rehearsal.said if word.phrase == "wings level"]
    assert len(words) == 4
    turns = [call for call in rehearsal.calls if call.due_s and not call.what.startswith("Ten")]
    assert [call.due_s - word.onset_s for call, word in zip(turns, words, strict=True)] == pytest.approx(
        [60.0] * 4
    )


def test_time_calls_sound_at_their_due_time():
    rehearsal = flown()
    errors_s = [abs(call.at_s - call.due_s) for call in rehearsal.calls if call.due_s is not None]
    assert len(errors_s) == 32  # ten seconds before, and at, two leg times a spoke
    assert max(errors_s) < 1 / 48_000


def test_leg_time_counts_from_the_word_of_passage():
    rehearsal = flown(spokes=1)
    passage = rehearsal.said[0]
    turn = next(call for call in rehearsal.calls if call.what == "Left, one niner five")
    assert turn.at_s - passage.onset_s == pytest.approx(60.0, abs=1e-4)


@pytest.mark.parametrize("talk", list(Talk))
def test_same_flight_comes_of_each_amount_of_talk(talk):
    rehearsal = flown(talk=talk, spokes=2)
    assert [leg.n for leg in rehearsal.legs] == list(range(1, 9))


def test_same_seed_flies_the_same_flight_and_another_seed_another():
    wind = Wind(from_deg=100, speed_kt=15.0)
    first, again, other = (flown(wind=wind, seed=seed, spokes=3) for seed in (4, 4, 5))
    assert (first.legs, first.said, first.calls) == (again.legs, again.said, again.calls)
    assert first.said != other.said


def test_no_word_is_said_twice_by_keys():
    rehearsal = flown()
    assert len(rehearsal.said) == 25
    assert rehearsal.heard == ()
    assert all(word.by_key for word in rehearsal.said)


def test_spoken_drill_advances_by_sound_alone():
    ear = ToneEar()
    rehearsal = spoken(ear, spokes=2)
    assert [leg.n for leg in rehearsal.legs] == list(range(1, 9))
    assert [(row.said, row.understood) for row in rehearsal.heard] == [
        ("station passage", "station passage"),
        ("needle alive", "needle alive"),
        ("established", "established"),
        ("station passage", "station passage"),
        ("needle alive", "needle alive"),
        ("established", "established"),
        ("station passage", "station passage"),
    ]
    assert not any(word.by_key for word in rehearsal.said)
    assert ear.heard_samples / 16_000 == pytest.approx(rehearsal.simulated_s, abs=0.6)


def test_word_not_understood_is_said_again_and_both_stay_in_what_was_heard():
    rehearsal = spoken(ToneEar(misses=1), spokes=1)
    first, second, *_ = rehearsal.heard
    assert (first.said, first.understood) == ("station passage", None)
    assert (second.said, second.understood) == ("station passage", "station passage")
    assert second.onset_s - first.onset_s == pytest.approx(5.0, abs=0.2)
    assert [leg.n for leg in rehearsal.legs] == [1, 2, 3, 4]


def test_deaf_ear_leaves_the_keys():
    rehearsal = spoken(ToneEar(is_deaf=True), spokes=1)
    assert [leg.n for leg in rehearsal.legs] == [1, 2, 3, 4]
    assert {row.understood for row in rehearsal.heard} == {None}
    pressed = [word.phrase for word in rehearsal.said if word.by_key]
    assert pressed == ["station passage", "needle alive", "established", "station passage"]


def test_spoken_rehearsal_repeats_exactly():
    first, again = (spoken(ToneEar(misses=2), spokes=1) for _ in range(2))
    assert (first.legs, first.said, first.heard, first.calls) == (
        again.legs,
        again.said,
        again.heard,
        again.calls,
    )


def test_journal_gets_every_event_with_its_actions():
    class Kept:
        def __init__(self):
            self.lines = []

        def write(self, event, actions):
            self.lines.append((event, actions))

    journal = Kept()
    plan = plan_drill(eight_spoke(spokes=1))
    rehearse(plan, Conditions(table=TABLE, typed=True, journal=journal))
    names = [type(event).__name__ for event, _ in journal.lines]
    assert names[0] == "SessionStarted"
    assert names.count("PhraseHeard") == 4
    assert type(journal.lines[-1][1][-1]).__name__ == "Finish"


@pytest.mark.parametrize(
    ("phrase", "at_s"),
    [
        ("rejoin", 100.0),
        ("next leg", 100.0),
        ("traffic", 100.0),
        ("next leg", 165.0),
        ("traffic", 165.0),
        ("stand by", 165.0),
        ("needle alive", 205.0),
        ("traffic", 205.0),
        ("station passage", 300.0),
        ("traffic", 300.0),
    ],
)
def test_drill_survives_a_word_that_nobody_said(phrase, at_s):
    class Deluded(ToneEar):
        has_told = False

        def hear(self, block, at_s_):
            facts = super().hear(block, at_s_)
            if self.has_told or at_s_ < at_s:
                return facts
            self.has_told = True
            return (*facts, PhraseHeard(at_s=at_s_, onset_s=at_s_, phrase=phrase, by="voice", score=1.0))

    rehearsal = spoken(Deluded(), spokes=1)
    assert [leg.n for leg in rehearsal.legs] == [1, 2, 3, 4]
    assert rehearsal.calls[-1].what.startswith("Drill complete")
    assert any((row.said, row.understood) == (None, phrase) for row in rehearsal.heard)


def test_words_that_the_ear_cannot_hear_are_told_before_the_flight():
    lines = []
    plan = plan_drill(eight_spoke(spokes=1))
    sound = CockpitSound(unknown_words=("abeam",))
    fly_plan(plan, Conditions(table=TABLE, typed=True, tell=lines.append), sound, 0.0)
    assert lines[0] == "The ear does not know abeam; by key only: abeam (b)"
