"""From flight to flight: the spread stands beside the mean, and decides what is a trend."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from coach.debrief.history import ALL_DRILLS, SessionFigures, SkillFigure, find_trends, summarise
from coach.debrief.skills import gather_skills
from tests.debrief import debriefed


def figure(share: float, skill: str = "turn begins") -> SkillFigure:
    return SkillFigure(
        skill=skill,
        standard="within 6 s",
        source="somebody",
        limit=6.0,
        unit="s",
        is_held=False,
        n=10,
        seconds=0.0,
        within_share=share,
        mean=2.0,
        spread=1.0,
        worst=9.0,
    )


def session(
    day: int, share: float, drill: str = "eight-spoke", *, is_rehearsed: bool = False
) -> SessionFigures:
    return SessionFigures(
        session=f"{drill}-{day}",
        began_utc=datetime(2026, 1, 1, tzinfo=UTC) + timedelta(days=day),
        drill=drill,
        is_rehearsed=is_rehearsed,
        minutes=45.0,
        skills=(figure(share),),
    )


@pytest.mark.parametrize(
    ("shares", "direction"),
    [
        ([0.5], "too few"),
        ([0.5, 1.0], "too few"),
        ([0.4, 0.6, 0.9], "more often"),
        ([0.4, 0.6, 0.6], "as before"),
        ([0.4, 0.6, 0.61], "more often"),
        ([0.4, 0.6, 0.1], "less often"),
        ([1.0, 1.0, 0.98], "as before"),
        ([1.0, 1.0, 0.97], "less often"),
    ],
)
def test_what_lies_inside_the_spread_of_the_earlier_ones_is_no_trend(shares: list[float], direction: str):
    (trend,) = find_trends([session(day, share) for day, share in enumerate(shares)])
    assert trend.direction == direction


def test_the_spread_of_the_sessions_stands_beside_their_mean():
    (trend,) = find_trends([session(0, 0.4), session(1, 0.8)])
    assert (trend.mean_share, trend.spread_share) == (pytest.approx(0.6), pytest.approx(0.2))


def test_sessions_count_in_the_order_they_were_flown():
    (trend,) = find_trends([session(2, 0.9), session(0, 0.1), session(1, 0.5)])
    assert trend.shares == (0.1, 0.5, 0.9)
    assert trend.latest.within_share == 0.9


def test_each_drill_has_its_trend_and_the_skill_one_over_all():
    trends = find_trends([session(0, 0.4), session(1, 0.8, "dme-arc")])
    assert [(trend.drill, len(trend.points)) for trend in trends] == [
        ("eight-spoke", 1),
        ("dme-arc", 1),
        (ALL_DRILLS, 2),
    ]


def test_a_simulated_pilot_is_nobodys_skill():
    trends = find_trends([session(0, 0.4), session(1, 0.8, "dme-arc", is_rehearsed=True)])
    assert [trend.drill for trend in trends] == ["eight-spoke", "dme-arc (rehearsed)"]


def test_no_session_has_no_trend():
    assert find_trends([]) == ()


def test_a_debriefs_figures_are_its_skills():
    debrief = debriefed.flown()
    kept = summarise(debrief, session="s", is_rehearsed=False)
    assert kept.drill == "eight-spoke"
    assert kept.minutes == pytest.approx(16.0, abs=1.0)
    assert [(one.skill, one.within_share, one.spread) for one in kept.skills] == [
        (skill.what, skill.within_share, skill.spread) for skill in gather_skills(debrief)
    ]
