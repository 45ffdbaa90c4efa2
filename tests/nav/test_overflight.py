import math

import pytest

from coach.nav.aircraft import Aircraft
from coach.nav.overflight import Place, find_overflights


def flown(radial_in: float, radial_out: float, step_s: float = 5.0) -> list[Place]:
    """In on a radial from 5 NM, over the station, out on another to 5 NM, 90 kt."""
    places: list[Place] = []
    for n in range(round(400 / step_s) + 1):
        along_nm = n * step_s / 40.0 - 5.0
        radial = math.radians(radial_in if along_nm < 0 else radial_out)
        places.append((n * step_s, abs(along_nm) * math.sin(radial), abs(along_nm) * math.cos(radial)))
    return places


@pytest.mark.parametrize(("radial_in", "radial_out"), [(180, 360), (200, 10), (90, 300), (359, 181)])
def test_a_passage_has_the_radials_flown_in_and_out(radial_in: float, radial_out: float) -> None:
    (found,) = find_overflights(flown(radial_in, radial_out))
    assert found.passage.at_s == pytest.approx(200.0, abs=5.0)
    assert found.inbound_radial_mag_deg == pytest.approx(radial_in)
    assert found.outbound_radial_mag_deg == pytest.approx(radial_out)


def test_radials_are_of_the_ring_from_one_to_three_miles_only() -> None:
    # Far out another radial, beyond 3 NM.
    places = [(t, e + (3.0 if math.hypot(e, n) > 3.0 and t < 200 else 0.0), n) for t, e, n in flown(180, 360)]
    (found,) = find_overflights(places)
    assert found.inbound_radial_mag_deg == pytest.approx(180)


def test_a_track_that_ends_over_the_station_has_no_radial_out() -> None:
    places = [place for place in flown(180, 360) if place[0] <= 215.0]
    (found,) = find_overflights(places)
    assert found.inbound_radial_mag_deg == pytest.approx(180)
    assert found.outbound_radial_mag_deg is None


def test_a_track_past_the_station_has_none() -> None:
    aircraft = Aircraft(1.2, -5.0, 360.0, 90.0)
    places = [(float(t), 1.2, aircraft.step(float(t)).north_nm) for t in range(0, 400, 5)]
    assert find_overflights(places) == ()


def test_no_places_have_no_passages() -> None:
    assert find_overflights(()) == ()
