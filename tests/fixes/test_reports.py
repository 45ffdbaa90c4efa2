"""One sentence, read strictly: the published ones give their values, a broken field costs the sentence."""

import math
from datetime import UTC, datetime

import pytest

from coach.fixes.nmea_fields import BadSentenceError
from coach.fixes.reports import Report, parse_sentence
from tests.fixes.samples import PUBLISHED_GGA, PUBLISHED_HDG, PUBLISHED_RMC, PUBLISHED_VTG, sentence


def parsed(text: bytes) -> Report:
    report = parse_sentence(text.decode("ascii"))
    assert isinstance(report, Report)
    return report


def rounded(report: Report) -> dict:
    return {name: round(v, 6) if isinstance(v, float) else v for name, v in report.values.items()}


def test_published_rmc_gives_position_speed_track_variation_and_date():
    report = parsed(PUBLISHED_RMC)
    assert rounded(report) == {
        "lat_deg": 48.1173,
        "lon_deg": 11.516667,
        "ground_speed_kt": 22.4,
        "track_true_deg": 84.4,
        "variation_deg": -3.1,
    }
    assert report.time_s == 12 * 3600 + 35 * 60 + 19
    assert report.midnight == datetime(1994, 3, 23, tzinfo=UTC)


def test_published_gga_gives_altitude_in_feet_above_sea_and_ellipsoid():
    report = parsed(PUBLISHED_GGA)
    assert report.values["altitude_ft"] == pytest.approx(545.4 / 0.3048)
    assert report.values["geo_altitude_ft"] == pytest.approx((545.4 + 46.9) / 0.3048)
    assert (report.values["n_satellites"], report.values["hdop"]) == (8, 0.9)


def test_published_vtg_gives_track_and_speed():
    assert parsed(PUBLISHED_VTG).values == {"track_true_deg": 54.7, "ground_speed_kt": 5.5}


def test_published_hdg_gives_west_variation_as_negative():
    assert parsed(PUBLISHED_HDG).values == {"heading_mag_deg": 101.1, "variation_deg": -7.1}


def test_library_rmc_gives_the_listed_position():
    """N10: the pynmea2 test suite lists 49.2741667, -123.1853333."""
    report = parsed(b"$GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E*68")
    assert rounded(report)["lat_deg"] == 49.274167
    assert rounded(report)["lon_deg"] == -123.185333
    assert report.values["variation_deg"] == 20.3


def test_library_gga_gives_south_and_east_and_negative_geoid():
    report = parsed(b"$GPGGA,184353.07,1929.045,S,02410.506,E,1,04,2.6,100.00,M,-33.9,M,,0000*6D")
    assert rounded(report)["lat_deg"] == -19.484083
    assert rounded(report)["lon_deg"] == 24.1751
    assert report.values["geo_altitude_ft"] == pytest.approx(66.1 / 0.3048)
    assert report.time_s == pytest.approx(67_433.07)


def test_library_gga_with_another_altitude_has_another_checksum():
    text = b"$GPGGA,184353.07,1929.045,S,02410.506,E,1,04,2.6,200.0,M,-33.9,M,,0000*5E"
    assert parsed(text).values["altitude_ft"] == pytest.approx(200.0 / 0.3048)


def test_library_mwv_gives_relative_wind():
    assert parsed(b"$IIMWV,271.0,R,000.2,N,A*3B").values == {
        "wind_angle_deg": 271.0,
        "wind_speed_kt": 0.2,
        "wind_reference": "relative",
    }


@pytest.mark.parametrize(
    ("text", "values"),
    [
        (
            b"$GPVTG,360.0,T,348.7,M,000.0,N,000.0,K*43",
            {"track_true_deg": 360.0, "ground_speed_kt": 0.0},
        ),
        (
            b"$IIVHW,245.1,T,245.1,M,000.01,N,000.01,K*55",
            {"heading_true_deg": 245.1, "heading_mag_deg": 245.1, "airspeed_kt": 0.01},
        ),
        (
            b"$WIMWV,045.0,R,012.5,N,A*24",
            {"wind_angle_deg": 45.0, "wind_speed_kt": 12.5, "wind_reference": "relative"},
        ),
        (b"$HCHDG,238.5,,,10.5,E*11", {"heading_mag_deg": 238.5, "variation_deg": 10.5}),
        (b"$HCHDM,238,M*3E", {"heading_mag_deg": 238.0}),
    ],
    ids=["vtg", "vhw", "mwv", "hdg", "hdm"],
)
def test_computed_sentences_give_their_values(text: bytes, values: dict):
    """N2, N11: checksums computed."""
    assert parsed(text).values == values


def test_rmc_marked_not_valid_begins_its_instant_and_has_no_position():
    """N12, with the fields left empty as a receiver sends them."""
    report = parsed(sentence("GPRMC,123519.00,V,,,,,,,230394,,"))
    assert (report.values, report.problem, report.time_s) == ({}, "marked not valid", 45_319.0)


