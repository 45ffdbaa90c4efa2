"""Outbound times corrected lap by lap."""

from __future__ import annotations

import pytest

from coach.drill.lap_times import settle_s
from coach.drill.plan import plan_drill
from coach.nav.wind import parse_wind
from coach.store.drills import read_drill


@pytest.mark.parametrize("from_deg", range(10, 361, 50))
def test_corrected_laps_settle_on_the_inbound_minute_in_any_wind(from_deg: int) -> None:
    # AIM 5-3-8j4: inbound one minute at or below 14,000 ft, the outbound leg adjusted for it.
    plan = plan_drill(read_drill("hold-station", {"laps": "7"}), wind=parse_wind(f"{from_deg}/20"))
    inbound_s = [leg.duration_s - leg.turn_s for leg in plan.legs if leg.leg.leg == "inbound"]
    assert abs(inbound_s[-1] - 60.0) <= 4.0
    assert abs(inbound_s[-1] - inbound_s[-2]) <= 4.0


def test_the_first_correction_counts_whole_and_each_later_one_half() -> None:
    assert settle_s(40.0, None) == 40.0
    assert settle_s(40.0, 60.0) == 50.0
