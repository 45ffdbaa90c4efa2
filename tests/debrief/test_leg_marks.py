"""The single figures of a leg whose turn went through the course."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import pytest

from coach.debrief.journal_legs import Entry
from coach.debrief.leg_bench import Bench
from coach.debrief.leg_marks import mark_leg
from coach.debrief.leg_turns import LegOnTrack
from coach.debrief.model import TurnFlown
from coach.drill.plan import plan_drill
from coach.store.drills import read_drill

PLAN = plan_drill(read_drill("eight-spoke", {"first_outbound": "360", "spokes": "1"}))
REVERSAL, INBOUND = PLAN.legs[2].leg, PLAN.legs[3].leg


class NoFixes:
    """A bench whose track has nothing to say of the needle."""

    plan = PLAN

    def during(self, _start_s: float, _end_s: float) -> tuple[int, ...]:
        return ()


def laid(leg: Any, before: Any, turn_deg: float, before_mag_deg: float) -> LegOnTrack:
    turn = TurnFlown(
        start_s=100.0, end_s=100.0 + abs(turn_deg) / 3.0, turn_deg=turn_deg, rate_deg_s=3.0,
        before_mag_deg=before_mag_deg, after_mag_deg=(before_mag_deg + turn_deg) % 360.0, by="heading",
    )  # fmt: skip
    entry = Entry(leg_n=leg.n, begun_s=100.0, ended_s=200.0)
    return LegOnTrack(
        leg=leg, before=before, begun_s=100.0, ended_s=200.0, due_s=None, how="flown", told="", turn=turn,
        is_fused=False, level_s=turn.end_s, entry=entry,
    )  # fmt: skip


def names_of(on_track: LegOnTrack) -> list[str]:
    return [mark.what for mark in mark_leg(cast(Bench, NoFixes()), on_track, None)]


@pytest.mark.parametrize(
    ("turn_deg", "is_marked"), [(180.0, True), (195.0, True), (170.0, True), (265.0, False)]
)
def test_a_turn_that_goes_on_through_the_course_has_no_roll_out(turn_deg: float, is_marked: bool):
    # Offset left of 360: 315, then right to 135.
    assert ("roll-out" in names_of(laid(REVERSAL, PLAN.legs[1].leg, turn_deg, 315.0))) is is_marked


def test_a_turn_that_ends_too_soon_keeps_its_roll_out():
    assert "roll-out" in names_of(laid(REVERSAL, PLAN.legs[1].leg, 100.0, 315.0))


@pytest.mark.parametrize(
    ("heading", "is_marked"), [(135.0, True), (91.0, True), (50.0, False), (320.0, False)]
)
def test_a_heading_that_leads_away_from_the_course_is_no_intercept(heading: float, is_marked: bool):
    # The inbound course is 180.
    on_track = laid(INBOUND, replace(REVERSAL), 45.0, heading)
    assert ("intercept angle" in names_of(on_track)) is is_marked
