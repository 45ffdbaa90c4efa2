"""The fix itself: what is missing stays missing."""

from dataclasses import fields, replace

from coach.fixes.fix import Fix
from tests.fixes.samples import START

BARE = Fix(at_s=0.0, lat_deg=1.0, lon_deg=2.0, source="nmea")


def test_everything_but_time_place_and_source_is_none_unless_given():
    given = {"at_s", "lat_deg", "lon_deg", "source"}
    assert {field.name for field in fields(Fix) if getattr(BARE, field.name) is not None} == given


def test_second_of_the_day_is_read_from_the_instant_where_it_stands_alone():
    assert BARE.of_day_s is None
    assert replace(START, utc_of_day_s=None).of_day_s == 34_200.0
    assert replace(START, utc_of_day_s=5.5).of_day_s == 5.5


def test_accuracy_that_is_not_given_does_not_forbid_scoring():
    assert [replace(BARE, nac_p=nac_p).is_scorable for nac_p in (None, 4, 5)] == [True, False, True]
