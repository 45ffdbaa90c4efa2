"""Whole drills in recall and callouts, answered well, badly and not at all: speech keeps its promises."""

from __future__ import annotations

import itertools
import re

import pytest

from coach.drill.model import Ending, T
from coach.drill.plan import Plan
from coach.session.actions import Expect, Say
from coach.session.answers import Answer, Direction, Kind, heading
from coach.session.events import AnswerHeard
from coach.session.journal import decode_line, encode_line
from coach.session.machine import Options, Session
from coach.session.mastery import Element, Mastery, Step
from coach.session.progress import Progress, State
from coach.session.prompts import BUDGET_WORDS, NEVER_SAID, Talk
from coach.session.teacher import Mode
from tests.session.dialogue import TABLE, Dialogue
from tests.session.test_prompts import _said_s, _word, planned, words_a_spoke

ANSWERS = ("right", "other side", "wrong", "none", "mixed")
PLANS = [
    planned({"timer_from": timer, "sides": side}, wind)
    for timer, side, wind in (("turn", "alternate", "250/20"), ("level", "left", "360/0"))
]


def given(how: str, expected: Answer, n: int) -> Answer | None:
    """What is answered to the question of that number."""
    how = ANSWERS[n % 4] if how == "mixed" else how
    if how == "none":
        return None
    if how == "right" or expected.kind is Kind.NUMBER:
        return expected
    if how == "wrong" or expected.direction is None:
        return heading(expected.value + 100, expected.direction)
    other = Direction.LEFT if expected.direction is Direction.RIGHT else Direction.RIGHT
    return heading(expected.value, other)


class Flight(Dialogue):
    """Answers what is asked three seconds later."""

    def __init__(self, plan: Plan, options: Options, how: str) -> None:
        self._how = how
        self._n = 0
        self.options = options
        self.asked: list[tuple[float, str, Progress]] = []
        """(when, question, where the drill stood)."""
        super().__init__(plan, options)

    def _carry_out(self, action: object) -> None:
        super()._carry_out(action)  # type: ignore[arg-type]
        if isinstance(action, Say) and action.text.endswith("?") and action.text != "Passage?":
            self.asked.append((self.at_s, action.text, self.session.progress))
        if not isinstance(action, Expect):
            return
        self._pending = [event for event in self._pending if not isinstance(event, AnswerHeard)]
        answer = None if action.answer is None else given(self._how, action.answer, self._n)
        self._n += action.answer is not None
        if answer is not None:
            self._pending.append(heard(answer, self.at_s + 3.0, self.at_s + 4.0))


def heard(answer: Answer, onset_s: float, at_s: float) -> AnswerHeard:
    return AnswerHeard(
        at_s=at_s,
        onset_s=onset_s,
        kind=answer.kind,
        digits=answer.digits,
        direction=answer.direction,
        is_right=False,
    )


def flown(plan: Plan, mode: Mode, how: str, talk: Talk = Talk.SHORT, step: Step = Step.FULL) -> Flight:
    """The whole drill on time by the plan."""
    known = tuple(Mastery(element=element, known=0.9, answers=60, step=step) for element in Element)
    dialogue = Flight(plan, Options(talk=talk, mode=mode, known=known), how)
    for i in range(len(plan.legs)):
        dialogue.wait_until(max(dialogue.at_s, 60.01 + _said_s(plan, i)))
        if dialogue.session.progress.leg_i != i or i == 0:
            dialogue.hear(_word(plan, i))
    dialogue.wait_until(60.0 + plan.total_s + 1)
    dialogue.hear("station passage")
    return dialogue.wait_until(dialogue.at_s + 20)


FLOWN = {
    (how, talk, step, n): flown(plan, Mode.RECALL, how, talk, step)
    for (n, plan), (how, talk, step) in itertools.product(
        enumerate(PLANS),
        [
            *((how, Talk.SHORT, Step.FULL) for how in ANSWERS),
            ("mixed", Talk.FULL, Step.FULL),
            ("mixed", Talk.CUE, Step.FULL),
            ("mixed", Talk.SHORT, Step.CUE),
            ("right", Talk.SHORT, Step.SILENCE),
        ],
    )
}
CALLED = [flown(plan, Mode.CALLOUT, how) for plan in PLANS for how in ("none", "mixed", "right")]
ALL_SAID = sorted({text for dialogue in (*FLOWN.values(), *CALLED) for _, text in dialogue.spoken})


