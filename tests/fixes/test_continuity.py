"""Whether a feed can be believed: told once when lost, once when back, and one bad fix is nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.continuity import Back, FeedWatch, Lost, distance_nm
from coach.fixes.fix import Fix
from coach.fixes.nmea import SAME_AGAIN
from coach.fixes.tally import Rejected
from tests.fixes.samples import START, flight


def told(watch: FeedWatch, *fixes: Fix) -> list[str]:
    """What the watch says, one word each."""
    return [word(thing) for fix in fixes for thing in watch.take(fix)]


def word(thing: Fix | Lost | Back) -> str:
    if isinstance(thing, Lost):
        return f"lost: {thing.reason}"
    return "back" if isinstance(thing, Back) else "fix"


def later(fix: Fix, after_s: float, **changes) -> Fix:
    """The same flight so much later by both clocks."""
    moved = {"lat_deg": fix.lat_deg + after_s * 90.0 / 3600 / 60, "utc_of_day_s": fix.utc_of_day_s + after_s}
    return replace(fix, at_s=fix.at_s + after_s, utc=None, **(moved | changes))


def flown(count: int = 5, every_s: float = 1.0) -> tuple[FeedWatch, Fix]:
    """A watch that has believed a flight, and the flight's last fix."""
    watch = FeedWatch(0.0)
    fixes = [replace(fix, utc=None) for fix in flight(count, every_s)]
    assert told(watch, *fixes) == ["fix"] * count
    return watch, fixes[-1]


@pytest.mark.parametrize("every_s", [0.01, 0.1, 1.0, 5.0])
def test_steady_flight_is_believed_at_any_rate(every_s: float):
    watch = FeedWatch(0.0)
    for fix in flight(200, every_s):
        assert watch.wait(fix.at_s) == ()
        watch.arrive(fix.at_s)
        assert watch.take(fix) == (fix,)


def test_nothing_from_the_start_is_told_once_as_silent():
    watch = FeedWatch(100.0)
    assert watch.wait(109.9) == ()
    assert watch.wait(110.0) == (Lost(reason="silent", since_s=100.0),)
    assert watch.wait(500.0) == ()


def test_silence_is_told_once_and_again_as_back():
    watch, last = flown()
    assert watch.wait(last.at_s + 4.9) == ()
    assert watch.wait(last.at_s + 5.0) == (Lost(reason="silent", since_s=last.at_s),)
    assert watch.wait(last.at_s + 60.0) == ()
    again = later(last, 61.0)
    assert watch.take(again) == (Back(at_s=again.at_s), again)
    assert watch.take(later(again, 1.0)) == (later(again, 1.0),)


def test_feed_of_one_fix_in_five_seconds_is_not_silent_between_them():
    watch, last = flown(5, every_s=5.0)
    assert watch.wait(last.at_s + 14.9) == ()
    assert [word(thing) for thing in watch.wait(last.at_s + 15.0)] == ["lost: silent"]


def test_sentences_without_a_position_are_no_silence():
    watch, last = flown()
    watch.arrive(last.at_s + 4.5)
    watch.refuse(Rejected(at_s=last.at_s + 4.5, reason="marked not valid", text=""))
    assert [word(thing) for thing in watch.wait(last.at_s + 5.0)] == ["lost: no fix"]


def test_clock_that_stands_still_is_stale():
    watch, last = flown()
    watch.arrive(last.at_s + 4.5)
    watch.refuse(Rejected(at_s=last.at_s + 4.5, reason=SAME_AGAIN, text=""))
    assert [word(thing) for thing in watch.wait(last.at_s + 5.0)] == ["lost: stale"]


def test_one_jump_is_dropped_without_a_word():
    watch, last = flown()
    assert told(watch, later(last, 1.0, lat_deg=-32.0), later(last, 2.0)) == ["fix"]
    assert watch.dropped == {"jumping": 1}


def test_another_place_that_lasts_is_lost_and_then_believed():
    watch, last = flown()
    away = replace(last, lat_deg=-20.0)
    assert told(watch, *(later(away, float(n)) for n in range(1, 6))) == [
        "lost: jumping",
        "back",
        "fix",
        "fix",
        "fix",
    ]


def test_jumping_to_and_fro_keeps_the_place_that_was_believed():
    watch, last = flown()
    for n in range(1, 20, 2):
        assert told(watch, later(last, float(n), lat_deg=-20.0), later(last, float(n + 1))) == ["fix"]


def test_wild_positions_are_lost_and_never_believed():
    watch, last = flown()
    wild = [later(last, float(n), lat_deg=-20.0 + n % 7 * 3) for n in range(1, 40)]
    assert told(watch, *wild) == ["lost: jumping"]
    assert told(watch, later(last, 40.0)) == ["back", "fix"]


def test_jitter_along_the_track_is_no_jump():
    """Real positions five seconds apart give speeds off by up to 29 kt at the median."""
    watch = FeedWatch(0.0)
    for n, fix in enumerate(flight(100, 5.0)):
        shifted = replace(fix, lat_deg=fix.lat_deg + (-1) ** n * 0.03 / 60)
        assert told(watch, shifted) == ["fix"]


def test_going_back_in_time_is_told_and_a_clock_that_goes_on_from_there_is_believed():
    watch, last = flown()
    rewound = [later(last, float(n), utc_of_day_s=last.utc_of_day_s - 300.0 + n) for n in range(1, 6)]
    assert told(watch, *rewound) == ["lost: back in time", "back", "fix", "fix", "fix"]


def test_one_fix_out_of_order_is_dropped_without_a_word():
    watch, last = flown()
    assert told(watch, later(last, 1.0, utc_of_day_s=last.utc_of_day_s - 1.0), later(last, 2.0)) == ["fix"]
    assert watch.dropped == {"back in time": 1}


