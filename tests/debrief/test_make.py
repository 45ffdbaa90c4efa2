"""A whole debrief against flights with known errors: what was late, lazy, off, skipped, repeated, wrong."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from coach.debrief.encoding import encode_debrief
from coach.debrief.make import debrief_session, debrief_track
from coach.debrief.model import Debrief, LegFlown
from coach.drill.plan import Plan, plan_drill
from coach.nav.station import Station
from coach.nav.wind import parse_wind
from coach.session.actions import Record
from coach.session.events import Woken
from coach.store.drills import read_drill
from tests.debrief.flown import STATION, Receiver, reported
from tests.debrief.flown_drill import Errors, begun_of, flown_session, fly_plan, journal_of, session_of

ERRORS = Errors(late_s={6: 7.0}, rate_deg_s={10: 2.2})
"""The second offset leg's turn 7 s late, the third one's at 2.2 degrees a second."""


@cache
def plan(wind: str = "360/0", spokes: int = 3) -> Plan:
    drill = read_drill("eight-spoke", {"first_outbound": "240", "spokes": str(spokes)})
    return plan_drill(drill, tas_kt=90, wind=parse_wind(wind))


def debriefed(wind: str, receiver: Receiver, errors: Errors | None = None) -> Debrief:
    path, session = flown_session(plan(wind), errors)
    return debrief_session(session, reported(path, receiver), STATION)


def leg(debrief: Debrief, n: int) -> LegFlown:
    (found,) = [flown for flown in debrief.legs if flown.leg.n == n]
    return found


def mark(debrief: Debrief, n: int, what: str) -> float:
    (found,) = [mark for mark in leg(debrief, n).marks if mark.what == what]
    assert found.reason
    assert found.start_s <= found.end_s
    return found.value


@pytest.mark.parametrize("wind", ["360/0", "250/20"])
@pytest.mark.parametrize(
    "receiver",
    [
        Receiver(every_s=1.0),
        Receiver(every_s=0.1),
        Receiver(every_s=1.0, noise_m=3.0, has_heading=True),
        Receiver(every_s=1.0, noise_m=3.0, has_speed=True),
    ],
    ids=str,
)
def test_a_late_turn_and_a_lazy_one_are_found_with_their_numbers(wind: str, receiver: Receiver):
    debrief = debriefed(wind, receiver, ERRORS)
    assert mark(debrief, 6, "turn begins") == pytest.approx(7.0, abs=0.5)
    assert mark(debrief, 5, "leg time") == pytest.approx(7.0, abs=0.5)
    assert mark(debrief, 10, "turn rate") == pytest.approx(2.2, abs=0.1)
    for n in (1, 2, 3, 5, 7, 9, 10, 11):
        assert mark(debrief, n, "turn begins") == pytest.approx(0.0, abs=0.5)
    for n in (2, 3, 6, 7, 11):
        assert mark(debrief, n, "turn rate") == pytest.approx(3.0, abs=0.1)
    for n in (2, 3, 6, 10, 11):
        assert mark(debrief, n, "roll-out") == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("wind", ["250/15", "250/20", "090/20", "340/20"])
def test_a_turn_through_the_course_has_no_roll_out_and_a_cut_back_is_no_intercept(wind: str):
    path, session = flown_session(plan(wind, 8))
    debrief = debrief_session(session, reported(path, Receiver(every_s=1.0)), STATION)
    assert any(planned.goes_through for planned in plan(wind, 8).legs)
    marks = [mark for flown in debrief.legs for mark in flown.marks]
    assert max(abs(mark.value) for mark in marks if mark.what == "roll-out") < 5.0
    assert {mark.is_within for mark in marks if mark.what == "intercept angle"} == {True}


def test_a_flight_as_planned_is_within_every_standard():
    debrief = debriefed("360/0", Receiver(has_heading=True, altitude_ft=3000.0))
    assert {flown.how for flown in debrief.legs} == {"flown"}
    assert {mark.is_within for flown in debrief.legs for mark in flown.marks} == {True, None}
    helds = [held for flown in debrief.legs for held in flown.held]
    assert {held.what for held in helds} == {"needle", "heading", "altitude", "airspeed"}
    assert min(held.within_share for held in helds) == 1.0
    # After the first spoke's 45 s offset leg the nil-wind figures of the plan (R15).
    assert mark(debrief, 4, "intercept angle") == pytest.approx(45.0, abs=0.5)
    assert mark(debrief, 4, "lead") == pytest.approx(2.5, abs=0.4)
    assert mark(debrief, 4, "overshoot") < 0.3


def test_altitude_is_scored_as_steadiness_about_the_start():
    path, session = flown_session(plan())
    track = reported(path, Receiver(altitude_ft=3000.0))
    assert track.altitude_ft is not None
    climbed = track.altitude_ft + np.where(track.time_s > 300.0, 101.0, 100.0)
    climbed[:60] = 3000.0
    debrief = debrief_session(session, replace(track, altitude_ft=climbed), STATION)
    shares = {
        flown.leg.n: held.within_share
        for flown in debrief.legs
        for held in flown.held
        if held.what == "altitude"
    }
    assert shares[2] == 1.0
    assert shares[9] == 0.0


def test_a_turn_the_wrong_way_is_said_rather_than_fitted():
    debrief = debriefed("360/0", Receiver(), Errors(wrong_way=frozenset({6})))
    assert leg(debrief, 6).how == "wrong way"
    assert leg(debrief, 6).told == "Turned left by 45 degrees, right was planned."
    assert leg(debrief, 2).how == "flown"


def test_a_turn_that_was_not_made_is_said():
    debrief = debriefed("360/0", Receiver(), Errors(straight_on=frozenset({6})))
    assert leg(debrief, 6).how == "no turn seen"
    assert not [mark for mark in leg(debrief, 6).marks if mark.what == "turn begins"]


def test_a_skipped_and_a_repeated_leg_are_said():
    path, due = fly_plan(plan())
    begun = list(begun_of(plan(), due).items())
    again = [*begun[:4], *[(n, at_s) for n, at_s in begun if n not in (1, 2, 3, 4, 6)]]
    again.insert(6, (5, begun[7][1] + 5.0))
    session = session_of(plan(), journal_of(plan(), again, ended_s=due[12] + 100.0))
    debrief = debrief_session(session, reported(path, Receiver()), STATION)
    hows = [(flown.leg.n, flown.how) for flown in debrief.legs]
    assert (6, "skipped") in hows
    assert (5, "repeated") in hows
    assert hows.count((5, "flown")) == 1


def test_a_flight_broken_off_tells_where_and_what_was_not_reached():
    path, due = fly_plan(plan())
    begun = list(begun_of(plan(), due).items())[:6]
    journal = journal_of(plan(), begun, ended_s=due[6] + 20.0)
    journal = replace(journal, steps=journal.steps[:-1])
    debrief = debrief_session(session_of(plan(), journal), reported(path, Receiver()), STATION)
    assert leg(debrief, 6).how == "broken off"
    assert "Legs 7 to 12 were not reached." in debrief.notes


@pytest.mark.parametrize("ahead_s", [0.0, 1234.5, -40_000.0, 9.0])
def test_clocks_that_differ_are_laid_beside_each_other(ahead_s: float):
    path, due = fly_plan(plan())
    begun = list(begun_of(plan(), due).items())
    journal = journal_of(plan(), begun, ended_s=due[12] + 100.0, clock_ahead_s=ahead_s)
    debrief = debrief_session(session_of(plan(), journal), reported(path, Receiver()), STATION)
    assert debrief.alignment is not None
    assert debrief.alignment.offset_s == pytest.approx(-ahead_s, abs=0.5)
    assert debrief.alignment.residual_s < 0.5
    assert debrief.alignment.n_turns >= 8
    assert mark(debrief, 6, "turn begins") == pytest.approx(0.0, abs=0.5)


def test_a_track_of_another_flight_is_refused_and_its_own_figures_are_told():
    _, session = flown_session(plan())
    other, _ = fly_plan(plan())
    short = reported(other[:3], Receiver())
    debrief = debrief_session(session, short, STATION)
    assert debrief.alignment is None
    assert debrief.legs == ()
    assert any("could not be laid beside the journal" in note for note in debrief.notes)
    assert debrief.flight is not None


def test_without_a_track_the_workflow_and_the_words_are_told():
    _, session = flown_session(plan())
    debrief = debrief_session(session, None, None)
    assert debrief.flight is None
    assert [flown.leg.n for flown in debrief.legs] == list(range(1, 13))
    assert {flown.how for flown in debrief.legs} == {"flown"}
    assert debrief.notes[0] == "There is no track: only what was said and when is told."
    assert encode_debrief(debrief)["track"] is None


def test_a_track_alone_says_what_it_cannot_tell():
    path, _ = fly_plan(plan("250/20"))
    whole = debrief_track(reported(path, Receiver()), STATION)
    assert any("it is estimated" in note and "(250/20, magnetic)" in note for note in whole.notes)
    piece = debrief_track(reported(path[:3], Receiver()), STATION)
    assert any("no heading" in note and "headings are not scored" in note for note in piece.notes)
    measured = debrief_track(reported(path, Receiver(has_heading=True)), STATION)
    assert not any("heading" in note for note in measured.notes)


@pytest.mark.parametrize(("every_s", "is_told"), [(2.0, False), (5.0, True), (10.0, True)])
def test_a_track_with_few_fixes_says_how_well_turns_are_known(every_s: float, is_told: bool):
    path, _ = fly_plan(plan())
    notes = debrief_track(reported(path, Receiver(every_s=every_s)), STATION).notes
    assert any(f"Fixes come {every_s:.0f} s apart" in note for note in notes) is is_told


def test_the_json_object_has_the_forms_that_stay_stable():
    encoded = encode_debrief(debriefed("250/20", Receiver(), ERRORS))
    assert set(encoded["passages"][0]) == {  # type: ignore[index]
        "utc",
        "distance_nm",
        "inbound_radial_mag_deg",
        "outbound_radial_mag_deg",
    }
    assert set(encoded["radials"][0]) == {  # type: ignore[index]
        "start_utc",
        "end_utc",
        "direction",
        "radial_mag_deg",
        "spread_deg",
        "from_nm",
        "to_nm",
    }
    assert [row["n"] for row in encoded["legs"]] == list(range(1, 13))  # type: ignore[attr-defined]


def test_spokes_are_compared_with_their_spread():
    debrief = debriefed("360/0", Receiver(), ERRORS)
    (begins,) = [one for one in debrief.consistency if one.what == "offset: turn begins"]
    assert [spoke for spoke, _ in begins.values] == [1, 2, 3]
    assert begins.mean == pytest.approx(7.0 / 3, abs=0.3)
    assert begins.spread == pytest.approx(3.3, abs=0.3)


@pytest.mark.parametrize("wind", ["360/0", "250/20"])
@pytest.mark.parametrize("every_s", [1.0, 0.1])
def test_radials_four_degrees_off_are_a_needle_four_degrees_off(wind: str, every_s: float):
    path, session = flown_session(plan(wind))
    # The rose turned by four degrees: every course was flown that far beside its radial.
    turned = replace(STATION, declination_deg=STATION.declination_deg + 4.0)
    debrief = debrief_session(session, reported(path, Receiver(every_s=every_s)), turned)
    needles = [held for flown in debrief.legs for held in flown.held if held.what == "needle"]
    assert len(needles) >= 4
    long = [held for held in needles if held.seconds > 60.0]
    assert [held.rms for held in long] == pytest.approx([4.0] * len(long), abs=0.3)
    assert {held.standard.limit for held in needles} == {7.5}


@pytest.mark.parametrize(
    ("lat", "lon"), [(-16.0, 180.0), (51.0, -179.99), (89.0, 10.0), (-89.0, 0.0)], ids=str
)
def test_the_poles_the_antimeridian_and_midnight_change_no_figure(lat: float, lon: float):
    there = Station(latitude_deg=lat, longitude_deg=lon, declination_deg=-70.0)
    path, session = flown_session(plan("250/20"), ERRORS)
    track = reported(path, Receiver(has_heading=True), there)
    late = replace(track, began_utc=track.began_utc.replace(hour=23, minute=50))
    header = replace(session.journal.header, began_utc=late.began_utc)
    session = replace(session, journal=replace(session.journal, header=header))
    found = debrief_session(session, late, there)
    usual = debriefed("250/20", Receiver(has_heading=True), ERRORS)
    figures, expected = (
        [mark.value for flown in debrief.legs for mark in flown.marks] for debrief in (found, usual)
    )
    assert figures == pytest.approx(expected, abs=0.05)
    assert [flown.how for flown in found.legs] == [flown.how for flown in usual.legs]
    assert found.render_utc(found.legs[-1].ended_s or 0.0).startswith("2030-03-18T00:")


@pytest.mark.parametrize("day", [1, 2])
def test_a_track_without_a_date_is_of_the_journals_day(day: int):
    path, session = flown_session(plan(), ERRORS)
    track = reported(path, Receiver())
    undated = replace(track, has_date=False, began_utc=track.began_utc.replace(year=1970, month=1, day=day))
    debrief = debrief_session(session, undated, STATION)
    assert debrief.alignment is not None
    assert debrief.alignment.offset_s == 0.0
    assert mark(debrief, 6, "turn begins") == pytest.approx(7.0, abs=0.5)
    assert debrief.render_utc(0.0) == "17:46:40.0Z"


def test_any_order_of_notes_in_a_journal_is_debriefed():
    path, session = flown_session(plan())
    track = reported(path, Receiver())
    chance = random.Random(11)
    texts = ["complete", "arriving", "undone: arriving", "bookmark", "called: time", "seen: station passage"]
    texts += [f"leg {n}: x" for n in range(0, 14)] + [f"undone: leg {n}: x" for n in range(0, 14)]
    for _ in range(15):
        times = sorted(chance.uniform(0.0, 900.0) for _ in range(chance.randrange(25)))
        steps = tuple(
            (
                Woken(at_s=at_s, onset_s=at_s),
                (Record(what=chance.choice(texts), onset_s=at_s - chance.random()),),
            )
            for at_s in times
        )
        broken = replace(session, journal=replace(session.journal, steps=steps))
        for given in (track, replace(track, form="session"), None):
            encode_debrief(debrief_session(broken, given, STATION))
