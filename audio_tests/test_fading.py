"""The fading rule on learners it was not fitted on. COACH_LONG=1: twenty of each kind instead of one."""

from __future__ import annotations

import os

import pytest

from audio_tests.fading import (
    MOST_REVERSALS,
    SESSIONS,
    SHOWN,
    Practice,
    count_reversals,
    draw,
    find_broken,
    practise,
    render,
    summarise,
)
from coach.rehearsal.learners import LearnerKind

LEARNERS = 20 if os.environ.get("COACH_LONG") == "1" else 1


@pytest.fixture(scope="module")
def practices() -> tuple[Practice, ...]:
    return tuple(practise(kind, f"{SHOWN} {seed}") for kind in LearnerKind for seed in range(LEARNERS))


def test_every_promise_is_kept_with_every_learner(practices):
    assert [(one.kind.value, problem) for one in practices for problem in find_broken(one)] == []


def test_no_learners_prompts_go_to_and_fro(practices):
    assert max(practice.reversals for practice in practices) <= MOST_REVERSALS


def test_changes_of_way_are_counted():
    assert [count_reversals(row) for row in ((0, 1, 1, 2), (0, 1, 0, 1), (2, 1, 1, 2))] == [0, 2, 1]


def test_the_report_has_a_line_a_kind_and_the_picture_is_drawn(practices, tmp_path):
    lines = tuple(render(summarise(practices)))
    assert [line.split()[0] for line in lines[1:-1]] == [kind.value for kind in LearnerKind]
    assert len(practices[0].sittings) == SESSIONS
    draw(practices, tmp_path / "fading.png")
    assert (tmp_path / "fading.png").read_bytes().startswith(b"\x89PNG")
