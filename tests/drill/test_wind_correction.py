"""The eight-spoke drill with its wind corrected: over the ground it is as published."""

from __future__ import annotations

import pytest

from coach.drill.plan import Plan, plan_drill
from coach.errors import DrillError
from coach.nav.path import Path
from coach.nav.wind import parse_wind
from coach.store.drills import read_drill

SETTINGS = {"first_outbound": "360", "spokes": "2", "timer_from": "level"}


def plan(wind: str, **settings: str) -> Plan:
    return plan_drill(read_drill("eight-spoke", {**SETTINGS, **settings}), wind=parse_wind(wind))


def straight_nm(path: Path, turn_s: float, ground_speed_kt: float) -> float:
    return (sum(piece.duration_s for piece in path) - turn_s) * ground_speed_kt / 3600.0


@pytest.mark.parametrize("wind", ["250/20", "360/20", "090/15"])
def test_offset_legs_keep_their_length_over_the_ground(wind: str) -> None:
    still, corrected = plan("360/0"), plan(wind, wind_correction="on")
    for calm, windy in zip(still.legs, corrected.legs, strict=True):
        if calm.leg.leg == "offset":
            lengths_nm = [straight_nm(leg.path, leg.turn_s, leg.ground_speed_kt) for leg in (calm, windy)]
            assert lengths_nm[1] == pytest.approx(lengths_nm[0], abs=0.02)


def test_headings_and_times_stay_as_published_where_it_is_off() -> None:
    assert [(leg.leg.leg_s, leg.steer_mag_deg) for leg in plan("250/20").legs if not leg.leg.tracks] == [
        (leg.leg.leg_s, leg.leg.heading_mag_deg) for leg in plan("360/0").legs if not leg.leg.tracks
    ]


def test_the_published_heading_stays_beside_the_one_to_steer() -> None:
    # The wind from the left of 315 at 20 kt and 90 kt TAS: asin(20 / 90) = 12.8 degrees.
    offset = plan("225/20", wind_correction="on").legs[1]
    assert (offset.leg.heading_mag_deg, offset.steer_mag_deg) == (315, 302)


def test_nil_wind_corrects_nothing() -> None:
    on, off = plan("360/0", wind_correction="on"), plan("360/0")
    assert [leg.start_s for leg in on.legs] == pytest.approx([leg.start_s for leg in off.legs])


def test_anything_but_on_and_off_is_refused() -> None:
    with pytest.raises(DrillError, match="wind_correction"):
        plan("360/0", wind_correction="perhaps")