@pytest.mark.parametrize(
    ("mode", "is_valid"),
    [
        (mode, mode in "ADFPRS" and mode != "")
        for mode in ("A", "D", "F", "P", "R", "S", "E", "M", "N", "", "X")
    ],
)
def test_rmc_is_valid_only_in_a_mode_that_measures(mode: str, is_valid: bool):
    report = parsed(sentence(f"GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W,{mode}"))
    assert (report.problem is None) is is_valid


RMC_STATUSES = [("A",), ("V",), ("",)] + [
    (status, mode, *nav)
    for status in ("A", "V", "")
    for mode in ("S", "N", "")
    for nav in [(), ("S",), ("C",), ("V",), ("",), ("U",), ("A",)]
]


@pytest.mark.parametrize("status", RMC_STATUSES, ids=",".join)
def test_rmc_is_valid_where_all_that_it_says_of_validity_is(status: tuple[str, ...]):
    """N12: the cases of the pynmea2 test suite, and more.

    One difference: navigational status V or nothing is a receiver without one, and no reason to refuse it.
    """
    body = ",".join(("GPRMC,123519.00", status[0], "4807.038,N,01131.000,E,,,230394,,", *status[1:]))
    is_valid = status[:2] in (("A",), ("A", "S")) and (len(status) < 3 or status[2] in ("S", "C", "V", ""))
    assert (parsed(sentence(body)).problem is None) is is_valid


def test_listed_sentences_of_the_library_are_judged_as_listed():
    """N12: pynmea2's test suite, the first with each number of fields."""
    listed = (
        (b"$GPRMC,123519.00,A,4807.038,N,01131.000,E,,,230394,,*33", True),
        (b"$GPRMC,123519.00,V,4807.038,N,01131.000,E,,,230394,,*24", False),
        (b"$GPRMC,123519.00,A,4807.038,N,01131.000,E,,,230394,,,S*4C", True),
        (b"$GPRMC,123519.00,A,4807.038,N,01131.000,E,,,230394,,,N*51", False),
        (b"$GPRMC,123519.00,A,4807.038,N,01131.000,E,,,230394,,,S,S*33", True),
        (b"$GPRMC,123519.00,A,4807.038,N,01131.000,E,,,230394,,,N,A*3C", False),
    )
    assert [parsed(text).problem is None for text, _ in listed] == [is_valid for _, is_valid in listed]


@pytest.mark.parametrize("quality", ["0", "6", "7", "9", "", "A", "11"])
def test_gga_of_any_quality_that_is_no_measured_fix_has_no_position(quality: str):
    report = parsed(sentence(f"GPGGA,123519,4807.038,N,01131.000,E,{quality},08,0.9,545.4,M,46.9,M,,"))
    assert (report.values, report.problem) == ({}, "marked not valid")


def test_empty_fields_are_missing_and_never_zero():
    report = parsed(sentence("GPRMC,123519,A,4807.038,N,01131.000,E,,,,,"))
    assert set(report.values) == {"lat_deg", "lon_deg"}
    assert report.midnight is None


def test_empty_heading_speed_and_wind_sentences_say_nothing():
    for body in (
        "HCHDG,,,,,",
        "HCHDM,,M",
        "HEHDT,,T",
        "IIVHW,,T,,M,,N,,K",
        "GPVTG,,T,,M,,N,,K",
        "WIMWV,,R,,N,A",
    ):
        assert parsed(sentence(body)).values == {}


def test_deviation_east_is_added_to_the_sensor_heading():
    assert parsed(sentence("HCHDG,359.0,2.5,E,,")).values == {"heading_mag_deg": 1.5}
    assert parsed(sentence("HCHDG,001.0,2.5,W,,")).values == {"heading_mag_deg": 358.5}


@pytest.mark.parametrize(("unit", "kt"), [("N", 10.0), ("K", 10.0 / 1.852), ("M", 36_000 / 1852)])
def test_wind_speed_is_given_in_knots_whatever_its_unit(unit: str, kt: float):
    assert parsed(sentence(f"WIMWV,010.0,T,10.0,{unit},A")).values["wind_speed_kt"] == pytest.approx(kt)


def test_speed_in_kilometres_stands_in_where_knots_are_missing():
    assert parsed(sentence("GPVTG,,T,,M,,N,185.2,K")).values["ground_speed_kt"] == pytest.approx(100.0)


def test_direction_zero_is_given_as_360():
    assert parsed(sentence("HEHDT,0.0,T")).values == {"heading_true_deg": 360.0}


def test_leap_second_is_a_time():
    assert parsed(sentence("GPRMC,235960,A,4807.038,N,01131.000,E,,,311216,,")).time_s == 86_400.0


