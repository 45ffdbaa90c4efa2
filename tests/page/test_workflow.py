"""Every prompt of the session that is for one of the five Ts finds its cell."""

from __future__ import annotations

import pytest

from coach.drill.model import T
from coach.drill.plan import plan_drill
from coach.page.workflow import NOTHING, Workflow
from coach.session import prompts
from coach.session.events import PhraseHeard, Woken
from coach.session.machine import Options
from coach.session.prompts import Talk
from coach.store.drills import list_drills, read_drill
from tests.session.dialogue import Dialogue, eight_spoke


def test_each_t_is_found_by_its_prompt():
    plan = eight_spoke(spokes=1)
    workflow = Workflow(plan)
    offset = plan.legs[1].leg
    assert workflow.call((1, 2), 1, prompts.checkpoint(offset), 9.0) == 2
    assert workflow.call((2, 3), 2, prompts.course(offset) or "", 12.0) == 2
    assert [cell["called_s"] for cell in workflow.rows[2]["cells"]] == [9.0, None, 12.0, None, None]


@pytest.mark.parametrize(
    "text", ["Ten seconds. Left, one niner five", "Early", "Passage?", "Hold heading", ""]
)
def test_a_prompt_for_no_t_fills_no_cell(text: str):
    assert Workflow(eight_spoke(spokes=1)).call((1, 2), 1, text, 9.0) is None


def test_the_same_prompt_again_changes_nothing():
    workflow = Workflow(eight_spoke(spokes=1))
    text = "Left, two four zero"
    assert (workflow.call((1, 2), 1, text, 9.0), workflow.call((1, 2), 2, text, 14.0)) == (1, None)
    assert workflow.rows[1]["cells"][0]["called_s"] == 9.0


def test_a_bare_way_goes_to_the_leg_that_has_not_been_called():
    workflow = Workflow(eight_spoke(spokes=1))
    assert workflow.call((1, 2), 1, "Left", 9.0) == 1
    assert workflow.call((1, 2), 2, "Left", 69.0) == 2


@pytest.mark.parametrize(("text", "t"), [("Left", 0), ("One niner five", 0), ("Course", 2)])
def test_what_is_said_of_a_turn_that_is_half_known_finds_its_cell(text: str, t: int):
    workflow = Workflow(eight_spoke(spokes=1))
    assert workflow.call((2, 3), 1, text, 9.0) == 2
    assert workflow.rows[2]["cells"][t]["called_s"] == 9.0


def test_full_talk_fills_every_cell_that_has_something_to_do():
    plan = eight_spoke(spokes=1)
    dialogue = Dialogue(plan, Options(talk=Talk.FULL)).wait_until(50.4)
    dialogue.handle(PhraseHeard(at_s=50.4, onset_s=50.0, phrase="station passage", by="voice"))
    dialogue.wait_until(140.0).handle(Woken(at_s=140.0, onset_s=140.0))
    workflow = Workflow(plan)
    for i, (at_s, text) in enumerate(dialogue.spoken):
        workflow.call((1, 2), i, text, at_s)
    for n in (1, 2):
        cells = workflow.rows[n]["cells"]
        assert [cell["text"] for cell in cells if cell["called_s"] is None and cell["text"] != NOTHING] == []


@pytest.mark.parametrize("name", [drill.name for drill in list_drills()])
def test_every_drill_has_a_cell_for_each_t_of_each_leg(name: str):
    plan = plan_drill(read_drill(name, {}))
    rows = Workflow(plan).rows
    assert list(rows) == [leg.leg.n for leg in plan.legs]
    assert all(len(row["cells"]) == len(plan.drill.five_ts) for row in rows.values())
    assert all(cell["text"] for row in rows.values() for cell in row["cells"])


def test_what_the_order_leaves_out_is_confirmed_nowhere():
    plan = eight_spoke(spokes=1)
    workflow = Workflow(plan)
    workflow.confirm(1, T.TALK, "voice")
    assert workflow.rows[1]["cells"][-1]["by"] == "voice"
