from __future__ import annotations

from datetime import date, timedelta

import pytest

from coach.nav.vor_check import (
    Kind,
    VorCheck,
    bearing_error_deg,
    find_last,
    render_state,
    vot_error_deg,
)

DAY = date(2026, 11, 1)


def check(error_deg: float = 0.0, kind: Kind = Kind.VOT, day: date = DAY) -> VorCheck:
    return VorCheck(day=day, place="Nowhere", kind=kind, error_deg=error_deg, signature="N. N.")


@pytest.mark.parametrize(
    ("kind", "most_deg"),
    [
        # V21: 14 CFR 91.171(b)(1), AIM 1-1-4b.
        (Kind.VOT, 4.0),
        # V22: 91.171(b)(2).
        (Kind.GROUND, 4.0),
        # V23: 91.171(b)(3).
        (Kind.AIRBORNE, 6.0),
        # V24: 91.171(b)(4).
        (Kind.AIRWAY, 6.0),
        # V25: 91.171(c).
        (Kind.DUAL, 4.0),
    ],
)
@pytest.mark.parametrize("side", [1, -1])
def test_the_limit_itself_passes_and_a_tenth_more_fails(kind: Kind, most_deg: float, side: int) -> None:
    assert check(side * most_deg, kind).is_within
    assert not check(side * (most_deg + 0.1), kind).is_within


def test_two_receivers_are_compared_across_north() -> None:
    # V25: 358 against 002 are 4 degrees, 358 against 003 are 5.
    assert check(bearing_error_deg(358, 2), Kind.DUAL).is_within
    assert not check(bearing_error_deg(358, 3), Kind.DUAL).is_within
    assert bearing_error_deg(2, 358) == 4


@pytest.mark.parametrize(("shown", "error_deg"), [(360, 0), (0, 0), (4, 4), (356, -4), (176, -4), (184, 4)])
def test_a_test_signal_reads_360_from_or_180_to(shown: float, error_deg: float) -> None:
    # V21: AIM 1-1-4b.
    assert vot_error_deg(shown) == error_deg


@pytest.mark.parametrize(("age", "left"), [(0, 30), (29, 1), (30, 0), (31, -1)])
def test_day_30_counts_and_day_31_does_not(age: int, left: int) -> None:
    # V20: 14 CFR 91.171(a)(2), within the preceding 30 days.
    assert check().days_left(DAY + timedelta(days=age)) == left


def test_the_latest_check_is_the_one_that_counts() -> None:
    old, new, same_day = (
        check(1),
        check(2, day=DAY + timedelta(days=1)),
        check(3, day=DAY + timedelta(days=1)),
    )
    assert find_last([new, old]) is new
    assert find_last([old, new, same_day]) is same_day
    assert find_last([]) is None


@pytest.mark.parametrize(
    ("last", "told"),
    [
        (None, "no check recorded here"),
        (check(day=DAY - timedelta(days=29)), "last 2026-10-03, Nowhere, 1 day left"),
        (check(day=DAY - timedelta(days=30)), "last 2026-10-02, Nowhere, 0 days left"),
        (check(day=DAY - timedelta(days=31)), "last 2026-10-01, Nowhere, 1 day out of date"),
        (check(4.1), "last 2026-11-01, Nowhere, outside the limits"),
    ],
)
def test_the_state_is_one_line(last: VorCheck | None, told: str) -> None:
    assert render_state(last, DAY) == told
