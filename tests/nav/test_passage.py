import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.nav.aircraft import Aircraft, over_station
from coach.nav.passage import LONGEST_GAP_S, PASSAGE_PERSISTS_S, DirectWatch, Passage, PassageWatch
from coach.nav.vor import Reading, receive


def at_radial(radial: float, distance_nm: float, course: float) -> Reading:
    angle = math.radians(radial)
    return receive(distance_nm * math.sin(angle), distance_nm * math.cos(angle), course_mag_deg=course)


def flown_past(beside_nm: float, step_s: float, course: float = 360.0) -> list[Passage]:
    """Fly north past the station, so far east of it, from 2 NM before to 2 NM beyond."""
    aircraft = Aircraft(beside_nm, -2.0, 360.0, 90.0)
    watch, passages, at_s = PassageWatch(), [], 0.0
    while aircraft.north_nm < 2.0:
        reading = receive(aircraft.east_nm, aircraft.north_nm, course_mag_deg=course)
        watch, passage = watch.after(at_s, reading)
        passages += [passage] if passage else []
        aircraft, at_s = aircraft.step(step_s), at_s + step_s
    return passages


@pytest.mark.parametrize("step_s", [0.1, 1.0, 5.0])
@pytest.mark.parametrize("beside_nm", [0.0, 0.05, 0.9])
def test_passage_is_abeam_the_station_whatever_the_rate_of_fixes(beside_nm: float, step_s: float) -> None:
    # V10: first complete reversal of TO/FROM (AIM 5-3-8g); 2 NM at 90 kt are 80 s.
    (passage,) = flown_past(beside_nm, step_s)
    assert passage.at_s == pytest.approx(80.0, abs=0.05)
    assert passage.distance_nm == pytest.approx(beside_nm, abs=1e-6)
    assert passage.confirmed_s - passage.at_s >= PASSAGE_PERSISTS_S


def test_going_abeam_a_mile_and_a_half_away_is_no_passage() -> None:
    assert flown_past(1.5, 1.0) == []


def test_flying_outbound_is_no_passage() -> None:
    assert flown_past(0.0, 1.0, course=180.0) == []


def replayed(radials: list[float], distance_nm: float = 0.3) -> Passage | None:
    watch = PassageWatch()
    for at_s, radial in enumerate(radials):
        watch, passage = watch.after(float(at_s), at_radial(radial, distance_nm, 360))
        if passage:
            return passage
    return None


def test_a_watch_says_while_a_passage_is_pending() -> None:
    watch, _ = PassageWatch().after(0.0, at_radial(180, 0.02, 360))
    assert not watch.is_pending
    watch, passage = watch.after(1.0, at_radial(360, 0.02, 360))
    assert watch.is_pending
    assert passage is None


def test_sparse_fixes_at_speed_still_find_the_passage() -> None:
    # 300 kt and a fix every 20 s: both neighbours of the passage are most of a mile away and more.
    watch, found = PassageWatch(), []
    for at_s in (0, 20, 40, 60):
        north_nm = -2.0 + 300 / 3600 * at_s
        watch, passage = watch.after(at_s, receive(0.2, north_nm, course_mag_deg=360))
        found += [passage] if passage else []
    assert [(p.at_s, p.distance_nm) for p in found] == [(pytest.approx(24), pytest.approx(0.2))]


def test_a_flag_that_flickers_is_no_passage() -> None:
    assert replayed([180, 100, 80, 100, 180, 80, 180, 180, 180]) is None


def test_a_needle_that_swings_without_a_reversal_is_no_passage() -> None:
    # V9: AIM 1-1-3e2, roughness can look like an approaching station.
    assert replayed([180, 170, 190, 165, 195, 180]) is None


def test_a_flag_that_goes_off_in_between_delays_nothing() -> None:
    passage = replayed([180, 180, 90, 90, 360, 360, 360, 360])
    assert passage is not None
    assert passage.at_s == pytest.approx(2.5)


def test_passage_over_the_station_is_at_time_zero() -> None:
    before = over_station(45.0, 90.0).step(-30.0)
    watch = PassageWatch()
    found = []
    for second in range(-30, 31):
        now = before.step(second + 30.0)
        watch, passage = watch.after(second, receive(now.east_nm, now.north_nm, course_mag_deg=45))
        found += [passage] if passage else []
    assert [p.at_s for p in found] == [pytest.approx(0.0, abs=1e-6)]


def test_across_a_long_gap_nothing_is_known_of_the_passage() -> None:
    watch, _ = PassageWatch().after(0.0, at_radial(180, 0.6, 360))
    lost, passage = watch.after(LONGEST_GAP_S + 1.0, at_radial(360, 0.6, 360))
    assert passage is None
    assert not lost.is_pending
    _, passage = watch.after(LONGEST_GAP_S - 1.0, at_radial(360, 0.6, 360))
    assert passage is not None


