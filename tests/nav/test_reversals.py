"""The published course reversals flown by the aircraft model alone, in nil wind, against their geometry.

Every shape is checked at several speeds, in seconds of flight (any speed) and in miles at its own.
"""

import math

import pytest

from coach.nav.aircraft import Aircraft, over_station
from coach.nav.course import course_in_wind, find_lead_s
from coach.nav.path import Path, duration_s, straight, turning
from coach.nav.turn import radius_nm
from coach.nav.wind import CALM

WITHIN_S = 0.1
WITHIN_NM = 0.005
SPEEDS_KT = (60, 80, 90, 100, 110, 120, 140, 160, 180)
"""Those of row U8."""

U8_RADIUS_NM = (0.318, 0.424, 0.477, 0.531, 0.584, 0.637, 0.743, 0.849, 0.955)


def flown(tas_kt: float, *parts: float) -> Path:
    """A turn, a straight, a turn and so on from course 360 over the station: degrees and seconds in turns."""
    aircraft, pieces = over_station(360, tas_kt), []
    for k, part in enumerate(parts):
        piece = straight(aircraft, part) if k % 2 else turning(aircraft, part)
        aircraft = piece.end
        pieces.append(piece)
    return tuple(pieces)


def past_line_s(path: Path) -> float:
    """How far beyond the outbound line, seen from where the turn back began, in seconds of flight.

    All shapes here leave to the left (west) and come back to the right: beyond is east.
    """
    end = path[-1].end
    return end.east_nm / end.tas_kt * 3600


@pytest.mark.parametrize(("tas_kt", "radius"), list(zip(SPEEDS_KT, U8_RADIUS_NM, strict=True)))
def test_half_a_turn_is_two_radii_across(tas_kt: float, radius: float) -> None:
    # U8: computed from physics, radius of a turn at 3 degrees a second.
    end = over_station(360, tas_kt).turn(180)
    assert end.east_nm == pytest.approx(2 * radius, abs=WITHIN_NM)
    assert end.north_nm == pytest.approx(0, abs=WITHIN_NM)
    assert radius_nm(tas_kt) == pytest.approx(radius, abs=WITHIN_NM / 10)


@pytest.mark.parametrize("tas_kt", SPEEDS_KT)
@pytest.mark.parametrize(("leg_s", "past_s"), [(38.20, 0.0), (40, -1.27), (45, -4.81), (60, -15.42)])
def test_45_225_ends_on_the_line_after_38_2_seconds_and_short_of_it_later(
    tas_kt: float, leg_s: float, past_s: float
) -> None:
    # R12 (FAA-H-8083-15A Fig 5-42, leg time from memory); R13, R14: geometry.
    path = flown(tas_kt, -45, leg_s, 225)
    assert past_line_s(path) == pytest.approx(past_s, abs=WITHIN_S)
    assert path[-1].end.east_nm == pytest.approx(past_s * tas_kt / 3600, abs=WITHIN_NM)
    assert path[-1].end.heading_mag_deg == pytest.approx(180)
    assert duration_s(path) == pytest.approx(15 + leg_s + 75)


def test_45_225_at_120_knots_ends_so_many_miles_short() -> None:
    # R13: 0.04 NM with 40 s; R14: 0.160 NM with 45 s, 0.514 NM with 60 s; all at 120 kt (geometry).
    short = [-flown(120, -45, leg_s, 225)[-1].end.east_nm for leg_s in (40, 45, 60)]
    assert short == pytest.approx([0.042, 0.160, 0.514], abs=WITHIN_NM)


@pytest.mark.parametrize("tas_kt", SPEEDS_KT)
@pytest.mark.parametrize(
    ("leg_s", "line_s", "straight_s", "total_s"), [(45, 14.7, 6.8, 141.8), (60, 29.7, 21.8, 171.8)]
)
def test_45_180_is_led_7_9_seconds_before_its_line(
    tas_kt: float, leg_s: float, line_s: float, straight_s: float, total_s: float
) -> None:
    # R5 (PANS-OPS Doc 8168 Vol I, secondary copy); R15: geometry of its way back on the 45-degree heading.
    turned = flown(tas_kt, -45, leg_s, 180)
    inbound, rolled_out = course_in_wind(180, tas_kt, CALM), turned[-1].end
    reaches_s = -rolled_out.east_nm / (tas_kt * math.sin(math.radians(45))) * 3600
    lead_s = find_lead_s(rolled_out, inbound, 45)
    assert lead_s is not None
    assert reaches_s == pytest.approx(line_s, abs=WITHIN_S)
    assert reaches_s - lead_s == pytest.approx(7.9, abs=WITHIN_S)
    assert lead_s == pytest.approx(straight_s, abs=WITHIN_S)
    whole = (*turned, straight(rolled_out, lead_s), turning(rolled_out.step(lead_s), 45))
    assert duration_s(whole) == pytest.approx(total_s, abs=WITHIN_S)
    assert whole[-1].end.east_nm == pytest.approx(0, abs=WITHIN_NM)
    assert whole[-1].end.heading_mag_deg == pytest.approx(180)


