"""Legs flown once before and after: around spokes and around laps, and what they are relative to."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.drill.compiler import compile_drill
from coach.drill.model import Drill, Ending
from coach.drill.plan import plan_drill
from coach.errors import DrillError
from coach.rehearsal.rehearse import Conditions, rehearse
from coach.session.prompts import COMPLETE
from coach.store.documents import parse_document
from coach.store.drills import drills_folder
from coach.store.phrases import read_phrases

EIGHT = (drills_folder() / "eight-spoke.yaml").read_text("utf-8")

BEGIN = """
begins: {by: word, heading: arrive_course, radial: begin_radial, distance: 6}
begin:
  - {leg: arrival, turn: none, heading: previous, twist: arrive_course, tracks: true, ends_on: passage}
end:
  - {leg: away, turn: none, heading: previous, tracks: true, lasts: leg_s, ends_on: time}
"""
RADIAL = "  begin_radial: {kind: course, unit: deg magnetic, default: 335, means: Where it begins.}\n"


def drill(text: str, **settings: str) -> Drill:
    return compile_drill(parse_document(text, DrillError, name="drill", file="drill.yaml"), settings)


def around_spokes(**settings: str) -> Drill:
    text = EIGHT.replace("settings:\n", f"settings:\n{RADIAL}", 1).replace("\nspoke:", f"{BEGIN}\nspoke:", 1)
    return drill(text, **settings)


def test_eight_spokes_can_be_begun_by_word_and_followed_by_a_leg() -> None:
    compiled = around_spokes(spokes="2")
    assert [leg.leg for leg in compiled.legs] == [
        "arrival", *["outbound", "offset", "reversal", "inbound"] * 2, "away",
    ]  # fmt: skip
    assert [leg.spoke for leg in compiled.legs] == [None, 1, 1, 1, 1, 2, 2, 2, 2, None]
    assert [leg.n for leg in compiled.legs] == list(range(1, 11))
    assert (compiled.begins_on, compiled.spokes) == (Ending.WORD, 2)


def test_last_leg_goes_on_from_the_last_spokes_heading() -> None:
    legs = around_spokes(spokes="1").legs
    assert legs[-1].heading_mag_deg == legs[-2].heading_mag_deg == 290
    assert legs[-1].course_mag_deg == 290


def test_drill_around_spokes_is_planned_from_where_it_begins_to_its_end() -> None:
    plan = plan_drill(around_spokes(spokes="1"), tas_kt=90)
    assert plan.legs[0].path[0].start.distance_nm == 6.0
    assert plan.legs[0].duration_s == pytest.approx(240.0)
    assert plan.legs[1].path[0].start.distance_nm < 1e-6
    assert plan.legs[-1].path[-1].end.distance_nm > 1.4


def test_spokes_alone_compile_as_ever() -> None:
    alone, around = drill(EIGHT, spokes="3").legs, around_spokes(spokes="3").legs[1:-1]
    assert tuple(replace(leg, n=leg.n - 1) for leg in around) == alone


def test_drill_around_spokes_is_flown_to_its_end() -> None:
    plan = plan_drill(around_spokes(spokes="1"), tas_kt=90)
    rehearsal = rehearse(plan, Conditions(table=read_phrases("en"), typed=True))
    assert [leg.n for leg in rehearsal.legs] == [1, 2, 3, 4, 5, 6]
    assert rehearsal.calls[-1].what == COMPLETE
