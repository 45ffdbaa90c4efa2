"""The board as a dialogue: what a page shows while a drill is flown."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coach.fixes.fix import Fix
from coach.page.board import FIX_EVERY_S
from coach.session.actions import Record, Say
from coach.session.events import (
    AnswerHeard,
    BookmarkMade,
    EdgeFailed,
    EdgeRecovered,
    FeedBack,
    FeedLost,
    FixReceived,
    HeldUp,
    NoteMade,
    NotUnderstood,
    PromptDropped,
    TransmitEnded,
    TransmitStarted,
)
from tests.page.flights import PASSAGE_S, STATION, Shown, flying


def log_of(shown: Shown) -> list[tuple[float, str, str]]:
    everything = shown.board.ledger
    return [(line["at_s"], line["who"], line["text"]) for line in everything._log]


def times(at_s: float, onset_s: float | None = None) -> dict[str, float]:
    return {"at_s": at_s, "onset_s": at_s if onset_s is None else onset_s}


def fix(at_s: float, *, east_nm: float = 0.0, north_nm: float = 0.0, **others: float) -> FixReceived:
    lat_deg, lon_deg = STATION.locate(east_nm, north_nm)
    seen = Fix(at_s=at_s, lat_deg=lat_deg, lon_deg=lon_deg, source="nmea", **others)  # type: ignore[arg-type]
    return FixReceived(at_s=at_s, onset_s=at_s, fix=seen)


def test_the_present_leg_is_what_the_session_shows():
    shown = flying()
    show = shown.value("show")
    assert (show["state"], show["leg_n"], show["spoke"], show["leg"]) == ("flying", 1, 1, "outbound")
    assert (show["heading_mag_deg"], show["timer_from_s"], show["ends_at_s"]) == (
        240,
        PASSAGE_S,
        PASSAGE_S + 60,
    )


def test_log_tells_the_flight_in_order():
    shown = flying().wait_until(PASSAGE_S + 61)
    assert log_of(shown) == [
        (0.0, "coach", "Ready. First outbound two four zero"),
        (50.0, "pilot", "station passage (voice)"),
        (50.4, "coach", "Left, two four zero"),
        (50.0, "leg", "spoke 1 outbound 240"),
        (100.0, "coach", "Ten seconds. Left, one niner five"),
        (110.0, "coach", "Left, one niner five"),
        (110.0, "leg", "spoke 1 offset 195"),
    ]


def test_a_leg_is_begun_by_the_word_and_the_next_by_the_clock():
    shown = flying().wait_until(PASSAGE_S + 61)
    assert shown.value("row:1")["began"] == {"by": "voice", "at_s": 50.0}
    assert shown.value("row:2")["began"] == {"by": "clock", "at_s": 110.0}
    assert shown.value("row:3")["began"] is None


def test_five_ts_fill_up_as_they_are_called_and_confirmed():
    shown = flying()
    assert (shown.cell(1, "turn"), shown.cell(2, "turn")) == ((True, "voice"), (False, None))
    shown.wait_until(PASSAGE_S + 59.5)
    assert shown.cell(2, "turn") == (True, None)
    shown.wait_until(PASSAGE_S + 70)
    assert (shown.cell(2, "turn"), shown.cell(2, "twist")) == ((True, "clock"), (True, None))


def test_what_a_t_asks_for_stands_in_its_cell():
    cells = flying().value("row:2")["cells"]
    assert [cell["text"] for cell in cells] == ["L 195", "runs 60 s", "060", "—", "—"]


def test_the_last_turn_is_confirmed_by_the_needle():
    shown = flying().wait_until(PASSAGE_S + 165).hear("needle alive", by="key").wait_until(PASSAGE_S + 166)
    assert shown.cell(4, "turn") == (True, "key")
    assert shown.hear("established").cell(4, "twist")[1] == "voice"


def test_an_undone_step_empties_its_row():
    shown = flying().wait_until(PASSAGE_S + 45)
    shown.hear("next leg").wait_until(PASSAGE_S + 46)
    assert shown.value("row:2")["began"] is not None
    shown.hear("disregard")
    assert shown.value("show")["leg_n"] == 1
    assert shown.value("row:2")["began"] is None
    assert shown.cell(2, "turn") == (False, None)
    assert shown.value("row:1")["began"] == {"by": "voice", "at_s": 50.0}


def test_a_leg_that_a_surprise_puts_in_is_told_and_the_rows_after_it_are_their_own():
    shown = flying()
    at_s, show = 400.0, shown.dialogue.shown
    held = replace(show, leg_n=5, leg="hold_outbound", heading_mag_deg=240)
    shown.board.note_action(held, at_s)
    assert shown.value("show")["row"] is None
    assert log_of(shown)[-1][1:] == ("leg", "spoke 1 hold outbound 240")
    shown.board.note_action(say("Left, zero one five"), at_s + 100.0)
    shown.board.note_action(replace(show, leg_n=7, spoke=2, heading_mag_deg=15), at_s + 100.0)
    assert shown.value("show")["row"] == 5
    assert shown.value("row:5")["began"] is not None


def test_a_heading_that_a_surprise_has_changed_stands_behind_the_planned_one():
    shown = flying()
    shown.board.note_action(say("Left, two zero five"), 109.0)
    altered = replace(shown.dialogue.shown, leg_n=2, leg="offset", heading_mag_deg=205, course_mag_deg=70)
    shown.board.note_action(altered, 110.0)
    cells = shown.value("row:2")["cells"]
    assert [cell["text"] for cell in cells][:3] == ["L 195 → 205", "runs 60 s", "060 → 070"]
    assert shown.cell(2, "turn")[0]


def say(text: str) -> Say:
    return Say(prompt=900, text=text, due_s=None, stale_s=999.0, is_time_call=False)


def test_a_spoke_flown_again_begins_its_rows_anew():
    shown = flying().wait_until(PASSAGE_S + 70).hear("rejoin").wait_until(PASSAGE_S + 100)
    shown.hear("station passage", by="key").wait_until(PASSAGE_S + 101)
    assert shown.value("row:1")["began"]["by"] == "key"
    assert shown.value("row:2")["began"] is None
    assert shown.cell(1, "turn") == (True, "key")


def test_a_call_taken_back_before_it_sounds_was_never_made():
    shown = flying().wait_until(PASSAGE_S + 59.2)
    assert shown.cell(2, "turn")[0]
    shown.hear("traffic")
    assert not shown.cell(2, "turn")[0]
    assert "Left, one niner five" not in [line["text"] for line in shown.value("lines")]
    assert log_of(shown.wait_until(PASSAGE_S + 70))[-1][2] == "traffic (voice)"


def test_a_prompt_that_was_dropped_is_not_in_the_log():
    shown = flying().wait_until(PASSAGE_S + 59.2)
    prompt = max(shown.board._workflow._said)
    shown.happen(PromptDropped(**times(PASSAGE_S + 59.3), prompt=prompt, reason="no speaker"))
    assert not shown.cell(2, "turn")[0]
    assert "Left, one niner five" not in [text for _, _, text in log_of(shown.wait_until(PASSAGE_S + 62))]


def test_what_the_instructor_marks_and_notes_comes_back_with_its_own_time():
    shown = flying()
    shown.happen(BookmarkMade(**times(60.0, 59.0), what="late"))
    shown.happen(NoteMade(**times(70.0, 55.0), text="drifted left"))
    assert log_of(shown)[-2:] == [(59.0, "page", "bookmark: late"), (55.0, "page", "drifted left")]


def test_what_was_not_understood_is_told():
    shown = flying().happen(NotUnderstood(**times(60.0), reason="no phrase fits"))
    assert log_of(shown)[-1] == (60.0, "pilot", "not understood: no phrase fits")


def told(shown: Shown, what: str, onset_s: float) -> Shown:
    shown.board.note_action(Record(what=what, onset_s=onset_s), onset_s + 1.0)
    return shown


@pytest.mark.parametrize(
    ("what", "onset_s", "n", "t"),
    [
        ("called: twist course 240", 58.0, 1, "twist"),
        ("called: time", 54.0, 1, "time"),
        ("called: turn left 195", 108.0, 2, "turn"),
        ("asked coming turn, left 195: answered left 195 after 2.1 s, right", 90.0, 2, "turn"),
        ("asked course set, course 240: answered course 240 after 2.1 s, right", 90.0, 1, "twist"),
        ("asked seconds to go, 20: answered 20 after 2.1 s, right", 90.0, 1, "time"),
    ],
)
def test_a_t_called_out_or_answered_right_is_confirmed(what: str, onset_s: float, n: int, t: str):
    shown = told(flying(), what, onset_s)
    assert shown.cell(n, t)[1] == "voice"
    assert log_of(shown)[-1][2] == what


@pytest.mark.parametrize(
    "what",
    [
        "asked coming turn, left 195: answered left 205 after 2.1 s, wrong",
        "asked coming turn, left 195: answered right 195 after 2.1 s, nearly (wrong side)",
        "asked coming turn, left 195: no answer",
        "callout: twist missing",
        "asked nothing of the kind, right",
        "called: landing",
    ],
)
def test_what_was_wrong_or_missing_is_told_and_confirms_nothing(what: str):
    shown = told(flying(), what, 90.0)
    assert shown.cell(2, "turn")[1] is None
    assert shown.cell(1, "twist")[1] is None
    assert log_of(shown)[-1][2] == what


def test_records_that_only_repeat_an_event_are_not_told_twice():
    shown = told(flying(), "leg 1: spoke 1 outbound", 51.0)
    assert "leg 1: spoke 1 outbound" not in [text for _, _, text in log_of(shown)]


def test_what_was_answered_is_in_the_log():
    answer = AnswerHeard(**times(70.0), kind="heading", digits="195", direction="left", is_right=True)  # type: ignore[arg-type]
    assert log_of(flying().happen(answer))[-1] == (70.0, "pilot", "left heading 195")


def test_a_coach_that_stood_still_says_so():
    shown = flying().happen(HeldUp(**times(70.0, 61.0)))
    assert log_of(shown)[-1] == (70.0, "fault", "the coach stood still for 9 s")
    assert log_of(shown.happen(HeldUp(**times(75.0, 74.0))))[-1][0] == 70.0


def test_faults_stand_until_they_are_over():
    shown = flying().happen(EdgeFailed(**times(60.0), edge="ear", reason="crashed"))
    assert shown.value("faults") == {"ear": "crashed"}
    assert shown.happen(EdgeRecovered(**times(61.0), edge="ear")).value("faults") == {}


def test_transmitting_is_shown_while_it_lasts():
    shown = flying().happen(TransmitStarted(**times(60.0)))
    assert shown.value("transmitting") is True
    assert shown.happen(TransmitEnded(**times(61.0))).value("transmitting") is False


class TestAircraft:
    def test_stands_where_the_feed_puts_it(self):
        shown = flying(station=STATION).happen(
            fix(60.0, east_nm=-2.0, track_true_deg=230.0, ground_speed_kt=91.6)
        )
        aircraft, side = shown.value("aircraft"), shown.value("plan")["picture"]["side"]
        x, y = aircraft["at"]
        assert x < side / 2
        assert y == pytest.approx(side / 2, abs=0.5)
        assert aircraft["track_mag_deg"] == 240.0
        assert (aircraft["radial_mag_deg"], aircraft["distance_nm"], aircraft["ground_speed_kt"]) == (
            270,
            2.0,
            92,
        )

    def test_needle_is_that_of_the_course_set(self):
        shown = flying(station=STATION).happen(fix(60.0, east_nm=-1.732, north_nm=-1.0))
        assert shown.value("needle") == {"share": 0.0, "flag": "from", "course_mag_deg": 240}

    def test_no_course_no_needle(self):
        assert Shown(station=STATION).happen(fix(10.0, east_nm=1.0)).value("needle") is None

    def test_fixes_that_follow_closely_are_left_out(self):
        shown = flying(station=STATION).happen(fix(60.0, east_nm=-1.0))
        shown.happen(fix(60.0 + FIX_EVERY_S / 2, east_nm=-2.0))
        assert shown.value("aircraft")["distance_nm"] == 1.0

    def test_without_a_feed_there_is_none(self):
        shown = flying()
        shown.board.note_event(fix(60.0), 60.0)
        assert shown.value("aircraft") is None
        assert shown.value("plan")["has_feed"] is False

    def test_a_lost_feed_is_told_until_it_is_back(self):
        shown = flying(station=STATION).happen(FeedLost(**times(60.0), reason="silent"))
        assert shown.value("feed_lost") == "silent"
        assert shown.happen(FeedBack(**times(61.0))).value("feed_lost") is None


def test_the_end_is_told():
    shown = flying()
    for n in range(2):
        base_s = PASSAGE_S + 325 * n
        shown.wait_until(base_s + 165).hear("needle alive").wait_until(base_s + 325).hear("station passage")
    assert shown.wait_until(PASSAGE_S + 700).value("over") is True
    assert shown.value("show")["state"] == "complete"