def test_45_180_of_2001_lasts_195_seconds_and_ends_16_4_seconds_beyond_the_line() -> None:
    # R11: FAA-H-8083-15 (2001): 45 degrees, a minute after roll-out, 180, 45 s, 45; the rest computed.
    for tas_kt in SPEEDS_KT:
        path = flown(tas_kt, -45, 60, 180, 45, 45)
        assert duration_s(path) == pytest.approx(195)
        assert past_line_s(path) == pytest.approx(16.4, abs=WITHIN_S)


@pytest.mark.parametrize("tas_kt", SPEEDS_KT)
@pytest.mark.parametrize(("out_deg", "back_deg", "past_s"), [(80, 260, 6.63), (90, 270, 0.0)])
def test_80_260_ends_past_its_line_and_90_270_on_it(
    tas_kt: float, out_deg: int, back_deg: int, past_s: float
) -> None:
    # R16: FAA-H-8083-15A p. 5-31, FAA-H-8083-15B Fig 7-43; where it ends computed. R6: 340 degrees, 113.3 s.
    path = flown(tas_kt, -out_deg, 0, back_deg)
    assert past_line_s(path) == pytest.approx(past_s, abs=WITHIN_S)
    assert path[-1].end.east_nm == pytest.approx(past_s * tas_kt / 3600, abs=WITHIN_NM)
    assert path[-1].end.heading_mag_deg == pytest.approx(180)
    assert duration_s(path) == pytest.approx((out_deg + back_deg) / 3)


def test_80_260_at_120_knots_ends_two_tenths_of_a_mile_past_its_line() -> None:
    # R16: 0.221 NM (computed).
    assert flown(120, -80, 0, 260)[-1].end.east_nm == pytest.approx(0.221, abs=WITHIN_NM)


@pytest.mark.parametrize("tas_kt", SPEEDS_KT)
@pytest.mark.parametrize(
    ("out_deg", "leg_s", "back_deg", "past_s", "total_s"),
    [(30, 60, 210, 3.08, 140.0), (20, 120, 200, -5.15, 193.3), (10, 180, 190, 6.36, 246.7)],
)
def test_teardrops_end_beside_their_lines(
    tas_kt: float, out_deg: int, leg_s: float, back_deg: int, past_s: float, total_s: float
) -> None:
    # R17: FAA-H-8083-15A p. 5-31/32, FAA-H-8083-15B Fig 7-44; offsets and times (entry turn too) computed.
    path = flown(tas_kt, -out_deg, leg_s, back_deg)
    assert past_line_s(path) == pytest.approx(past_s, abs=WITHIN_S)
    assert path[-1].end.east_nm == pytest.approx(past_s * tas_kt / 3600, abs=WITHIN_NM)
    assert duration_s(path) == pytest.approx(total_s, abs=WITHIN_S)
    assert path[-1].end.heading_mag_deg == pytest.approx(180)


@pytest.mark.parametrize("tas_kt", SPEEDS_KT)
def test_the_racetrack_closes_in_240_seconds(tas_kt: float) -> None:
    # R18: FAA-H-8083-15B Fig 7-41; circuit and closing computed.
    path = flown(tas_kt, 180, 60, 180, 60)
    assert duration_s(path) == pytest.approx(240)
    assert path[-1].end.distance_nm < WITHIN_NM


def test_stepping_through_a_shape_ends_where_the_whole_shape_does() -> None:
    whole = flown(90, -45, 45, 180)[-1].end
    stepped: Aircraft = over_station(360, 90)
    for rate, seconds in ((-3.0, 15), (0.0, 45), (3.0, 60)):
        for _ in range(seconds * 10):
            stepped = stepped.step(0.1, rate)
    assert math.hypot(stepped.east_nm - whole.east_nm, stepped.north_nm - whole.north_nm) < 1e-9
