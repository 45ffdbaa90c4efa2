"""Drills of other shapes in recall and callouts, by keys, by one who knows. COACH_LONG=1: every drill."""

from __future__ import annotations

import os

import pytest

from coach.drill.plan import plan_drill
from coach.rehearsal.learners import Learner, LearnerKind, Traits
from coach.rehearsal.rehearse import Conditions, Rehearsal, rehearse
from coach.session.teacher import Mode
from coach.settings import Settings
from coach.store.drills import list_drills, read_drill
from tests.session.dialogue import TABLE

SOME = ("hold-station", "orientation", "timed-turns", "45-180-level", "dme-arc")
NAMES = [listing.name for listing in list_drills()] if os.environ.get("COACH_LONG") else SOME


def flown(name: str, mode: Mode) -> Rehearsal:
    plan = plan_drill(read_drill(name, {}))
    learner = Learner(Traits(kind=LearnerKind.KNOWS, known=1.0, answers_after_s=2.0), session=1, seed="a")
    return rehearse(plan, Conditions(table=TABLE, settings=Settings(mode=mode), typed=True, learner=learner))


@pytest.mark.parametrize("mode", [Mode.RECALL, Mode.CALLOUT])
@pytest.mark.parametrize("name", NAMES)
def test_one_who_knows_flies_it_without_a_contradiction(name: str, mode: Mode):
    flight = flown(name, mode)
    assert len(flight.legs) == len(flight.plan.legs)
    assert "disregard" not in [said.phrase for said in flight.said]
    judged = [what for _, what in flight.judged]
    missed = [what for what in judged if what.endswith((", wrong", "no answer")) or "missing" in what]
    assert missed == []


def test_a_leg_that_only_the_coach_can_time_is_called_in_callouts():
    calls = [call.what for call in flown("hold-station", Mode.CALLOUT).calls]
    assert [what for what in calls if what.startswith("Ten seconds. ")]


def test_a_prompt_of_a_drill_is_taken_for_no_question():
    flight = flown("orientation", Mode.RECALL)
    assert "Which radial?" in [call.what for call in flight.calls]
    assert [said.phrase for said in flight.said if said.phrase.startswith("radial")] != []
