"""What counts within six calendar months, to the day (14 CFR 61.57(c)(1); L3 to L8, L10)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from coach.debrief.logbook import (
    COUNTING,
    Conditions,
    LogEntry,
    Task,
    check_entry,
    counts_through,
    decode_entry,
    encode_entry,
    find_standing,
    render_standing,
    tasks_of,
    window_opens,
)
from tests.debrief import debriefed

ENTRY = LogEntry(
    day=date(2026, 9, 15),
    place="Nowhere Deep to Nowhere Deeper",
    aircraft="single-engine, N0NE",
    conditions=Conditions.VIEW_LIMITED,
    tasks=(Task.TRACKING,),
    safety_pilot="Somebody",
)


@pytest.mark.parametrize(
    ("day", "opens"),
    [
        (date(2026, 9, 1), date(2026, 3, 1)),
        (date(2026, 9, 15), date(2026, 3, 1)),
        (date(2026, 9, 30), date(2026, 3, 1)),
        (date(2026, 8, 31), date(2026, 2, 1)),
        (date(2026, 10, 1), date(2026, 4, 1)),
        (date(2026, 1, 31), date(2025, 7, 1)),
        (date(2026, 6, 30), date(2025, 12, 1)),
        (date(2028, 2, 29), date(2027, 8, 1)),
    ],
)
def test_the_window_opens_on_the_first_of_the_sixth_month_before(day: date, opens: date):
    assert window_opens(day) == opens


@pytest.mark.parametrize(
    ("flown", "through"),
    [
        (date(2026, 3, 1), date(2026, 9, 30)),
        (date(2026, 3, 31), date(2026, 9, 30)),
        (date(2026, 2, 28), date(2026, 8, 31)),
        (date(2026, 8, 31), date(2027, 2, 28)),
        (date(2027, 8, 31), date(2028, 2, 29)),
        (date(2026, 7, 1), date(2027, 1, 31)),
        (date(2026, 12, 31), date(2027, 6, 30)),
    ],
)
def test_a_task_counts_through_the_end_of_the_sixth_month_after(flown: date, through: date):
    assert counts_through(flown) == through


def test_window_and_end_agree_on_every_pair_of_days_of_three_years():
    days = [date(2026, 1, 1) + timedelta(days=n) for n in range(3 * 365)]
    for day in days[::13]:
        opens = window_opens(day)
        assert all((flown >= opens) == (counts_through(flown) >= day) for flown in days if flown <= day)


@pytest.mark.parametrize(
    ("flown", "counts"),
    [
        (date(2026, 2, 28), False),
        (date(2026, 3, 1), True),
        (date(2026, 9, 14), True),
        (date(2026, 9, 15), True),
        (date(2026, 9, 16), False),
    ],
)
def test_for_a_flight_in_september_the_first_of_march_counts_and_the_day_before_does_not(
    flown: date, counts: bool
):
    standing = find_standing([replace(ENTRY, day=flown)], date(2026, 9, 15))
    assert bool(standing.counted) is counts


@pytest.mark.parametrize("conditions", list(Conditions))
def test_only_actual_view_limited_and_approved_devices_count(conditions: Conditions):
    standing = find_standing([replace(ENTRY, conditions=conditions)], ENTRY.day)
    assert bool(standing.counted) is (conditions not in (Conditions.VISUAL, Conditions.HOME))
    assert bool(standing.counted) is (conditions in COUNTING)
    assert all(why for _, why in standing.not_counted)


def test_a_home_simulator_counts_for_nothing_and_it_is_said_why():
    home = replace(ENTRY, conditions=Conditions.HOME, safety_pilot=None)
    standing = find_standing([home], ENTRY.day)
    assert standing.through is None
    assert standing.not_counted == ((home, "a simulator that is not approved counts for nothing"),)


def test_holding_does_not_count_for_tracking():
    assert find_standing([replace(ENTRY, tasks=(Task.HOLDING,))], ENTRY.day).counted == ()


def test_the_latest_entry_says_until_when():
    entries = [replace(ENTRY, day=date(2026, 6, 30)), replace(ENTRY, day=date(2026, 5, 2))]
    assert find_standing(entries, date(2026, 9, 15)).through == date(2026, 12, 31)


@pytest.mark.parametrize("entries", [[], [ENTRY], [ENTRY, replace(ENTRY, day=date(2026, 9, 1))]])
def test_the_standing_never_says_current_and_always_sends_to_the_instructor(entries: list[LogEntry]):
    said = " ".join(render_standing(find_standing(entries, ENTRY.day)))
    assert "current" not in said.lower().replace("currency", "")
    assert "Check with your instructor and the rule in force." in said
    assert f"of the entries since 2026-03-01 {len(entries) or 'none'} count" in said


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({}, None),
        (
            {"safety_pilot": None},
            "--safety-pilot: expected the safety pilot's name with a view-limiting device",
        ),
        (
            {"conditions": Conditions.HOME, "simulated_h": 0.5},
            "--simulated: expected simulated instrument time",
        ),
        ({"conditions": Conditions.VISUAL, "simulated_h": 0.5}, "--simulated: expected simulated instrument"),
        ({"conditions": Conditions.VISUAL, "actual_h": 0.5}, "--actual: expected actual instrument time in"),
        ({"actual_h": 0.1}, "--actual: expected actual instrument time in actual conditions only"),
        ({"simulated_h": 0.8, "total_h": 0.8}, None),
        ({"simulated_h": 0.9, "total_h": 0.8}, "--total: expected no more instrument time than 0.8 h in all"),
        ({"total_h": 24.0}, None),
        ({"total_h": 24.1}, "--total: expected hours, 0 to 24, got 24.1"),
        ({"total_h": float("nan")}, "--total: expected hours, 0 to 24, got nan"),
        ({"simulated_h": -0.1}, "--simulated: expected hours, 0 to 24, got -0.1"),
        ({"place": " "}, "--place: expected 1 to 200 characters on one line"),
        ({"aircraft": ""}, "--aircraft: expected 1 to 200 characters on one line"),
        ({"remarks": "two\nlines"}, "--remarks: expected 1 to 200 characters on one line"),
    ],
)
def test_an_entry_that_cannot_stand_is_told_by_field(changes: dict, message: str | None):
    problems = [str(problem) for problem in check_entry(replace(ENTRY, **changes))]
    if message is None:
        assert problems == []
    else:
        assert len(problems) == 1
        assert problems[0].startswith(message)


def test_no_instrument_time_comes_from_a_drill():
    assert ENTRY.simulated_h is None
    assert ENTRY.actual_h is None


def test_the_eight_spoke_drill_performs_tracking_and_no_holding():
    assert tasks_of(debriefed.flown()) == (Task.TRACKING,)


def test_legs_that_were_not_flown_perform_nothing():
    debrief = debriefed.flown()
    skipped = tuple(replace(leg, how="skipped", ended_s=None) for leg in debrief.legs)
    assert tasks_of(replace(debrief, legs=skipped)) == ()
    assert tasks_of(debriefed.track_alone()) == ()


def test_an_entry_comes_back_from_json_as_it_went():
    full = replace(
        ENTRY, approaches=("Nowhere, VOR",), total_h=1.5, simulated_h=0.7, is_night=True, session="s"
    )
    assert decode_entry(encode_entry(full)) == full
    assert decode_entry(encode_entry(ENTRY)) == ENTRY
