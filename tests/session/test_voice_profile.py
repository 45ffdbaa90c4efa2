"""Verdicts on a pilot's takes, and thresholds that never leave their bounds."""

from __future__ import annotations

import pytest

from coach.drill.plan import plan_drill
from coach.session.grammar import ALWAYS, leg_phrases
from coach.session.progress import Progress, State
from coach.session.voice_profile import (
    Said,
    Scale,
    Take,
    bound,
    find_shift,
    find_stronger,
    judge,
    listened_beside,
)
from coach.store.phrases import read_phrases
from tests.drill.eight_spoke import eight_spoke

SCALE = Scale(
    recogniser="fake",
    least=-2.0,
    least_margin=0.5,
    drop=0.5,
    most_raised=1.0,
    attracting=frozenset({"next leg"}),
    floors={"next leg": -3.0, "time": -2.0, "passage": -1.0},
)


def heard(score: float | None, *, phrase: str = "next leg", margin: float | None = 3.0) -> Take:
    return Take(understood=phrase, score=score, margin=margin)


def missed(reason: str = "no phrase fits", score: float | None = None) -> Take:
    return Take(understood=None, reason=reason, score=score)


def said(*takes: Take, way: str = "next leg", phrase: str = "next leg") -> Said:
    return Said(way=way, phrase=phrase, takes=takes)


def test_phrase_well_above_the_threshold_is_not_weak() -> None:
    verdict = judge(said(heard(0.0), heard(-0.2), heard(0.1)), SCALE)
    assert verdict.weaknesses == ()
    assert verdict.surplus == pytest.approx(1.8)
    assert verdict.said.understood_n == 3


@pytest.mark.parametrize(
    ("takes", "weaknesses"),
    [
        ((heard(0.0), heard(0.0), missed()), ("not understood (no phrase fits)",)),
        ((missed("too long"), missed("too long"), heard(0.0)), ("not understood (too long)",)),
        ((heard(0.0), heard(None, phrase="time"), heard(0.0)), ("heard as 'time'",)),
        ((heard(0.0), heard(-1.6), heard(0.0)), ("low score",)),
        ((heard(0.0), heard(0.0, margin=0.9), heard(0.0)), ("another phrase close behind",)),
    ],
    ids=["missed", "no voice", "another", "low score", "close runner-up"],
)
def test_weak_phrase_is_told_with_its_reason(takes: tuple[Take, ...], weaknesses: tuple[str, ...]) -> None:
    assert judge(said(*takes), SCALE).weaknesses == weaknesses


def test_threshold_goes_below_the_lowest_take_by_what_the_next_may_drop() -> None:
    assert find_shift(said(heard(-1.9), missed(score=-2.2), heard(-1.8)), SCALE) == pytest.approx(-0.7)


def test_threshold_never_goes_below_what_is_no_command_has_reached() -> None:
    takes = (missed(score=-5.0), missed(score=-4.0), heard(-1.9))
    assert find_shift(said(*takes), SCALE) == pytest.approx(-1.0)
    assert find_shift(said(*takes, way="time"), SCALE) == 0.0
    # Foreign words reach above the usual threshold: that is no reason to move it up by itself.
    assert find_shift(said(*takes, way="passage"), SCALE) == 0.0


def test_way_that_was_never_measured_is_never_lowered() -> None:
    assert find_shift(said(missed(score=-2.4), missed(score=-2.4), way="bookmark"), SCALE) == 0.0


def test_threshold_is_raised_to_where_the_next_take_may_lie_and_no_further_than_allowed() -> None:
    assert find_shift(said(heard(-1.2), heard(-1.0), heard(-0.9)), SCALE) == pytest.approx(0.3)
    assert find_shift(said(heard(5.0), heard(5.0), heard(5.0)), SCALE) == pytest.approx(1.0)


def test_threshold_that_nothing_foreign_passes_is_never_raised() -> None:
    assert find_shift(said(heard(5.0), heard(5.0), heard(5.0), way="time"), SCALE) == 0.0


def test_one_take_moves_nothing() -> None:
    assert find_shift(said(heard(-1.9), missed(), missed()), SCALE) == 0.0


def test_bounds_hold_whatever_is_asked() -> None:
    assert bound(-99.0, "Next Leg", SCALE) == -3.0
    assert bound(99.0, "next leg", SCALE) == -1.0


def test_way_understood_more_often_is_the_stronger_one() -> None:
    weak = judge(said(heard(-1.0), missed(), missed(), way="passage", phrase="station passage"), SCALE)
    take = heard(-1.5, phrase="station passage")
    strong = judge(said(take, take, take, way="station passage", phrase="station passage"), SCALE)
    assert find_stronger((weak, strong)) == strong
    assert find_stronger((strong, weak)) is None


def test_of_two_ways_understood_alike_the_higher_score_is_stronger() -> None:
    low = judge(said(heard(-1.9), heard(-1.9), heard(-1.9)), SCALE)
    high = judge(said(heard(-0.9), heard(-0.9), heard(-0.9), way="next"), SCALE)
    assert find_stronger((low, high)) == high
    assert find_stronger((low,)) is None


def test_each_phrase_is_listened_for_beside_what_its_leg_listens_for() -> None:
    plan = plan_drill(eight_spoke())
    table = read_phrases()
    for leg_i in range(len(plan.legs)):
        words = leg_phrases(plan, Progress(state=State.FLYING, leg_i=leg_i))
        for word in words:
            assert set(words) | set(ALWAYS) <= set(listened_beside(word, table))


def test_spoke_to_rejoin_is_listened_for_beside_all_spokes() -> None:
    listened = listened_beside("rejoin spoke nine", read_phrases())
    assert {"rejoin spoke five", "rejoin spoke nine", "station passage", "rejoin"} <= set(listened)
