from __future__ import annotations

from datetime import UTC, datetime

import pytest

from coach.fixes.fix import Fix
from coach.nav.aircraft import Aircraft
from coach.nav.wind import Wind
from coach.session.motion import CLOSEST_S, FixClock, Motion, MotionWatch, find_heading
from tests.session.fed import STATION, fix_at

WIND = Wind(from_deg=300.0, speed_kt=25.0)


def followed(
    turns: list[tuple[float, float]], *, every_s: float = 1.0, bare: bool = False, heading: bool = False
) -> tuple[MotionWatch, Aircraft, float]:
    """Fly turns of (seconds, deg/s) from 2 NM south of the station; `bare`: positions alone are sent."""
    aircraft = Aircraft(0.0, -2.0, 360.0, 90.0, WIND.east_kt, WIND.north_kt)
    watch, at_s = MotionWatch(STATION), 0.0
    for lasts_s, rate in turns:
        for _ in range(round(lasts_s / every_s)):
            aircraft, at_s = aircraft.step(every_s, rate), at_s + every_s
            more: dict[str, object] = {"heading_mag_deg": aircraft.heading_mag_deg} if heading else {}
            more |= {"ground_speed_kt": None, "track_true_deg": None} if bare else {}
            watch.take(fix_at(aircraft, at_s, **more))
    return watch, aircraft, at_s


def test_a_fix_is_seen_from_the_station_in_its_own_rose():
    watch, aircraft, _ = followed([(10, 0.0)])
    assert watch.last is not None
    assert (watch.last.east_nm, watch.last.north_nm) == pytest.approx(
        (aircraft.east_nm, aircraft.north_nm), abs=1e-6
    )
    assert watch.last.track_mag_deg == pytest.approx(aircraft.track_mag_deg)
    assert watch.last.heading_mag_deg is None


def test_track_and_speed_are_taken_from_positions_where_none_are_given():
    watch, aircraft, _ = followed([(20, 0.0)], bare=True)
    assert watch.last is not None
    assert watch.last.track_mag_deg == pytest.approx(aircraft.track_mag_deg, abs=0.1)
    assert watch.last.ground_speed_kt == pytest.approx(aircraft.ground_speed_kt, abs=0.1)


def test_a_true_heading_is_turned_to_the_stations_rose():
    watch = MotionWatch(STATION)
    motion = watch.take(fix_at(Aircraft(1.0, 0.0, 360.0, 90.0), 1.0, heading_true_deg=5.0))
    assert motion is not None
    assert motion.heading_mag_deg == pytest.approx(353.0)


def test_hardly_moving_there_is_no_track():
    watch = MotionWatch(STATION)
    motion = watch.take(fix_at(Aircraft(1.0, 0.0, 90.0, 5.0), 1.0))
    assert motion is not None
    assert motion.track_mag_deg is None


def test_fixes_too_close_after_each_other_are_left_out():
    watch, aircraft = MotionWatch(STATION), Aircraft(0.0, 1.0, 360.0, 90.0)
    taken = [watch.take(fix_at(aircraft, n / 100.0)) for n in range(200)]
    assert sum(motion is not None for motion in taken) <= 2.0 / CLOSEST_S + 1


@pytest.mark.parametrize("heading", [False, True])
@pytest.mark.parametrize("every_s", [0.2, 1.0, 2.0])
def test_wings_level_is_dated_when_the_turn_ended(every_s: float, heading: bool):
    watch, _, _ = followed([(20, 0.0), (20, 3.0), (20, 0.0)], every_s=every_s, heading=heading)
    assert watch.level_since_s == pytest.approx(40.0, abs=1.2)


def test_in_a_turn_the_wings_are_not_level():
    watch, _, _ = followed([(20, 0.0), (20, 3.0)])
    assert watch.level_since_s is None


def test_before_the_first_rate_nothing_tells_of_turns():
    watch, _, _ = followed([(2, 0.0)])
    assert watch.level_since_s is None


def test_a_heading_is_worked_out_from_a_known_wind():
    watch, aircraft, _ = followed([(20, 0.0), (20, 3.0), (5, 0.0)])
    assert watch.last is not None
    assert find_heading(watch.last, WIND) == pytest.approx(aircraft.heading_mag_deg, abs=1e-6)
    assert find_heading(watch.last, None) is None


def test_a_measured_heading_comes_before_the_one_worked_out():
    motion = Motion(
        at_s=0.0,
        east_nm=0.0,
        north_nm=1.0,
        track_mag_deg=10.0,
        ground_speed_kt=90.0,
        heading_mag_deg=350.0,
        airspeed_kt=None,
    )
    assert find_heading(motion, WIND) == 350.0


def test_the_motion_of_a_time_gone_by_is_the_nearest_one():
    watch, _, _ = followed([(30, 0.0)])
    found = watch.find_at(12.4)
    assert found is not None
    assert found.at_s == 12.0


def test_a_lost_feed_is_forgotten():
    watch, _, _ = followed([(30, 0.0)])
    watch.forget()
    assert (watch.last, watch.level_since_s, watch.find_at(3.0)) == (None, None, None)
    assert watch.find_rate(lambda motion: motion.east_nm) == 0.0


def fix(at_s: float, of_day_s: float | None, source: str = "nmea") -> Fix:
    return Fix(
        at_s=at_s,
        source=source,  # type: ignore[arg-type]
        lat_deg=-40.0,
        lon_deg=-110.0,
        utc=None if of_day_s is None else datetime(2030, 1, 1, tzinfo=UTC),
        utc_of_day_s=of_day_s,
    )


def test_a_fix_that_arrives_later_than_the_others_is_dated_by_its_own_clock():
    clock = FixClock()
    dated = [
        clock.date(fix(second + late_s, 1000.0 + second)) for second, late_s in enumerate((0.2, 0.9, 0.3))
    ]
    assert dated == pytest.approx([0.2, 1.2, 2.2])


def test_dates_go_on_through_midnight():
    clock = FixClock()
    dated = [clock.date(fix(n + 0.2, (86_399.0 + n) % 86_400.0)) for n in range(3)]
    assert dated == pytest.approx([0.2, 1.2, 2.2])


def test_a_fix_without_a_time_is_dated_as_it_arrives():
    clock = FixClock()
    assert [clock.date(fix(at_s, None)) for at_s in (1.0, 2.5)] == [1.0, 2.5]


def test_whole_seconds_of_gdl_90_date_nothing():
    clock = FixClock()
    assert [clock.date(fix(at_s, float(int(at_s)), "gdl90")) for at_s in (1.0, 1.2, 1.8)] == [1.0, 1.2, 1.8]


def test_a_clock_that_steps_dates_no_fix_far_back():
    clock = FixClock()
    clock.date(fix(10.0, 1000.0))
    assert clock.date(fix(20.0, 1000.5)) == 20.0
