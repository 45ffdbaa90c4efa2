"""Every drill that ships, flown by voice alone on time by its plan: what is said, how much, to its end."""

from __future__ import annotations

import re
from functools import cache

import pytest

from coach.drill.model import Ending
from coach.drill.plan import Plan, plan_drill
from coach.nav.wind import Wind
from coach.session import grammar, prompts
from coach.session.floor import WORD_S
from coach.session.machine import Options
from coach.session.progress import State, awaits, first_of_round, legs_in_round, round_of
from coach.session.prompts import NEVER_SAID, Talk, budget_words, count_of_words
from coach.session.repertoire import all_prompts
from coach.store.drills import list_drills, read_drill
from tests.session.dialogue import TABLE, Dialogue

NAMES = [listing.name for listing in list_drills()]
BEGINS_S = 60.0
CHECKPOINT_S = 2.5


@cache
def planned(name: str) -> Plan:
    return plan_drill(read_drill(name, {}), tas_kt=90, wind=Wind(from_deg=250, speed_kt=15))


@cache
def flown(name: str, talk: Talk) -> Dialogue:
    """The whole drill: the pilot's word wherever one is needed, a moment after the plan's time."""
    plan = planned(name)
    dialogue = Dialogue(plan, Options(talk=talk))
    dialogue.wait_until(BEGINS_S)
    dialogue.hear(grammar.PASSAGE if awaits(plan, 0) is Ending.PASSAGE else grammar.NEXT)
    for i, leg in enumerate(plan.legs):
        ends_s = leg.needle_alive_s if leg.needle_alive_s is not None else leg.end_s
        dialogue.wait_until(max(dialogue.at_s, BEGINS_S + max(ends_s, leg.start_s + leg.turn_s / 2) + 0.3))
        if _is_still_on(dialogue, i):
            dialogue.hear(grammar.ENDS.get(leg.leg.ends_on, grammar.NEXT))
    return dialogue.wait_until(dialogue.at_s + 20)


def _is_still_on(dialogue: Dialogue, leg_i: int) -> bool:
    progress = dialogue.session.progress
    return progress.state is State.FLYING and progress.leg_i == leg_i


def said(name: str, talk: Talk) -> list[str]:
    return [text for _, text in flown(name, talk).spoken]


@pytest.mark.parametrize("name", NAMES)
def test_drill_comes_to_its_end_by_the_pilots_words_and_the_clock(name: str) -> None:
    dialogue = flown(name, Talk.SHORT)
    assert dialogue.session.progress.state is State.COMPLETE
    assert said(name, Talk.SHORT).count(prompts.COMPLETE) == 1
    assert prompts.EARLY not in said(name, Talk.SHORT)


@pytest.mark.parametrize("talk", list(Talk))
@pytest.mark.parametrize("name", NAMES)
def test_words_of_a_round_keep_the_budget(name: str, talk: Talk) -> None:
    plan, dialogue = planned(name), flown(name, talk)
    begun = [BEGINS_S + leg.start_s for leg in plan.legs]
    firsts = [i for i in range(len(plan.legs)) if first_of_round(plan, i) == i]
    for first, following in zip(firsts, [*firsts[1:], None], strict=True):
        end_s = BEGINS_S + plan.total_s if following is None else begun[following]
        spoken = [text for at_s, text in dialogue.spoken if begun[first] <= at_s < end_s]
        words = sum(map(count_of_words, spoken))
        assert words <= budget_words(talk, legs_in_round(plan, first)), (
            round_of(plan.legs[first].leg),
            spoken,
        )


@pytest.mark.parametrize("name", NAMES)
def test_no_prompt_passes_for_atc_or_holds_a_pilots_word(name: str) -> None:
    ways = [way.lower() for phrase in TABLE.phrases for way in phrase.ways]
    allowed = re.compile(r"Passage\?|Direct to the station\. .*from passage, .*", re.IGNORECASE)
    texts = {*all_prompts(planned(name)), *(text for talk in Talk for text in said(name, talk))}
    barred = [
        (text, word)
        for text in texts
        for word in (*NEVER_SAID, *ways)
        if re.search(rf"\b{word}\b", text.lower())
        and not allowed.fullmatch(text)
        # "Throttle", "talk": listened for in callouts only, whose prompts never name them.
        and not text.lower().endswith("talk, none")
    ]
    assert barred == []


@pytest.mark.parametrize("name", NAMES)
def test_what_a_leg_opens_with_lasts_at_most_two_and_a_half_seconds(name: str) -> None:
    for planned_leg in planned(name).legs:
        text = prompts.checkpoint(planned_leg.leg)
        assert count_of_words(text) * WORD_S <= CHECKPOINT_S, text


@pytest.mark.parametrize("name", NAMES)
def test_all_that_is_said_unasked_was_rendered_before_take_off(name: str) -> None:
    rendered = {*all_prompts(planned(name))}
    assert {text for talk in Talk for text in said(name, talk)} - rendered == set()


@pytest.mark.parametrize("name", NAMES)
def test_rejoin_begins_the_round_again(name: str) -> None:
    plan = planned(name)
    dialogue = Dialogue(plan, Options())
    dialogue.wait_until(BEGINS_S)
    begun_by = grammar.PASSAGE if awaits(plan, 0) is Ending.PASSAGE else grammar.NEXT
    dialogue.hear(begun_by)
    dialogue.wait_until(BEGINS_S + 2)
    dialogue.hear(grammar.REJOIN)
    assert dialogue.session.progress.state is State.ARRIVING
    assert begun_by in dialogue.listening
    dialogue.wait_until(dialogue.at_s + 10)
    dialogue.hear(begun_by)
    assert dialogue.session.progress.leg_i == 0
    assert dialogue.session.progress.state is State.FLYING