def test_midnight_is_not_back_in_time():
    watch = FeedWatch(0.0)
    start = replace(START, utc=None, utc_of_day_s=86_398.0)
    fixes = [later(start, float(n), utc_of_day_s=(86_398.0 + n) % 86_400.0) for n in range(5)]
    assert told(watch, *fixes) == ["fix"] * 5


def test_positions_from_long_ago_are_stale_until_the_delay_has_lasted():
    watch, last = flown()
    old = [later(last, float(n), utc_of_day_s=last.utc_of_day_s + n - 12.0) for n in range(13, 30)]
    words = told(watch, *old)
    assert words[:2] == ["lost: stale", "back"]
    assert watch.dropped == {"stale": 10}


def test_burst_after_a_held_up_line_catches_up_by_itself():
    watch, last = flown()
    arrived_s = last.at_s + 13.0
    burst = [replace(later(last, float(n)), at_s=arrived_s + n / 1000) for n in range(1, 14)]
    assert told(watch, *burst)[-1] == "fix"
    assert watch.lost is None


def test_replay_at_ten_times_the_speed_is_no_jump_and_not_stale():
    watch = FeedWatch(0.0, speed=10.0)
    for fix in flight(300):
        assert told(watch, replace(fix, at_s=fix.at_s / 10)) == ["fix"]


def test_slow_replay_is_not_stale():
    watch = FeedWatch(0.0, speed=0.1)
    for fix in flight(300):
        assert told(watch, replace(fix, at_s=fix.at_s * 10)) == ["fix"]


def test_replay_as_fast_as_it_can_is_believed():
    watch = FeedWatch(0.0, speed=0.0)
    for fix in flight(300):
        assert told(watch, replace(fix, at_s=0.0)) == ["fix"]


def test_fixes_without_a_clock_are_watched_by_their_arrival():
    watch = FeedWatch(0.0)
    fixes = [replace(fix, utc=None, utc_of_day_s=None) for fix in flight(10)]
    assert told(watch, *fixes) == ["fix"] * 10
    assert told(watch, replace(fixes[-1], at_s=10.0, lat_deg=-30.0)) == []


def test_position_across_the_date_line_is_no_jump():
    watch = FeedWatch(0.0)
    west = replace(START, lon_deg=179.9999, utc=None)
    assert told(watch, west, later(west, 1.0, lon_deg=-179.9999)) == ["fix", "fix"]


def test_distance_of_one_degree_of_latitude_is_sixty_miles():
    """On the mean sphere 60.04 NM."""
    assert distance_nm(START, replace(START, lat_deg=-32.0)) == pytest.approx(60.04, abs=0.01)


@given(
    st.lists(
        st.tuples(
            st.floats(0.0, 30.0),
            st.floats(-90, 90),
            st.floats(-180, 180),
            st.none() | st.floats(0, 86_400),
            st.none() | st.floats(0, 500),
        ),
        max_size=60,
    )
)
def test_lost_and_back_alternate_and_no_fix_comes_between_them(steps: list):
    watch, at_s, is_lost = FeedWatch(0.0), 0.0, False
    for after_s, lat_deg, lon_deg, of_day_s, speed_kt in steps:
        at_s += after_s
        fix = Fix(
            at_s=at_s,
            lat_deg=lat_deg,
            lon_deg=lon_deg,
            source="nmea",
            utc_of_day_s=of_day_s,
            ground_speed_kt=speed_kt,
        )
        watch.arrive(at_s)
        for thing in (*watch.wait(at_s), *watch.take(fix)):
            assert isinstance(thing, Fix) is not is_lost or isinstance(thing, Lost | Back)
            assert isinstance(thing, Lost) is False or not is_lost
            assert isinstance(thing, Back) is False or is_lost
            is_lost = isinstance(thing, Lost) or (is_lost and not isinstance(thing, Back))


def hurried(last: Fix, count: int, every_s: float, by: float) -> list[Fix]:
    """The same flight, its places and times so many times too fast."""
    return [replace(later(last, n * every_s * by), at_s=last.at_s + n * every_s) for n in range(1, count + 1)]


@pytest.mark.parametrize(("every_s", "by"), [(1.0, 100.0), (0.01, 100.0), (1.0, 4.0)])
def test_feed_too_fast_is_lost_once_and_not_believed_while_it_lasts(every_s: float, by: float):
    watch, last = flown()
    said = told(watch, *hurried(last, round(60.0 / every_s), every_s, by))
    assert said.count("lost: jumping") == 1
    assert "back" not in said
    fixes = said.index("lost: jumping")
    assert fixes * every_s <= 6.0


def test_feed_a_little_fast_is_believed():
    watch, last = flown()
    assert set(told(watch, *hurried(last, 60, 1.0, 1.5))) == {"fix"}


def test_receiver_that_sets_its_clock_ahead_loses_nothing():
    watch, last = flown()
    moved = [replace(later(last, float(n)), utc_of_day_s=last.utc_of_day_s + 600.0 + n) for n in range(1, 30)]
    said = told(watch, *moved)
    assert set(said) == {"fix"}
    assert len(said) >= 26


def test_burst_of_delayed_fixes_is_no_feed_too_fast():
    watch, last = flown()
    burst = [replace(later(last, float(n)), at_s=last.at_s + 9.0) for n in range(1, 10)]
    assert told(watch, *burst) == ["fix"] * 9


def test_replay_as_fast_as_it_can_is_not_too_fast():
    watch = FeedWatch(0.0, speed=0.0)
    assert told(watch, *(replace(fix, at_s=0.01 * n) for n, fix in enumerate(flight(500)))) == ["fix"] * 500