@pytest.mark.parametrize(("beyond_nm", "is_passage"), [(0.04, False), (0.06, True)])
def test_one_reading_alone_shows_passage_only_well_beyond_abeam(beyond_nm: float, is_passage: bool) -> None:
    watch, _ = PassageWatch().after(0.0, at_radial(180, 0.2, 360))
    _, passage = watch.after(20.0, at_radial(360, beyond_nm, 360))
    assert (passage is not None) == is_passage


def test_one_reading_just_beyond_abeam_that_comes_back_is_a_flicker() -> None:
    watch, _ = PassageWatch().after(0.0, at_radial(180, 0.2, 360))
    watch, _ = watch.after(20.0, at_radial(360, 0.04, 360))
    _, passage = watch.after(21.0, at_radial(180, 0.2, 360))
    assert passage is None


def flown_direct(
    east_nm: float, north_nm: float, turns: list[tuple[float, float]], step_s: float, tas_kt: float = 90.0
) -> list[Passage]:
    """Fly north from there with no course set, with turns of (seconds, deg/s) one after the other."""
    aircraft = Aircraft(east_nm, north_nm, 360.0, tas_kt)
    watch, passages, at_s = DirectWatch(), [], 0.0
    for lasts_s, rate in turns:
        for _ in range(round(lasts_s / step_s)):
            passage = watch.after(at_s, aircraft.east_nm, aircraft.north_nm)
            passages += [passage] if passage else []
            aircraft, at_s = aircraft.step(step_s, rate), at_s + step_s
    return passages


@pytest.mark.parametrize("step_s", [0.2, 1.0, 5.0])
@pytest.mark.parametrize("beside_nm", [0.0, -0.05, 0.4, 0.95])
def test_passage_without_a_course_is_the_nearest_point_of_a_straight_track(beside_nm, step_s) -> None:
    (passage,) = flown_direct(beside_nm, -3.0, [(240, 0.0)], step_s)
    assert passage.at_s == pytest.approx(120.0, abs=0.05)
    assert passage.distance_nm == pytest.approx(abs(beside_nm), abs=1e-6)


@pytest.mark.parametrize("beside_nm", [1.05, -1.5, 3.0])
def test_without_a_course_going_abeam_beyond_a_mile_is_no_passage(beside_nm) -> None:
    assert flown_direct(beside_nm, -3.0, [(240, 0.0)], 5.0) == []


@pytest.mark.parametrize("rate", [-3.0, 3.0])
def test_turning_off_over_the_station_is_one_passage(rate) -> None:
    (passage,) = flown_direct(0.1, -3.0, [(118, 0.0), (40, rate), (120, 0.0)], 1.0)
    assert passage.at_s == pytest.approx(120.0, abs=2.0)


def test_turning_back_before_the_station_is_no_passage() -> None:
    assert flown_direct(0.1, -3.0, [(90, 0.0), (60, 3.0), (120, 0.0)], 1.0) == []


def test_taking_off_beside_the_station_is_no_passage() -> None:
    assert flown_direct(0.05, -0.06, [(240, 0.0)], 5.0) == []


def test_circling_far_out_and_at_a_mile_and_a_half_is_no_passage() -> None:
    # 360 kt turning at 1 deg/s circle with a radius of 5.7 NM; 90 kt at 1 deg/s with 1.43 NM.
    for tas_kt in (90.0, 360.0):
        radius_nm = tas_kt / 3600 / math.radians(1.0)
        assert flown_direct(-radius_nm, 0.0, [(720, 1.0)], 5.0, tas_kt) == []


def test_two_passages_of_a_shuttle_are_two() -> None:
    passages = flown_direct(0.0, -3.0, [(180, 0.0), (60, 3.0), (240, 0.0)], 1.0)
    # Back from 1.5 NM and a half circle 0.95 NM wide: abeam at 0.95 NM.
    assert [round(passage.at_s) for passage in passages] == [120, 300]


def test_a_gap_over_the_station_without_a_course_is_no_passage() -> None:
    watch = DirectWatch()
    found = [watch.after(at_s, 0.0, -2.0 + 0.025 * at_s) for at_s in (*range(0, 70, 5), *range(105, 160, 5))]
    assert found == [None] * len(found)


def test_standing_still_beside_the_station_is_no_passage() -> None:
    watch = DirectWatch()
    assert [watch.after(float(at_s), 0.01, 0.0) for at_s in range(60)] == [None] * 60


@given(st.floats(0, 359), st.floats(-0.9, 0.9), st.floats(0, 0.004), st.integers(0, 1000))
def test_a_noisy_straight_pass_is_one_passage_near_its_time(track, beside_nm, noise_nm, seed) -> None:
    # 0.004 NM are 7 m.
    angle, watch, found = math.radians(track), DirectWatch(), []
    for at_s in range(180):
        along_nm = -2.25 + 0.025 * at_s
        jitter = noise_nm * math.sin(seed + 12.9898 * at_s * at_s)
        east = along_nm * math.sin(angle) + (beside_nm + jitter) * math.cos(angle)
        north = along_nm * math.cos(angle) - (beside_nm + jitter) * math.sin(angle)
        passage = watch.after(float(at_s), east, north)
        found += [passage] if passage else []
    (passage,) = found
    assert abs(passage.at_s - 90.0) < 2.0