@pytest.mark.parametrize("key", list(FLOWN), ids=str)
def test_words_a_spoke_keep_the_budget(key: tuple[str, Talk, Step, int]):
    assert max(words_a_spoke(FLOWN[key], PLANS[key[3]])) <= BUDGET_WORDS[key[1]]


@pytest.mark.parametrize("n", [0, 1])
def test_every_drill_comes_to_its_end(n: int):
    for key, dialogue in FLOWN.items():
        assert dialogue.session.progress.state is State.COMPLETE, key


def test_each_timed_checkpoint_is_asked_for_and_one_other_question_a_spoke():
    texts = [text for _, text in FLOWN["right", Talk.SHORT, Step.FULL, 1].spoken if text.endswith("?")]
    assert texts.count("Coming turn?") == 16
    assert len(texts) - 16 == 8
    assert len(set(texts)) >= 5


def test_what_is_known_is_asked_and_said_less():
    words = {
        step: max(words_a_spoke(FLOWN[how, Talk.SHORT, step, 1], PLANS[1]))
        for how, step in (("right", Step.FULL), ("mixed", Step.CUE), ("right", Step.SILENCE))
    }
    assert words[Step.SILENCE] < words[Step.FULL]
    assert words[Step.SILENCE] <= 12


def test_nothing_is_asked_in_a_turn_or_in_the_last_forty_seconds():
    for n, plan in enumerate(PLANS):
        for at_s, text, progress in FLOWN["right", Talk.SHORT, Step.FULL, n].asked:
            leg = plan.legs[progress.leg_i]
            assert at_s >= progress.begun_s + leg.turn_s, text
            if leg.leg.ends_on is Ending.PASSAGE:
                assert at_s <= progress.begun_s + leg.duration_s - 40.0, text


@pytest.mark.parametrize("word", NEVER_SAID)
def test_words_of_air_traffic_control_and_praise_are_never_said(word: str):
    assert [text for text in ALL_SAID if re.search(rf"\b{word}\b", text.lower())] == []


def test_no_prompt_holds_a_phrase_of_the_pilot_but_the_published_exceptions():
    # "Throttle" and "talk" are listened for in callouts only, where the full amount of talk never names them.
    ways = [way.lower() for phrase in TABLE.phrases for way in phrase.ways]
    holding = {text for text in ALL_SAID for way in ways if re.search(rf"\b{way}\b", text.lower())}
    allowed = re.compile(r"passage\?|.*throttle, talk, none")
    assert {text for text in holding if not allowed.fullmatch(text.lower())} == set()


def test_no_prompt_of_a_callout_names_a_t_as_the_pilot_does():
    said = [text.lower() for dialogue in CALLED for _, text in dialogue.spoken]
    assert [text for text in said if re.search(rf"\b({'|'.join(T)})\b", text)] == []
    assert any(text.startswith("course") for text in said)


def test_unsolicited_prompts_are_five_seconds_apart():
    for dialogue in FLOWN.values():
        for (before_s, before), (after_s, after) in itertools.pairwise(dialogue.spoken):
            if after.endswith("?"):
                assert after_s - (before_s + 0.4 * len(before.split())) >= 4.99, (before, after)


@pytest.mark.parametrize("mode", [Mode.RECALL, Mode.CALLOUT])
def test_a_journal_of_it_is_read_back_and_handled_again_to_the_same_actions(mode: Mode):
    flight = flown(PLANS[1], mode, "mixed")
    session = Session(PLANS[1], TABLE, flight.options)
    for event, actions in flight.all:
        kept_event = decode_line(encode_line(event))
        assert kept_event == event
        assert [decode_line(encode_line(action)) for action in actions] == list(actions)
        assert session.handle(kept_event) == actions  # type: ignore[arg-type]
