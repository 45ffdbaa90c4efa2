"""Every limit at its boundary: the limit itself is within, a tenth beyond it is not."""

from __future__ import annotations

import numpy as np
import pytest

from coach.debrief.holding import score_held, weigh
from coach.debrief.model import Standard
from coach.debrief.standards import (
    AIRSPEED,
    ALTITUDE,
    ARC,
    HEADING,
    HEADING_TRACKING,
    LEG_TIME,
    TURN_RATE,
    is_within,
    needle_standard,
)

LIMITS = [
    # FAA-S-ACS-8C V.A.S6: no more than three-quarter scale; of 10 degrees 7.5, of 12 degrees 9.0 (computed).
    (needle_standard(10.0), 7.5, 7.6),
    (needle_standard(12.0), 9.0, 9.1),
    # FAA-S-ACS-8C III.A.S5: altitude, airspeed, heading.
    (ALTITUDE, 100.0, 101.0),
    (AIRSPEED, 10.0, 10.1),
    (HEADING, 10.0, 10.1),
    # FAA-S-ACS-8C V.A.S5 and S6.
    (HEADING_TRACKING, 5.0, 5.1),
    (ARC, 1.0, 1.01),
    # ICAO Doc 8168 Vol II Table I-2-3-1: outbound timing, a design allowance.
    (LEG_TIME, 10.0, 10.1),
    # Our own: a tenth of standard rate.
    (TURN_RATE, 0.3, 0.31),
]


@pytest.mark.parametrize(("standard", "good", "bad"), LIMITS, ids=lambda value: str(value)[:40])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_the_limit_is_within_and_a_little_more_is_not(
    standard: Standard, good: float, bad: float, sign: float
):
    assert is_within(sign * good, standard)
    assert not is_within(sign * bad, standard)
    assert standard.source


def test_shares_count_seconds_and_leave_gaps_out():
    time_s = np.array([0.0, 1.0, 2.0, 3.0, 103.0, 104.0, 105.0, 106.0])
    off = np.array([0.0, 0.0, 100.0, 101.0, 101.0, 100.0, 0.0, np.nan])
    held = score_held("altitude", time_s, off, ALTITUDE, reason="r")
    assert held is not None
    assert held.seconds == pytest.approx(5.5)
    assert held.within_share == pytest.approx(4.5 / 5.5)
    assert (held.worst, held.worst_at_s) == (101.0, 3.0)
    assert held.rms == pytest.approx(np.sqrt((2 * 100.0**2 + 101.0**2) / 5.5))
    assert (held.start_s, held.end_s) == (0.0, 105.0)


def test_each_fix_stands_for_half_of_the_way_to_its_neighbours():
    assert weigh(np.array([0.0, 1.0, 3.0, 63.0])).tolist() == [0.5, 1.5, 1.0, 0.0]


def test_too_short_a_time_is_no_score():
    time_s = np.arange(5.0)
    assert score_held("heading", time_s, np.zeros(5), HEADING, reason="r") is None
    assert score_held("heading", time_s, np.full(5, np.nan), HEADING, reason="r") is None
