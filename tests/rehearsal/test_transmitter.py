from __future__ import annotations

import math
import statistics

import pytest

from coach.fixes.decoder import make_decoder
from coach.fixes.fix import Fix
from coach.nav.aircraft import Aircraft
from coach.nav.station import Station
from coach.nav.units import M_PER_NM
from coach.rehearsal.transmitter import FeedConditions, Transmitter

STATION = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)
AIRCRAFT = Aircraft(1.0, 2.0, 30.0, 90.0, 10.0, -5.0)


def sent(
    conditions: FeedConditions, *, lasts_s: float = 60.0, seed: int = 1
) -> tuple[Transmitter, list[tuple[float, Fix]]]:
    """Arrivals of an aircraft that stays where it is, decoded."""
    transmitter = Transmitter(conditions, STATION, height_ft=2000.0, seed=seed)
    decoder, fixes = make_decoder(conditions.form), []
    for step in range(round(lasts_s * 10)):
        at_s = step / 10.0
        transmitter.step(at_s, AIRCRAFT)
        for datagram in transmitter.arrived(at_s):
            found = (*decoder.feed(datagram, at_s), *decoder.flush())
            fixes += [(at_s, fix) for fix in found if isinstance(fix, Fix)]
    return transmitter, fixes


@pytest.mark.parametrize("form", ["nmea", "gdl90"])
def test_what_arrives_is_where_the_aircraft_is_and_no_more_than_a_receiver_knows(form: str):
    _, fixes = sent(FeedConditions(form=form, noise_m=0.0))  # type: ignore[arg-type]
    assert len(fixes) == 60
    east_nm, north_nm = STATION.place(fixes[0][1].lat_deg, fixes[0][1].lon_deg)
    assert (east_nm, north_nm) == pytest.approx((1.0, 2.0), abs=0.002)
    fix = fixes[0][1]
    assert fix.ground_speed_kt == pytest.approx(AIRCRAFT.ground_speed_kt, abs=1.5)
    assert fix.track_true_deg == pytest.approx(STATION.as_true(AIRCRAFT.track_mag_deg), abs=1.5)
    assert (fix.heading_mag_deg, fix.heading_true_deg, fix.airspeed_kt) == (None, None, None)


def test_heading_and_airspeed_are_sent_where_there_are_sensors():
    _, fixes = sent(FeedConditions(has_heading=True), lasts_s=10.0)
    assert fixes[-1][1].heading_mag_deg == pytest.approx(30.0)
    assert fixes[-1][1].airspeed_kt == pytest.approx(90.0)


@pytest.mark.parametrize("noise_m", [3.0, 20.0])
def test_positions_err_by_what_was_asked_for(noise_m: float):
    errors_m: list[float] = []
    for seed in range(40):
        _, fixes = sent(FeedConditions(noise_m=noise_m), lasts_s=5.0, seed=seed)
        east_nm, north_nm = STATION.place(fixes[-1][1].lat_deg, fixes[-1][1].lon_deg)
        errors_m += [(east_nm - 1.0) * M_PER_NM, (north_nm - 2.0) * M_PER_NM]
    assert math.sqrt(statistics.fmean(error**2 for error in errors_m)) == pytest.approx(noise_m, rel=0.3)


def test_fixes_arrive_late_by_the_delay_and_up_to_half_of_it_more():
    _, fixes = sent(FeedConditions(delay_s=2.0))
    late_s = [at_s - (fix.utc_of_day_s or 0.0) + 43_200.0 for at_s, fix in fixes]
    assert min(late_s) >= 2.0
    assert max(late_s) <= 3.1


@pytest.mark.parametrize("loss", [0.1, 0.4])
def test_the_share_that_was_asked_for_is_lost_in_rows(loss: float):
    transmitter, _ = sent(FeedConditions(loss=loss, every_s=0.1), lasts_s=600.0)
    assert transmitter.lost / (transmitter.lost + transmitter.sent) == pytest.approx(loss, abs=0.06)


@pytest.mark.parametrize("every_s", [0.2, 1.0, 5.0])
def test_fixes_come_as_often_as_was_asked_for(every_s: float):
    transmitter, _ = sent(FeedConditions(every_s=every_s), lasts_s=60.0)
    assert transmitter.sent == 60 / every_s


def test_the_same_seed_sends_the_same_and_another_another():
    conditions = FeedConditions(loss=0.2)
    first, again, other = (sent(conditions, seed=seed)[1] for seed in (1, 1, 2))
    assert first == again
    assert first != other
