"""The whole drill on a feed: the coach sees for itself, and the simulated aircraft knows the truth."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from coach.drill.model import TimerFrom
from coach.drill.plan import plan_drill
from coach.nav.station import Station
from coach.nav.vor import cone_radius_nm
from coach.nav.wind import CALM, Wind
from coach.rehearsal.feed_summary import encode_feed, render_feed
from coach.rehearsal.habits import HUMAN, Habits
from coach.rehearsal.rehearse import Conditions, Rehearsal, rehearse
from coach.rehearsal.summary import render_rehearsal, words_by_spoke
from coach.rehearsal.transmitter import FeedConditions
from coach.session.outlook import Role
from coach.session.prompts import BUDGET_WORDS, Talk
from coach.settings import Settings
from coach.store.phrases import read_phrases
from tests.drill.eight_spoke import eight_spoke

TABLE = read_phrases()
STATION = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)
IN_PROCESS = FeedConditions(is_by_socket=False)
EVENT_WITHIN_S, SPOKEN_WITHIN_S = 2.0, 4.0


def flown(
    from_deg: float = 250.0,
    speed_kt: float = 25.0,
    *,
    feed: FeedConditions = IN_PROCESS,
    habits: Habits = HUMAN,
    settings: Settings | None = None,
    seed: int = 1,
    typed: bool = False,
    **drill: object,
) -> Rehearsal:
    wind = Wind(from_deg=from_deg, speed_kt=speed_kt) if speed_kt else CALM
    conditions = Conditions(
        table=TABLE,
        settings=settings or Settings(),
        seed=seed,
        feed=feed,
        station=STATION,
        is_mute=not typed,
        typed=typed,
        habits=habits,
    )
    return rehearse(plan_drill(eight_spoke(**drill), wind=wind), conditions)


def assert_every_passage_is_seen_and_spoken_of(rehearsal: Rehearsal, n_passages: int = 9) -> None:
    assert rehearsal.feed is not None
    assert len(rehearsal.feed.passages) == n_passages
    assert rehearsal.feed.extra == 0
    for passage in rehearsal.feed.passages:
        assert passage.event_s is not None
        assert passage.spoken_s is not None
        assert abs(passage.event_s - passage.truth_s) <= EVENT_WITHIN_S
        assert 0.0 < passage.spoken_s - passage.truth_s <= SPOKEN_WITHIN_S


def assert_timers_run_from_the_events(rehearsal: Rehearsal) -> None:
    """The first time call that is due after each passage but the last is due one leg time after the event."""
    assert rehearsal.feed is not None
    turns_s = [call.due_s for call in rehearsal.calls if call.due_s is not None and "Ten" not in call.what]
    for passage in rehearsal.feed.passages[:-1]:
        assert passage.event_s is not None
        due_s = next(at_s for at_s in turns_s if at_s > passage.truth_s)
        assert due_s - passage.event_s == pytest.approx(60.0, abs=0.01)


def assert_calls_are_made_only_where_they_may(rehearsal: Rehearsal) -> None:
    assert rehearsal.feed is not None
    names = {planned.leg.n: planned.leg.leg for planned in rehearsal.plan.legs}
    for call in rehearsal.feed.track_calls:
        assert names[call.moment.leg_n] in ("outbound", "inbound")
        assert call.moment.is_straight
        assert call.moment.distance_nm > cone_radius_nm(2000.0)


def test_eight_spokes_in_25_kt_are_flown_by_feed_alone():
    rehearsal = flown(250.0)
    assert rehearsal.said == rehearsal.heard == ()
    assert [leg.n for leg in rehearsal.legs] == list(range(1, 33))
    assert_every_passage_is_seen_and_spoken_of(rehearsal)
    assert_timers_run_from_the_events(rehearsal)
    assert_calls_are_made_only_where_they_may(rehearsal)
    assert max(words_by_spoke(rehearsal)) <= BUDGET_WORDS[Talk.SHORT]
    assert rehearsal.feed is not None
    assert rehearsal.feed.contradicted == 0
    assert rehearsal.calls[-1].what.startswith("Drill complete")


def test_a_real_socket_flies_the_same_flight_as_the_process():
    by_socket = flown(feed=FeedConditions(is_by_socket=True), spokes=1)
    in_process = flown(spokes=1)
    assert by_socket.legs == in_process.legs
    assert by_socket.calls == in_process.calls
    assert by_socket.feed is not None
    assert in_process.feed is not None
    assert by_socket.feed.records == in_process.feed.records


def test_gdl_90_through_a_socket_flies_the_drill():
    rehearsal = flown(300.0, feed=FeedConditions(form="gdl90"), spokes=2)
    assert_every_passage_is_seen_and_spoken_of(rehearsal, 3)


def test_noise_delay_and_losses_leave_the_passages_where_they_are():
    feed = FeedConditions(is_by_socket=False, noise_m=10.0, delay_s=1.0, loss=0.05)
    rehearsal = flown(100.0, feed=feed, spokes=2)
    assert rehearsal.feed is not None
    assert rehearsal.feed.lost > 0
    assert len(rehearsal.feed.passages) == 3
    for passage in rehearsal.feed.passages:
        assert passage.event_s is not None
        assert abs(passage.event_s - passage.truth_s) <= EVENT_WITHIN_S


def test_a_pilot_of_bad_habits_is_called_where_he_may_be_and_nowhere_else():
    habits = Habits(late_s=3.0, overcorrection=3.0, wrong_turns=0.5)
    rehearsal = flown(60.0, habits=habits, spokes=3)
    assert_every_passage_is_seen_and_spoken_of(rehearsal, 4)
    assert_calls_are_made_only_where_they_may(rehearsal)
    assert rehearsal.feed is not None
    assert len(rehearsal.feed.track_calls) > 0
    assert max(words_by_spoke(rehearsal)) <= BUDGET_WORDS[Talk.SHORT]


def test_keys_and_feed_together_count_nothing_twice():
    rehearsal = flown(70.0, typed=True, spokes=3)
    passages = [said for said in rehearsal.said if said.phrase == "station passage"]
    assert len(passages) == 4
    assert [leg.n for leg in rehearsal.legs] == list(range(1, 13))
    assert "disregard" not in {said.phrase for said in rehearsal.said}
    assert_every_passage_is_seen_and_spoken_of(rehearsal, 4)
    assert_timers_run_from_the_events(rehearsal)
    openings = [
        call.what
        for call in rehearsal.calls
        if call.due_s is None and call.what.startswith(("Left", "Right"))
    ]
    assert len(openings) == len(set(openings)) == 3


def test_a_pilot_who_decides_is_not_reminded_of_what_he_says():
    rehearsal = flown(70.0, typed=True, spokes=2, settings=Settings(feed_role=Role.REMIND))
    assert [leg.n for leg in rehearsal.legs] == list(range(1, 9))
    assert [call.what for call in rehearsal.calls if call.what.startswith("You passed")] == []
    words_s = [said.onset_s for said in rehearsal.said if said.phrase == "station passage"]
    turns_s = [call.due_s for call in rehearsal.calls if call.due_s is not None and "Ten" not in call.what]
    assert turns_s[0] - words_s[0] == pytest.approx(60.0, abs=0.01)


def test_the_timer_from_wings_level_is_started_by_the_feed():
    rehearsal = flown(200.0, timer_from=TimerFrom.LEVEL, spokes=1)
    assert rehearsal.feed is not None
    levels_s = [record.onset_s for record in rehearsal.feed.records if record.what == "seen: wings level"]
    turns_s = [call.due_s for call in rehearsal.calls if call.due_s is not None and "Ten" not in call.what]
    for due_s in turns_s:
        assert any(abs(due_s - 60.0 - level_s) < 0.01 for level_s in levels_s)


@pytest.fixture(scope="module")
def one_spoke() -> Rehearsal:
    """Nil wind, a pilot who does as he should."""
    return flown(0.0, 0.0, spokes=1, habits=Habits())


def test_the_coach_is_told_no_wind_and_finds_it():
    rehearsal = flown(250.0, spokes=2)
    assert rehearsal.feed is not None
    assert "planned anew for wind 250/25" in [record.what for record in rehearsal.feed.records]


def test_the_outcome_is_told_in_json_and_in_lines(one_spoke: Rehearsal):
    assert one_spoke.feed is not None
    encoded = json.loads(json.dumps(encode_feed(one_spoke.feed)))
    assert encoded["form"] == "nmea"
    assert len(encoded["passages"]) == 2
    assert set(encoded["passages"][0]) == {"truth_s", "distance_nm", "event_s", "spoken_s"}
    assert encoded["passages_invented"] == 0
    lines = list(render_feed(one_spoke.feed))
    assert lines[1].startswith("Passages: 2 of 2 seen, none invented; dated +")
    assert "Pilot: nothing spoken, no key pressed" in render_rehearsal(one_spoke)


def test_a_passage_never_seen_is_told_so(one_spoke: Rehearsal):
    assert one_spoke.feed is not None
    unseen = replace(one_spoke.feed.passages[0], event_s=None, spoken_s=None)
    feed = replace(one_spoke.feed, passages=(unseen,), extra=1)
    assert list(render_feed(feed))[1] == "Passages: 0 of 1 seen, 1 invented"