def test_two_digit_years_begin_with_1980():
    body = "GPRMC,123519,A,4807.038,N,01131.000,E,,,0101{:02d},,"
    years = [parsed(sentence(body.format(year))).midnight.year for year in (80, 99, 0, 79)]
    assert years == [1980, 1999, 2000, 2079]


GOOD = "GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("123519", "243519"),
        ("123519", "126019"),
        ("123519", "123561"),
        ("123519", "12351"),
        ("123519", "1235x9"),
        ("4807.038", "4860.000"),
        ("4807.038", "9000.001"),
        ("4807.038", "807.038"),
        ("4807.038", "-4807.038"),
        ("4807.038", "nan"),
        ("4807.038,N", "4807.038,E"),
        ("4807.038,N", "4807.038,"),
        ("01131.000", "1131.000"),
        ("01131.000", "18000.001"),
        ("022.4", "1e5"),
        ("022.4", "-1"),
        ("022.4", "inf"),
        ("022.4", "nan"),
        ("022.4", "2001"),
        ("022.4", "2_2"),
        ("084.4", "361"),
        ("084.4", " 84.4"),
        ("230394", "320394"),
        ("230394", "231394"),
        ("230394", "2303"),
        ("003.1,W", "003.1,"),
        ("003.1,W", "003.1,X"),
        ("003.1,W", "181,W"),
    ],
)
def test_one_bad_field_costs_the_sentence(old: str, new: str):
    body = GOOD.replace(old, new)
    assert body != GOOD
    with pytest.raises(BadSentenceError, match="malformed"):
        parse_sentence(sentence(body).decode())


@pytest.mark.parametrize(
    "body",
    [
        "GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1",
        "GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W,A,S,1",
        "GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,",
        "GPVTG,054.7,T,034.4,M,005.5,N,010.2",
        "HCHDG,101.1,,,7.1",
        "HCHDM,238,M,",
        "IIVHW,245.1,T,245.1,M,000.01,N,000.01",
        "WIMWV,045.0,R,012.5,N",
    ],
)
def test_another_number_of_fields_costs_the_sentence(body: str):
    with pytest.raises(BadSentenceError, match="another number of fields"):
        parse_sentence(sentence(body).decode())


@pytest.mark.parametrize(
    "body",
    [
        "GPVTG,054.7,M,034.4,T,005.5,N,010.2,K",
        "HEHDT,001.0,M",
        "WIMWV,045.0,X,012.5,N,A",
        "WIMWV,045.0,R,1,Z,A",
        "GPGGA,123519,4807.038,N,01131.000,E,1,-8,0.9,545.4,M,46.9,M,,",
        "GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,F,46.9,M,,",
    ],
)
def test_a_wrong_letter_beside_a_value_costs_the_sentence(body: str):
    with pytest.raises(BadSentenceError, match="malformed"):
        parse_sentence(sentence(body).decode())


def test_position_exactly_zero_zero_is_no_position():
    with pytest.raises(BadSentenceError, match="no position"):
        parse_sentence(sentence("GPRMC,123519,A,0000.000,N,00000.000,E,,,230394,,").decode())


def test_valid_sentence_without_a_position_has_none():
    with pytest.raises(BadSentenceError, match="no position"):
        parse_sentence(sentence("GPRMC,123519,A,,,,,,,230394,,").decode())


def test_position_without_a_time_is_refused():
    with pytest.raises(BadSentenceError, match="no time"):
        parse_sentence(sentence("GPRMC,,A,4807.038,N,01131.000,E,,,230394,,").decode())


def test_wrong_checksum_is_refused_in_sentences_of_ours_and_of_others():
    for text in ("$GPRMC,123519,V,,,,,,,230394,,*25", "$GPGSV,1,1,00*78", "$HCHDM,238,M*ZZ"):
        with pytest.raises(BadSentenceError):
            parse_sentence(text)


@pytest.mark.parametrize(
    "body", ["GPGSV,1,1,00", "PGRME,15.0,M", "PxRMC,1", "GPGPQ,GGA", "AIVDM,1", "GP", ""]
)
def test_sentences_of_others_are_only_named(body: str):
    assert parse_sentence(sentence(body).decode()) == body.split(",")[0]


def test_status_other_than_a_takes_the_wind_away():
    with pytest.raises(BadSentenceError, match="marked not valid"):
        parse_sentence(sentence("WIMWV,045.0,R,012.5,N,V").decode())


def test_vtg_of_a_receiver_without_a_fix_is_refused():
    with pytest.raises(BadSentenceError, match="marked not valid"):
        parse_sentence(sentence("GPVTG,054.7,T,034.4,M,005.5,N,010.2,K,N").decode())


def test_every_given_value_is_finite():
    for text in (PUBLISHED_GGA, PUBLISHED_RMC, PUBLISHED_VTG, PUBLISHED_HDG):
        assert all(math.isfinite(v) for v in parsed(text).values.values() if isinstance(v, float))
