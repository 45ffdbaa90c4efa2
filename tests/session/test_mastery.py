"""What is known of each element, and that its prompts fade and come back without going to and fro."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.session.mastery import AGAIN, LEAST_ANSWERS, Element, Fading, Mastery, Step, nothing_known

ANSWERS = 16
"""In a session of eight spokes."""


def session(mastery: Mastery, *worths: float) -> Mastery:
    for worth in worths:
        mastery = mastery.after_answer(worth)
    return mastery.after_session(len(worths))


def reversals(steps: list[int]) -> int:
    changes = [after - before for before, after in pairwise(steps) if after != before]
    return sum(before * after < 0 for before, after in pairwise(changes))


def faded(step: Step) -> Fading:
    return Fading((Mastery(element=Element.HEADING, known=1.0, answers=40, step=step),))


def test_one_of_whom_nothing_is_known_is_told_everything():
    assert {Fading().step(element) for element in Element} == {Step.FULL}
    assert {mastery.element for mastery in nothing_known()} == set(Element)


def test_prompts_fade_by_one_step_a_session_to_silence():
    mastery, steps = Mastery(element=Element.SIDE), []
    for _ in range(5):
        mastery = session(mastery, *[1.0] * ANSWERS)
        steps.append(mastery.step)
    assert steps == [1, 2, 3, 3, 3]


def test_one_who_forgets_gets_his_prompts_back_step_by_step():
    mastery, steps = Mastery(element=Element.SIDE, known=1.0, answers=60, step=3, held=6), []
    for _ in range(4):
        mastery = session(mastery, *[0.0] * ANSWERS)
        steps.append(mastery.step)
    assert steps == [2, 1, 0, 0]


def test_first_answers_are_averaged_and_old_ones_fade():
    mastery = Mastery(element=Element.SIDE).after_answer(1.0).after_answer(0.0)
    assert mastery.known == 0.5
    for _ in range(60):
        mastery = mastery.after_answer(1.0)
    assert mastery.known > 0.98


def test_a_session_with_too_few_answers_changes_no_step():
    mastery = Mastery(element=Element.TIMER, known=1.0, answers=30)
    assert session(mastery, *[1.0] * (LEAST_ANSWERS - 1)).step == 0
    assert session(mastery, *[1.0] * LEAST_ANSWERS).step == 1


def test_a_mistake_brings_the_prompt_back_one_step_at_once():
    fading = faded(Step.SILENCE)
    fading.note(Element.HEADING, 0.0)
    fading.note(Element.HEADING, 0.0)
    assert fading.step(Element.HEADING) is Step.CUE


def test_right_answers_take_it_away_again():
    fading = faded(Step.SILENCE)
    fading.note(Element.HEADING, 0.5)
    for _ in range(AGAIN - 1):
        fading.note(Element.HEADING, 1.0)
    assert fading.step(Element.HEADING) is Step.CUE
    fading.note(Element.HEADING, 1.0)
    assert fading.step(Element.HEADING) is Step.SILENCE


def test_a_mistake_about_one_element_leaves_the_others_alone():
    fading = Fading(Mastery(element=element, known=1.0, answers=40, step=2) for element in Element)
    fading.note(Element.HEADING, 0.0)
    assert [element for element in Element if fading.step(element) is not Step.CUE] == [Element.HEADING]


def test_more_and_less_talk_rule_over_the_step():
    fading = faded(Step.CUE)
    fading.ask_for(1)
    assert fading.step(Element.HEADING) is Step.SHORT
    for _ in range(9):
        fading.ask_for(-1)
    assert fading.step(Element.HEADING) is Step.SILENCE
    fading.ask_for(1)
    fading.ask_for(1)
    fading.ask_for(1)
    assert fading.step(Element.HEADING) is Step.CUE


def test_what_the_pilot_asked_for_is_not_kept():
    fading = faded(Step.CUE)
    fading.ask_for(1)
    assert {mastery.step for mastery in fading.after} == {Step.CUE, Step.FULL}


def test_the_coach_says_why():
    fading = faded(Step.CUE)
    assert fading.why(Element.HEADING) == "heading: cue, 100% known"
    fading.note(Element.HEADING, 0.0)
    fading.ask_for(1)
    assert fading.why(Element.HEADING) == "heading: full, 92% known, missed just now, more talk"
    assert fading.why(Element.TIMER) == "timer: full, not asked yet, more talk"


def test_the_weakest_element_is_the_one_known_least_then_asked_least():
    fading = Fading((Mastery(element=Element.HEADING, known=1.0, answers=9),))
    assert fading.weakest((Element.HEADING, Element.COURSE)) is Element.COURSE
    fading.note(Element.COURSE, 0.0)
    assert fading.weakest((Element.COURSE, Element.TIMER)) is Element.TIMER
    assert fading.weakest(()) is None


@given(st.lists(st.sampled_from((0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)), min_size=10, max_size=40))
def test_no_element_changes_its_way_more_than_twice_in_any_ten_sessions(shares: list[float]):
    mastery, steps = Mastery(element=Element.SIDE), []
    for share in shares:
        steps.append(mastery.step)
        mastery = session(mastery, *[share] * 40)
    assert max(reversals(steps[n : n + 10]) for n in range(len(steps) - 9)) <= 2


@given(st.lists(st.lists(st.sampled_from((0.0, 0.5, 1.0)), max_size=20), max_size=20))
def test_known_and_step_stay_in_their_ranges(sessions: list[list[float]]):
    mastery = Mastery(element=Element.SIDE)
    for worths in sessions:
        before, mastery = mastery, session(mastery, *worths)
        assert 0.0 <= mastery.known <= 1.0
        assert abs(mastery.step - before.step) <= 1
        assert 0 <= mastery.step <= 3


@pytest.mark.parametrize("step", list(Step))
def test_an_unknown_element_begins_in_full_beside_known_ones(step: Step):
    assert faded(step).step(Element.SIDE) is Step.FULL
