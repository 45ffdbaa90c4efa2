"""Three sentences, each out of the figures."""

from __future__ import annotations

from dataclasses import replace

from coach.debrief.report_sentences import tell_flight
from coach.debrief.skills import find_skill, gather_skills
from tests.debrief import debriefed


def test_a_flight_is_told_in_three_sentences():
    best, following, alike = tell_flight(debriefed.flown())
    assert best.startswith("Went best: ")
    assert following.startswith("Work on next: ")
    assert alike.startswith("From one time to the next most alike: ")


def test_what_to_work_on_is_what_was_within_least_often():
    debrief = debriefed.flown()
    starts = find_skill(gather_skills(debrief), "turn begins")
    assert starts is not None
    assert starts.n_within == starts.n - 2
    least = min(
        (s for s in gather_skills(debrief) if s.what not in ("leg time", "intercept angle", "call to word")),
        key=lambda s: s.within_share,
    )
    assert f"{least.n_within} of {least.n}" in tell_flight(debrief)[1]


def test_where_all_is_within_the_nearest_to_its_limit_is_named():
    debrief = debriefed.flown()
    legs = tuple(
        replace(flown, marks=tuple(mark for mark in flown.marks if mark.is_within), held=())
        for flown in debrief.legs
    )
    told = tell_flight(replace(debrief, legs=legs))
    assert told[1].startswith("Work on next: nothing was outside its standard; nearest to it came ")


def test_nothing_measured_is_said_and_no_praise_is_made_of_it():
    told = tell_flight(debriefed.track_alone())
    assert told == ("Nothing was measured against a standard: see the notes.",)


def test_no_sentence_says_minus_nothing():
    assert "-0.0" not in " ".join(tell_flight(debriefed.flown()))
