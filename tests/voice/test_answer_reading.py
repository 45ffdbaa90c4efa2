"""The verdict on an answer: clear, doubtful, too long, and never in favour of the expected one."""

from __future__ import annotations

import numpy as np
import pytest

from coach.session.answers import Answer, Kind, heading
from coach.voice.answer_reading import (
    NOTHING_FITS,
    AnswerLimits,
    AnswerReading,
    Candidate,
    Verdict,
    judge_candidates,
)
from coach.voice.lengths import find_usual_s

LIMITS = AnswerLimits(mean=-1.0, margin=1.0, longest=0.8, shortest=-0.8)
WAY = "three one five"
USUAL_S = find_usual_s(WAY)


def candidate(value_deg: int, score: float, *, mean: float = -0.5) -> Candidate:
    return Candidate(answer=heading(value_deg), way=WAY, score=score, mean=mean)


EXPECTED = heading(315)


def judge(*candidates: Candidate, expected: Answer = EXPECTED, voice_s: float = USUAL_S) -> AnswerReading:
    return judge_candidates(candidates, expected, voice_s, LIMITS, spread=3.0)


def test_clear_answer_is_right_or_another_by_what_was_expected() -> None:
    heard = candidate(315, -1.0), candidate(305, -2.5)
    assert judge(*heard).verdict is Verdict.RIGHT
    assert judge(*heard, expected=heading(305)).verdict is Verdict.ANOTHER
    assert judge(*heard, expected=heading(305)).answer == heading(315)


def test_expected_answer_gets_no_bonus() -> None:
    reading = judge(candidate(315, -1.0), candidate(305, -0.9))
    assert reading == AnswerReading(
        verdict=Verdict.NOT_UNDERSTOOD,
        answer=None,
        score=-0.5,
        margin=pytest.approx(0.1),
        reason="two answers fit",
    )


def test_answer_that_stands_alone_has_the_margin_that_was_looked_for() -> None:
    assert judge(candidate(315, -1.0)).margin == 3.0


NUMBER = Answer(kind=Kind.NUMBER, digits="412268")
FIRST_HALF = Candidate(
    answer=Answer(kind=Kind.NUMBER, digits="412"), way="four one two", score=-1.2, mean=-0.3
)
WHOLE = Candidate(answer=NUMBER, way="four one two two six eight", score=-1.4, mean=-0.2)
TWICE = Candidate(
    answer=Answer(kind=Kind.NUMBER, digits="412268412268"),
    way=" ".join(2 * [WHOLE.way]),
    score=-1.4,
    mean=-0.1,
)


@pytest.mark.parametrize(("other", "slowness"), [(FIRST_HALF, 1.8), (TWICE, 1.0)], ids=["half", "twice"])
def test_length_of_the_voice_tells_a_number_from_its_half_and_its_double(
    other: Candidate, slowness: float
) -> None:
    reading = judge(other, WHOLE, expected=NUMBER, voice_s=slowness * find_usual_s(WHOLE.way))
    assert reading.verdict is Verdict.RIGHT


def test_unusual_length_makes_room_for_an_answer_that_was_not_looked_for() -> None:
    reading = judge(candidate(315, -1.0), voice_s=2.1 * USUAL_S)
    assert reading.margin == pytest.approx(3.0 - 2.5 * (np.log(2.1) - 0.6), abs=1e-6)


@pytest.mark.parametrize(
    ("candidates", "voice_s", "reason"),
    [
        ((), USUAL_S, NOTHING_FITS),
        ((candidate(315, -9.0, mean=-1.1),), USUAL_S, NOTHING_FITS),
        ((candidate(315, -1.0),), 2.3 * USUAL_S, "longer than the answer"),
        ((candidate(315, -1.0),), 0.4 * USUAL_S, "shorter than the answer"),
        ((candidate(315, -1.0), candidate(305, -1.9)), USUAL_S, "two answers fit"),
    ],
    ids=["nothing", "unlikely", "long", "short", "doubtful"],
)
def test_answer_is_refused_for_its_reason(
    candidates: tuple[Candidate, ...], voice_s: float, reason: str
) -> None:
    reading = judge(*candidates, voice_s=voice_s)
    assert (reading.verdict, reading.answer, reading.reason) == (Verdict.NOT_UNDERSTOOD, None, reason)


def test_lead_says_less_where_nothing_fits_well() -> None:
    limits = AnswerLimits(mean=-1.0, margin=1.0, share=0.5)
    well = candidate(315, -1.0), candidate(305, -2.2)
    badly = candidate(315, -4.0), candidate(305, -5.2)
    verdicts = [judge_candidates(c, EXPECTED, USUAL_S, limits, spread=3.0).verdict for c in (well, badly)]
    assert verdicts == [Verdict.RIGHT, Verdict.NOT_UNDERSTOOD]
