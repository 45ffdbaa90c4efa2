"""The screen's lines: everything in its place at every size, never more than there is room for."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.fix import Fix
from coach.nav.station import Station
from coach.nav.vor import Flag
from coach.screen.glance import Eyes, Glance, after_action, after_event, after_fix, after_telling
from coach.screen.layout import FLASH_S, Paper, keys_now, lay_out, next_change_s, timer_text, title_text
from coach.session.actions import Listen, Say
from coach.session.events import EdgeFailed, FeedLost, PhraseHeard, TransmitStarted
from coach.session.phrases import Phrase, PhraseTable
from coach.session.position import Position
from tests.screen.test_glance import SHOW

TABLE = PhraseTable(
    language="en",
    phrases=(
        Phrase(canonical="station passage", ways=("station passage",), key="p", means="passage"),
        Phrase(canonical="next leg", ways=("next leg",), key="space", means="move on"),
        Phrase(canonical="say again", ways=("say again",), key="s", means="repeat"),
        Phrase(canonical="affirmative", ways=("affirmative",), key=None, means="yes"),
        Phrase(canonical="mute", ways=(), key="m", means="silence"),
    ),
)
ALWAYS = (("x", "transmit"),)
KEYS = (("x", "transmit"), ("m", "mute"), ("space", "next leg"))


def flown() -> Glance:
    """On the offset leg since 10 s, its call due at 70 s; now is 57 s."""
    glance = after_action(Glance(), Listen(phrases=("next leg",)), 10.0)
    glance = after_action(
        glance, Say(prompt=1, text="Left, one niner five", due_s=None, stale_s=9, is_time_call=False), 10.0
    )
    glance = after_action(glance, SHOW, 10.0)
    return after_event(glance, PhraseHeard(at_s=9.0, onset_s=8.9, phrase="next leg", by="voice"))


def plain(
    glance: Glance, width: int, height: int, now_s: float = 57.0, *, is_ascii: bool = False
) -> list[str]:
    paper = Paper(width=width, height=height, is_ascii=is_ascii)
    return [line.plain.rstrip() for line in lay_out(glance, KEYS, now_s, paper)]


def test_forty_by_fifteen_holds_everything_large_digits_too() -> None:
    assert plain(flown(), 40, 15) == [
        " Spoke 1, offset",
        " heading        timer",
        "   █ ███ ███        ███   █ █ ███",
        "   █ █ █ █          █ █ █ █ █   █",
        "   █ ███ ███        █ █   ███   █",
        "   █   █   █        █ █ █   █   █",
        "   █ ███ ███        ███     █   █",
        " course 060     to 1:00, 0:13 to go",
        " Coach   Left, one niner five",
        " Coming  Right, zero one five",
        " Heard   next leg",
        " x transmit  m mute  space next leg",
    ]


def test_a_small_window_holds_the_figures_as_text() -> None:
    assert plain(flown(), 36, 8) == [
        " Spoke 1, offset",
        " 195  0:47",
        " course 060  to 1:00, 0:13 to go",
        " Coach   Left, one niner five",
        " Coming  Right, zero one five",
        " Heard   next leg",
        " x transmit  m mute  space next leg",
    ]


def test_before_the_first_leg_nothing_is_made_up() -> None:
    assert plain(Glance(), 36, 8)[:3] == [" Ready", " ---  --:--", " course ---"]


@pytest.mark.parametrize(
    ("width", "height", "digit_rows"), [(80, 24, 10), (62, 15, 5), (200, 50, 15), (40, 15, 5), (40, 14, 0)]
)
def test_the_digits_are_as_large_as_there_is_room_for(width: int, height: int, digit_rows: int) -> None:
    assert sum("█" in row for row in plain(flown(), width, height)) == digit_rows


def test_a_terminal_without_block_characters_gets_none() -> None:
    rows = plain(flown(), 80, 24, is_ascii=True)
    assert all(row.isascii() for row in rows)
    assert any("######" in row for row in rows)


def test_the_digits_stay_in_place_when_a_fault_comes_and_keys_change() -> None:
    before, now = (
        flown(),
        after_event(flown(), EdgeFailed(at_s=1.0, onset_s=1.0, edge="ear", reason="Ear gone")),
    )
    for width, height in ((80, 24), (40, 15), (200, 50)):
        rows_before, rows_now = plain(before, width, height), plain(now, width, height)
        assert rows_before[: len(rows_before) - 3] == rows_now[: len(rows_before) - 3]
        assert " Fault   Ear gone" in rows_now


def test_two_faults_are_one_row_each_and_one_may_take_two() -> None:
    long = "Speaker gone, text only until it is plugged in again"
    one = after_telling(flown(), long)
    assert [row for row in plain(one, 40, 24) if "Note" in row or "until" in row] == [
        " Note    Speaker gone, text only until",
    ]
    assert "         it is plugged in again" in plain(one, 40, 24)
    both = after_event(one, EdgeFailed(at_s=1.0, onset_s=1.0, edge="ear", reason="Ear gone, use keys"))
    assert [row for row in plain(both, 40, 24) if "Fault" in row or "Note" in row] == [
        " Note    Speaker gone, text only ...",
        " Fault   Ear gone, use keys",
    ]


def test_what_is_not_as_usual_stands_out_without_colour() -> None:
    hushed = after_action(flown(), replace(SHOW, state="suspended"), 57.0)
    title = lay_out(hushed, KEYS, 57.0, Paper(width=40, height=15))[0]
    assert [(title.plain[span.start : span.end], span.style) for span in title.spans][-1] == (
        "SUSPENDED",
        "bold reverse",
    )


def test_a_narrow_window_keeps_what_is_left_of_the_leg() -> None:
    assert plain(flown(), 30, 12)[2] == " course 060  0:13 to go"
    assert plain(flown(), 40, 12)[2] == " course 060  to 1:00, 0:13 to go"


class TestNeedle:
    @pytest.mark.parametrize(
        ("share", "dots", "row"),
        [
            (0.0, 5, "o o o o o █ o o o o o TO    radial 065, 3.4 NM"),
            (-0.2, 5, "o o o o █ | o o o o o TO    radial 065, 3.4 NM"),
            (0.5, 5, "o o o o o | o o█o o o TO    radial 065, 3.4 NM"),
            (1.0, 5, "o o o o o | o o o o █ TO    radial 065, 3.4 NM"),
            (-1.0, 2, "█ o | o o TO    radial 065, 3.4 NM"),
        ],
    )
    def test_stands_on_its_dots(self, share: float, dots: int, row: str) -> None:
        assert needle_row(seen(share), 80, dots) == f" Needle  {row}"

    def test_place_is_left_out_where_there_is_no_room(self) -> None:
        assert needle_row(seen(0.0), 40, 5) == " Needle  o o o o o █ o o o o o TO"

    def test_no_course_only_the_place(self) -> None:
        assert needle_row(seen(None), 80, 5) == " Needle  radial 065, 3.4 NM"

    def test_no_position_is_said(self) -> None:
        lost = after_event(seen(0.0), FeedLost(at_s=60.0, onset_s=58.0, reason="silent"))
        assert needle_row(lost, 80, 5) == " Needle  no position"

    def test_without_a_feed_there_is_no_row(self) -> None:
        assert not [row for row in plain(flown(), 80, 24) if "Needle" in row]

    def test_digits_stay_in_place_when_the_feed_is_lost(self) -> None:
        paper = Paper(width=80, height=24, dots=5)
        rows = [
            [line.plain for line in lay_out(glance, KEYS, 57.0, paper)][:12]
            for glance in (flown(), seen(0.3), seen(None))
        ]
        assert rows[0] == rows[1] == rows[2]

    def test_a_fix_is_seen_with_the_legs_course(self) -> None:
        eyes = Eyes(station=Station(latitude_deg=-33.0, longitude_deg=-12.0))
        lat_deg, lon_deg = eyes.station.locate(1.0, 1.732)
        fix = Fix(at_s=57.0, lat_deg=lat_deg, lon_deg=lon_deg, source="nmea")
        position = after_fix(flown(), fix, eyes).position
        assert position is not None
        assert (position.flag, position.radial_mag_deg) == (Flag.FROM, 30)
        assert position.needle_share == 1.0


def seen(share: float | None) -> Glance:
    """On the 065 radial, 3.4 NM out."""
    position = Position(
        east_nm=3.081,
        north_nm=1.437,
        track_mag_deg=None,
        ground_speed_kt=None,
        needle_share=share,
        flag=None if share is None else Flag.TO,
    )
    return replace(flown(), position=position)


def needle_row(glance: Glance, width: int, dots: int) -> str:
    rows = lay_out(glance, KEYS, 57.0, Paper(width=width, height=24, dots=dots))
    return next(row.plain.rstrip() for row in rows if "Needle" in row.plain)


def test_a_new_prompt_stands_out_and_then_does_not() -> None:
    def style_at(now_s: float) -> str:
        lines = lay_out(flown(), KEYS, now_s, Paper(width=80, height=24))
        coach = next(line for line in lines if line.plain.startswith(" Coach"))
        return str(coach.spans[-1].style)

    assert "reverse" in style_at(10.0)
    assert "reverse" in style_at(10.0 + FLASH_S - 0.01)
    assert "reverse" not in style_at(10.0 + FLASH_S)


def test_transmitting_and_a_state_other_than_flying_are_said_at_the_top() -> None:
    assert plain(flown(), 40, 15)[0] == " Spoke 1, offset"
    hushed = after_action(flown(), replace(SHOW, state="standing by"), 57.0)
    assert plain(hushed, 40, 15)[0] == " Spoke 1, offset            STANDING BY"
    transmitting = after_event(hushed, TransmitStarted(at_s=57.0, onset_s=57.0))
    assert plain(transmitting, 40, 15)[0] == " Spoke 1, offset           TRANSMITTING"


@pytest.mark.parametrize(
    ("state", "spoke", "leg", "title"),
    [
        ("flying", 3, "offset", "Spoke 3, offset"),
        ("flying", None, "racetrack", "Racetrack"),
        ("arriving", 1, None, "Spoke 1"),
        ("complete", None, None, "Complete"),
    ],
)
def test_the_title_is_spoke_and_leg_or_the_state(
    state: str, spoke: int | None, leg: str | None, title: str
) -> None:
    assert title_text(replace(SHOW, state=state, spoke=spoke, leg=leg)) == title


@pytest.mark.parametrize(
    ("elapsed_s", "text"),
    [
        (0.0, "0:00"),
        (0.999, "0:00"),
        (59.999, "0:59"),
        (60.0, "1:00"),
        (754.0, "12:34"),
        (5_999.0, "99:59"),
        (9_999.0, "99:59"),
        (-0.5, "0:00"),
    ],
)
def test_the_timer_reads_as_a_panel_clock(elapsed_s: float, text: str) -> None:
    assert timer_text(elapsed_s) == text


@pytest.mark.parametrize(
    ("now_s", "row"),
    [
        (10.0, " course 060  to 1:00, 1:00 to go"),
        (69.5, " course 060  to 1:00, 0:01 to go"),
        (70.0, " course 060  to 1:00, 0:00 over"),
        (82.9, " course 060  to 1:00, 0:12 over"),
    ],
)
def test_the_time_left_counts_down_and_then_over(now_s: float, row: str) -> None:
    assert plain(flown(), 60, 8, now_s)[2] == row


def test_a_leg_time_without_a_running_timer_is_only_what_is_left() -> None:
    glance = after_action(flown(), replace(SHOW, timer_from_s=None), 57.0)
    assert plain(glance, 60, 8)[1:3] == [" 195  --:--", " course 060  0:13 to go"]
    untimed = after_action(flown(), replace(SHOW, ends_at_s=None), 57.0)
    assert plain(untimed, 60, 8)[1:3] == [" 195  0:47", " course 060"]


def test_keys_are_those_that_work_now_the_constant_ones_first() -> None:
    assert keys_now(Glance(), TABLE, ALWAYS) == (("x", "transmit"), ("m", "mute"))
    listening = replace(Glance(), listening=("say again", "affirmative", "station passage"))
    assert keys_now(listening, TABLE, ALWAYS) == (
        ("x", "transmit"),
        ("m", "mute"),
        ("p", "station passage"),
        ("s", "say again"),
    )


def test_no_key_is_torn_from_its_meaning() -> None:
    keys = tuple((chr(97 + n), f"phrase {n}") for n in range(26))
    lines = lay_out(flown(), keys, 57.0, Paper(width=40, height=40))
    items = [item for line in lines if "phrase" in line.plain for item in line.plain.strip().split("  ")]
    assert items == [f"{key} {means}" for key, means in keys]


def test_the_next_change_is_the_next_second_the_next_line_or_the_end_of_a_flash() -> None:
    assert next_change_s(Glance(), 5.0) is None
    line_only = replace(flown(), show=None)
    assert next_change_s(line_only, 11.0) == 10.0 + FLASH_S
    assert next_change_s(line_only, 14.0) is None
    assert next_change_s(flown(), 57.3) == 58.0
    assert next_change_s(flown(), 58.0) == 59.0
    due = after_action(flown(), Say(prompt=2, text="Right", due_s=57.5, stale_s=99, is_time_call=True), 57.3)
    assert next_change_s(due, 57.3) == 57.5


@given(
    st.integers(1, 250),
    st.integers(1, 80),
    st.text(max_size=300),
    st.text(max_size=300),
    st.floats(-10.0, 1e6),
    st.booleans(),
)
def test_whatever_is_shown_fits_the_window(
    width: int, height: int, told: str, coming: str, now_s: float, is_ascii: bool
) -> None:
    glance = after_telling(after_action(flown(), replace(SHOW, coming=coming), 10.0), told)
    lines = lay_out(glance, KEYS, now_s, Paper(width=width, height=height, is_ascii=is_ascii))
    assert len(lines) <= height
    assert all(line.cell_len <= width for line in lines)
