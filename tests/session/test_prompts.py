"""Every prompt that the drill can produce: budget, forbidden words, length, the pilot's own phrases."""

from __future__ import annotations

import itertools
import re

import pytest

from coach.drill.plan import Plan, plan_drill
from coach.nav.wind import parse_wind
from coach.session import prompts
from coach.session.floor import WORD_S
from coach.session.machine import Options
from coach.session.prompts import BUDGET_WORDS, NEVER_SAID, Talk, count_of_words
from coach.store.drills import read_drill
from tests.session.dialogue import TABLE, Dialogue

PLANS = [
    {"timer_from": timer, "sides": side, "rotation": rotation}
    for timer, side, rotation in itertools.product(
        ("turn", "level"), ("alternate", "left", "right"), ("45 left", "45 right")
    )
]


def planned(settings: dict[str, str], wind: str = "250/20") -> Plan:
    drill = read_drill("eight-spoke", {"first_outbound": "240", **settings})
    return plan_drill(drill, tas_kt=90, wind=parse_wind(wind), declination_deg=None)


def flown(plan: Plan, talk: Talk, *, asks: bool = False) -> Dialogue:
    """The whole drill on time by the plan; with `asks`, everything that a pilot can ask for besides."""
    dialogue = Dialogue(plan, Options(talk=talk))
    for i, leg in enumerate(plan.legs):
        first_s = 60.0 + leg.start_s
        dialogue.wait_until(max(dialogue.at_s, 60.01 + _said_s(plan, i)))
        if dialogue.session.progress.leg_i != i or i == 0:
            dialogue.hear(_word(plan, i))
        if asks:
            _ask_everything(dialogue, first_s + 20)
    dialogue.wait_until(60.0 + plan.total_s + 1)
    dialogue.hear("station passage")
    return dialogue.wait_until(dialogue.at_s + 20)


def _said_s(plan: Plan, leg_i: int) -> float:
    """When the pilot says that the leg of that index begins; needle alive not before half-way round."""
    before = plan.legs[leg_i - 1] if leg_i else None
    if before is None or before.needle_alive_s is None:
        return plan.legs[leg_i].start_s
    return max(before.needle_alive_s, before.start_s + before.turn_s / 2)


def _word(plan: Plan, leg_i: int) -> str:
    ending = plan.legs[leg_i - 1].leg.ends_on.value if leg_i else "passage"
    return {"passage": "station passage", "intercept": "needle alive"}.get(ending, "next leg")


def _ask_everything(dialogue: Dialogue, at_s: float) -> None:
    dialogue.wait_until(max(at_s, dialogue.at_s))
    for phrase in ("where now", "time", "say again", "stand by", "resume drill", "rejoin", "disregard"):
        dialogue.hear(phrase, by="key")
        dialogue.wait_until(dialogue.at_s + 0.5)
    dialogue.mishear()
    dialogue.mishear()


def words_a_spoke(dialogue: Dialogue, plan: Plan) -> list[int]:
    """Words by spoke, counted from each passage on."""
    starts = [60.0 + leg.start_s for leg in plan.legs if leg.leg.leg == "outbound"]
    ends = [*starts[1:], 60.0 + plan.total_s]
    return [
        sum(count_of_words(text) for at_s, text in dialogue.spoken if start <= at_s < end)
        for start, end in zip(starts, ends, strict=True)
    ]


ALL_SAID = [
    text
    for settings in PLANS
    for talk in Talk
    for text in {said for _, said in flown(planned(settings), talk, asks=True).spoken}
]


def test_the_collection_holds_the_whole_repertoire():
    kinds = {
        "Ready",
        "Left",
        "Right",
        "Ten seconds",
        "Inbound",
        "Early needle",
        "Late needle",
        "Hold heading",
    }
    kinds |= {"Drill complete", "Direct to the station", "Spoke one", "Start clock", "Course", "Use key"}
    assert not {kind for kind in kinds if not any(text.startswith(kind) for text in ALL_SAID)}


@pytest.mark.parametrize("word", NEVER_SAID)
def test_words_of_air_traffic_control_and_praise_are_never_said(word: str):
    assert [text for text in ALL_SAID if re.search(rf"\b{word}\b", text.lower())] == []


@pytest.mark.parametrize("talk", list(Talk))
@pytest.mark.parametrize("settings", PLANS, ids=lambda settings: " ".join(settings.values()))
def test_words_a_spoke_keep_the_budget(settings: dict[str, str], talk: Talk):
    plan = planned(settings)
    assert max(words_a_spoke(flown(plan, talk), plan)) <= BUDGET_WORDS[talk]


def test_no_prompt_holds_a_phrase_of_the_pilot_but_the_published_exceptions():
    ways = [way.lower() for phrase in TABLE.phrases for way in phrase.ways]
    holding = {text for text in ALL_SAID for way in ways if re.search(rf"\b{way}\b", text.lower())}
    # "Throttle", "talk": listened for in callouts only, whose prompts never name them (test_taught_prompts).
    holding = {text for text in holding if not text.lower().endswith("throttle, talk, none")}
    allowed = re.compile(r"Passage\?|Direct to the station\. Spoke \S+ from passage, outbound .*")
    assert {text for text in holding if not allowed.fullmatch(text)} == set()


def test_checkpoint_prompts_last_at_most_two_and_a_half_seconds():
    checkpoints = [
        text for text in ALL_SAID if re.match(r"(Left|Right|Inbound|Outbound),? \w+ \w+ \w+$", text)
    ]
    assert checkpoints
    assert max(count_of_words(text) for text in checkpoints) * WORD_S <= 2.5


def test_intercept_and_inbound_turns_leave_the_other_ts_idle():
    plan = planned({"spokes": "1"})
    reversal, inbound = plan.legs[2].leg, plan.legs[3].leg
    order, timer = plan.drill.five_ts, plan.drill.timer_from
    assert prompts.five_ts(reversal, order=order, timer_from=timer) == (
        "Stop clock",
        "Twist, throttle, talk, none",
    )
    assert prompts.five_ts(inbound, order=order, timer_from=timer) == ("Clock, twist, throttle, talk, none",)


def test_five_ts_follow_the_order_of_the_drill():
    plan = planned({"spokes": "1"})
    order = tuple(reversed(plan.drill.five_ts))
    offset = plan.legs[1].leg
    assert prompts.five_ts(offset, order=order, timer_from=plan.drill.timer_from) == (
        "Talk, throttle, none",
        "Course zero six zero",
        "Clock runs on",
    )
