"""The simulated learners do what their kind says."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from coach.rehearsal.learners import Learner, LearnerKind, Reply, draw_traits
from coach.session.answers import Answer, Direction, Kind, heading
from coach.session.recall import Question, Verdict, judge

LEFT_195 = heading(195, Direction.LEFT)


def replies(kind: LearnerKind, *, session: int = 1, told: float = 1.0, n: int = 300) -> Iterable[Reply]:
    for seed in map(str, range(n)):
        learner = Learner(draw_traits(kind, seed), session=session, seed=seed)
        yield learner.reply(Question.TURN, LEFT_195, lambda _element: told)


def share_right(kind: LearnerKind, *, session: int = 1, told: float = 1.0) -> float:
    found = [
        judge(Question.TURN, LEFT_195, reply.answer) for reply in replies(kind, session=session, told=told)
    ]
    return sum(one.verdict is Verdict.RIGHT for one in found) / len(found)


def median_s(kind: LearnerKind, session: int) -> float:
    times = sorted(reply.after_s for reply in replies(kind, session=session))
    return times[len(times) // 2]


def test_one_who_knows_is_right_whatever_is_told():
    assert share_right(LearnerKind.KNOWS, told=0.0) > 0.9
    assert median_s(LearnerKind.KNOWS, 1) < 3.5


def test_one_who_guesses_is_hardly_ever_right():
    assert 0.0 < share_right(LearnerKind.GUESSES) < 0.15


def test_a_slow_one_knows_and_becomes_quicker():
    assert share_right(LearnerKind.SLOW) > 0.8
    assert median_s(LearnerKind.SLOW, 1) > 8.0 > median_s(LearnerKind.SLOW, 10)


def test_one_who_leans_is_lost_without_his_prompts():
    told, untold = share_right(LearnerKind.LEANS), share_right(LearnerKind.LEANS, told=0.0)
    assert told > 0.7
    assert untold < 0.35


def test_one_who_forgets_does_so_after_his_break_and_learns_again():
    shares = [share_right(LearnerKind.FORGETS, session=session) for session in (4, 6, 10)]
    assert shares[0] > 0.9
    assert shares[1] < 0.4
    assert shares[1] < shares[2] < shares[0]


@pytest.mark.parametrize("kind", list(LearnerKind))
def test_the_same_seed_answers_the_same_and_another_is_another(kind: LearnerKind):
    assert draw_traits(kind, "a") == draw_traits(kind, "a")
    assert draw_traits(kind, "a") != draw_traits(kind, "b")
    once, again = (list(replies(kind, n=20)) for _ in range(2))
    assert once == again


@pytest.mark.parametrize(
    ("question", "expected"),
    [
        (Question.SPOKE, Answer(kind=Kind.NUMBER, digits="2")),
        (Question.SECONDS, Answer(kind=Kind.NUMBER, digits="40")),
        (Question.RADIAL, Answer(kind=Kind.RADIAL, digits="240")),
        (Question.COURSE, Answer(kind=Kind.COURSE, digits="060")),
    ],
)
def test_every_answer_is_of_the_kind_asked_for(question: Question, expected: Answer):
    for kind in LearnerKind:
        learner = Learner(draw_traits(kind, "a"), session=1, seed="a")
        for _ in range(50):
            assert learner.reply(question, expected, lambda _element: 0.5).answer.kind is expected.kind
