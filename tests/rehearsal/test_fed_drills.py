"""Drills beyond the eight spokes by feed: a hold flown without a word, a DME arc seen and said once."""

from __future__ import annotations

from coach.drill.plan import plan_drill
from coach.nav.station import Station
from coach.nav.wind import Wind
from coach.rehearsal.rehearse import Conditions, Rehearsal, rehearse
from coach.rehearsal.summary import words_by_spoke
from coach.rehearsal.transmitter import FeedConditions
from coach.session.prompts import COMPLETE, Talk, budget_words
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases

STATION = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)
WIND = Wind(from_deg=45.0, speed_kt=15.0)


def flown(name: str, *, is_mute: bool, **settings: str) -> Rehearsal:
    conditions = Conditions(
        table=read_phrases("en"),
        feed=FeedConditions(is_by_socket=False),
        station=STATION,
        is_mute=is_mute,
        typed=not is_mute,
    )
    return rehearse(plan_drill(read_drill(name, settings), tas_kt=90, wind=WIND), conditions)


def test_hold_is_flown_by_feed_without_a_word() -> None:
    rehearsal = flown("hold-station", is_mute=True, laps="2")
    assert rehearsal.calls[-1].what == COMPLETE
    assert len(rehearsal.legs) == 4
    assert rehearsal.said == ()
    words = words_by_spoke(rehearsal)
    assert len(words) == 2
    assert 0 < max(words) <= budget_words(Talk.SHORT, 2)


def test_distance_that_the_feed_sees_first_is_not_counted_again_when_it_is_said() -> None:
    rehearsal = flown("dme-arc", is_mute=False)
    assert rehearsal.calls[-1].what == COMPLETE
    assert [leg.n for leg in rehearsal.legs] == [1, 2, 3]
    assert not {"disregard", "resume drill"} & {said.phrase for said in rehearsal.said}
