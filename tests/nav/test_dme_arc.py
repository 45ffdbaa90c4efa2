import math

import pytest

from coach.nav.aircraft import Aircraft
from coach.nav.dme_arc import STEP_DEG, Arc, arc_lead_nm

TEN = Arc(distance_nm=10, is_clockwise=True)


def test_the_handbooks_example_rolls_out_on_055() -> None:
    # R31: FAA-H-8083-15A p. 7-18: inbound on R-325 to the 10 DME arc, turn at 10.5 DME, roll out 055.
    assert TEN.heading_mag_deg(325) == 55
    assert TEN.distance_nm + arc_lead_nm(10, 150, is_inbound=True).rule == 10.5
    # The same example outbound: turn at 9.5 DME.
    assert TEN.distance_nm - arc_lead_nm(10, 150, is_inbound=False).rule == 9.5


def test_a_lead_of_half_a_per_cent_of_the_ground_speed_above_150_knots() -> None:
    # R31 "more when faster", R32 (military notes): 180 kt -> 0.9 NM.
    assert arc_lead_nm(10, 180, is_inbound=True).rule == pytest.approx(0.9)
    assert arc_lead_nm(10, 150, is_inbound=True).rule == 0.5


@pytest.mark.parametrize("is_inbound", [True, False])
@pytest.mark.parametrize("ground_speed_kt", [80, 90, 120, 150, 180])
def test_the_exact_lead_ends_the_turn_on_the_arc_along_it(is_inbound: bool, ground_speed_kt: float) -> None:
    lead_nm = arc_lead_nm(10, ground_speed_kt, is_inbound=is_inbound).exact
    start_nm = 10 + lead_nm if is_inbound else 10 - lead_nm
    aircraft = Aircraft(0.0, start_nm, 180.0 if is_inbound else 360.0, ground_speed_kt)
    ended = min(
        (aircraft.turn(t / 100 * (-1 if is_inbound else 1)) for t in range(6000, 12000)),
        key=lambda there: abs(there.distance_nm - 10),
    )
    assert ended.distance_nm == pytest.approx(10, abs=1e-5)
    assert ended.heading_mag_deg == pytest.approx(TEN.heading_mag_deg(ended.radial_mag_deg), abs=0.3)


def test_the_rule_of_half_a_mile_is_right_at_90_knots_and_short_at_150() -> None:
    # Computed: turn radii are 0.48 and 0.80 NM (U8).
    assert arc_lead_nm(10, 90, is_inbound=True).off == pytest.approx(0.03, abs=0.01)
    assert arc_lead_nm(10, 150, is_inbound=True).off == pytest.approx(-0.27, abs=0.01)


@pytest.mark.parametrize(
    ("shown_nm", "heading"), [(11.0, 75), (9.5, 50), (10.0, 55), (10.5, 65), (60.0, 145)]
)
def test_arc_corrections_toward_and_away(shown_nm: float, heading: float) -> None:
    # R34: CNATRA P-871: 1 NM outside 20 degrees in, half a mile inside 5 out; held at square to the arc.
    assert TEN.corrected_heading_mag_deg(325, shown_nm) == pytest.approx(heading)


def test_an_arc_flown_the_other_way_is_corrected_the_other_way() -> None:
    left = Arc(distance_nm=10, is_clockwise=False)
    assert left.heading_mag_deg(325) == 235
    assert left.corrected_heading_mag_deg(325, 11.0) == 215


@pytest.mark.parametrize(("dme", "each"), [(12, 5.0), (60, 1.0)])
def test_radials_a_mile_are_60_over_dme(dme: float, each: float) -> None:
    # R36: military notes; exact 57.3 / DME (computed).
    found = Arc(distance_nm=dme, is_clockwise=True).radials_a_mile()
    assert found.rule == each
    assert found.exact == pytest.approx(math.degrees(1 / dme))


def test_a_turn_radius_of_a_mile_and_a_half_at_10_dme_is_9_radials() -> None:
    # R36: military notes.
    assert TEN.lead_radials_deg(1.5).rule == pytest.approx(9)


def test_turn_ten_twist_ten_stays_within_a_tenth_of_a_mile_of_the_arc() -> None:
    # R35 is technique, no source. Computed: chords 0.04 NM inside, tangents 0.04 NM outside at 10 DME.
    assert STEP_DEG == 10
    assert TEN.chord_inside_nm() == pytest.approx(0.038, abs=0.0005)
    assert TEN.tangent_outside_nm() == pytest.approx(0.038, abs=0.0005)
    assert TEN.chord_inside_nm(30) == pytest.approx(0.341, abs=0.0005)
    assert Arc(distance_nm=20, is_clockwise=True).tangent_outside_nm() < 0.1


def test_ninety_radials_of_ten_dme_last_the_quarter_of_a_circle() -> None:
    assert TEN.flown_s(90, 90) == pytest.approx(math.pi / 2 * 10 / 90 * 3600)
