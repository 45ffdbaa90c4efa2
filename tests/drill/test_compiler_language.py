"""What the language can say beyond the eight-spoke drill."""

from __future__ import annotations

import pytest

from coach.drill.compiler import compile_drill
from coach.drill.model import Clock, Drill, Ending, T, Turn
from coach.drill.parser import parse_drill
from coach.drill.source import Source
from coach.errors import DrillError
from coach.store.documents import parse_document

SETTINGS = """
settings:
  first_outbound: {kind: course, default: 360, means: The radial flown out on first.}
  arrive_course:
    kind: course
    default_from: {course: first_outbound, turned_back: rotation}
    means: The course flown toward the station.
  spokes: {kind: count, range: [1, 16], default: 2, means: How many.}
  rotation: {kind: turn, default: 45 left, means: How the next is turned.}
  sides: {kind: choice, choices: [alternate, left, right], default: right, means: The side.}
  timer_from: {kind: choice, choices: [turn, level], default: level, means: Where a leg time begins.}
  out_s: {kind: time, unit: s, range: [10, 600], default: 120, means: Out.}
  offset_s: {kind: time, unit: s, range: [10, 600], default: 40, means: Offset.}
"""
OUT = (
    "{leg: out, turn: shorter, heading: outbound, twist: outbound, tracks: true, lasts: out_s, ends_on: time}"
)
HEAD = "title: A reversal\nsource: common practice, no source\n"


def source(*legs: str, head: str = HEAD) -> Source:
    spoke = "".join(f"  - {leg}\n" for leg in legs)
    text = f"{head}{SETTINGS}\nspoke:\n{spoke}"
    return parse_document(text, DrillError, name="reversal", file="reversal.yaml")


def compile_legs(*legs: str, head: str = HEAD, **settings: str) -> Drill:
    return compile_drill(source(*legs, head=head), settings)


def turns(drill: Drill) -> list[tuple[Turn, int, int | None]]:
    return [(leg.turn, leg.turn_deg, leg.heading_mag_deg) for leg in drill.legs]


def test_turn_of_225_the_other_way_ends_on_the_inbound_course() -> None:
    # The 45/225 reversal: 360 out, left 45 to 315, then right 225 to 180 (IFH-15A Fig 5-42).
    drill = compile_legs(
        OUT,
        "{leg: offset, turn: side, heading: {of: outbound, turned: 45 side}, lasts: offset_s, ends_on: time}",
        "{leg: inbound, turn: other side, heading: inbound, twist: inbound, tracks: true, ends_on: passage}",
        sides="left",
    )
    assert turns(drill)[1:3] == [(Turn.LEFT, 45, 315), (Turn.RIGHT, 225, 180)]


def test_turn_of_80_then_260_the_other_way_ends_on_the_inbound_course() -> None:
    # The 80/260 reversal: 360 out, left 80 to 280, right 260 to 180 (IFH-15A p. 5-31).
    drill = compile_legs(
        OUT,
        "{leg: offset, turn: left, heading: {of: outbound, turned: 80 left}, ends_on: heading}",
        "{leg: inbound, turn: right, heading: inbound, twist: inbound, tracks: true, ends_on: passage}",
    )
    assert turns(drill)[1:3] == [(Turn.LEFT, 80, 280), (Turn.RIGHT, 260, 180)]


def test_leg_without_a_heading_turns_nowhere_and_the_next_counts_from_the_last_one() -> None:
    drill = compile_legs(
        OUT,
        "{leg: wait, turn: none, ends_on: word}",
        "{leg: back, turn: right, heading: {of: previous, turned: 180 right}, ends_on: passage}",
        spokes="1",
    )
    assert turns(drill) == [(Turn.LEFT, 45, 360), (Turn.NONE, 0, None), (Turn.RIGHT, 180, 180)]


def test_course_stays_until_another_is_set() -> None:
    drill = compile_legs(
        "{leg: out, turn: shorter, heading: outbound, ends_on: word}",
        "{leg: back, turn: right, heading: inbound, twist: inbound, tracks: true, ends_on: passage}",
    )
    assert [(leg.course_mag_deg, leg.sets_course) for leg in drill.legs] == [
        (45, False), (180, True), (180, False), (315, True),
    ]  # fmt: skip


def test_what_a_leg_leaves_out_is_none() -> None:
    leg = compile_legs("{leg: on, turn: none, ends_on: passage}").legs[0]
    assert (leg.clock, leg.leg_s, leg.throttle, leg.talk, leg.tracks) == (Clock.NONE, None, None, None, False)
    assert leg.ends_on is Ending.PASSAGE


def test_throttle_and_talk_are_the_authors_words() -> None:
    leg = compile_legs("{leg: on, turn: none, throttle: Slow down, talk: Inbound, ends_on: passage}").legs[0]
    assert (leg.throttle, leg.talk) == ("Slow down", "Inbound")


def test_school_that_puts_time_first_says_so_in_the_file() -> None:
    head = f"{HEAD}five_ts: [time, turn, twist, throttle, talk]\n"
    drill = compile_legs("{leg: on, turn: none, ends_on: passage}", head=head)
    assert drill.five_ts == (T.TIME, T.TURN, T.TWIST, T.THROTTLE, T.TALK)


def test_notes_are_kept_for_the_instructor() -> None:
    spec = parse_drill(source("{leg: on, turn: none, ends_on: passage}", head=f"{HEAD}notes: [One., Two.]\n"))
    assert spec.notes == ("One.", "Two.")


@pytest.mark.parametrize(
    ("leg", "warned"),
    [
        # R13 for 45 degrees is 2 / w; for 30 degrees 2 / w x cot 30 = 66.2 s (geometry).
        pytest.param("{of: outbound, turned: 45 side}", True, id="45 degrees"),
        pytest.param("{of: outbound, turned: 80 side}", False, id="80 degrees need only 6.7 s"),
        pytest.param("{of: outbound, turned: 90 side}", False, id="no offset that closes"),
        pytest.param("outbound", False, id="no offset at all"),
    ],
)
def test_short_offset_is_warned_of_by_its_own_angle(leg: str, warned: bool) -> None:
    drill = compile_legs(
        OUT,
        f"{{leg: offset, turn: side, heading: {leg}, twist: inbound, lasts: offset_s, ends_on: time}}",
        "{leg: back, turn: other side, heading: {of: previous, turned: 180 left}, ends_on: intercept}",
        "{leg: inbound, turn: other side, heading: inbound, tracks: true, ends_on: passage}",
        offset_s="38",
    )
    assert bool(drill.warnings) is warned


def test_leg_before_an_intercept_that_has_no_heading_is_no_offset() -> None:
    drill = compile_legs(
        "{leg: wait, turn: none, twist: inbound, lasts: out_s, ends_on: time}",
        "{leg: back, turn: right, heading: {of: outbound, turned: 135 right}, ends_on: intercept}",
        "{leg: inbound, turn: right, heading: inbound, tracks: true, ends_on: passage}",
    )
    assert drill.warnings == ()
