"""The flight as plain lines: each change once, each of the coach's lines when it is due."""

from dataclasses import replace

import pytest

from coach.screen.glance import Glance, after_action
from coach.screen.plain import CoachLines, find_action_news, find_event_news, stamped, told_line
from coach.session.actions import Say
from coach.session.events import (
    EdgeFailed,
    EdgeRecovered,
    Event,
    NotUnderstood,
    PhraseHeard,
    TransmitEnded,
    TransmitStarted,
    Woken,
)
from tests.screen.test_glance import SHOW, TIMES, say


def test_a_new_leg_is_a_line_and_the_same_leg_is_none() -> None:
    assert find_action_news(Glance(), SHOW) == "leg   Spoke 1, offset, heading 195, course 060"
    shown = after_action(Glance(), SHOW, 0.0)
    assert find_action_news(shown, replace(SHOW, note="Undone", coming="")) is None
    assert find_action_news(shown, replace(SHOW, state="standing by")) == (
        "leg   Spoke 1, offset, heading 195, course 060, standing by"
    )


def test_a_state_without_a_leg_is_a_line_of_its_own() -> None:
    complete = replace(
        SHOW, state="complete", leg_n=None, leg=None, spoke=None, heading_mag_deg=None, course_mag_deg=None
    )
    assert find_action_news(Glance(), complete) == "leg   Complete"


def test_what_the_coach_says_is_no_news_until_it_is_due() -> None:
    assert find_action_news(Glance(), say("Left")) is None
    lines = CoachLines()
    glance = after_action(
        Glance(), Say(prompt=1, text="Left", due_s=70.0, stale_s=72.0, is_time_call=True), 69.0
    )
    assert lines.find_due(glance, 69.9) is None
    assert lines.find_next_s(glance, 69.9) == 70.0
    assert lines.find_due(glance, 70.1) == "  1:10  coach Left"
    assert lines.find_due(glance, 70.2) is None


def test_the_same_words_said_again_are_a_line_again() -> None:
    lines = CoachLines()
    glance = after_action(Glance(), say("Passage?"), 10.0)
    assert lines.find_due(glance, 10.0) == "  0:10  coach Passage?"
    assert lines.find_due(after_action(glance, say("Passage?"), 20.0), 20.0) == "  0:20  coach Passage?"


@pytest.mark.parametrize(
    ("event", "line"),
    [
        (PhraseHeard(**TIMES, phrase="next leg", by="key"), "pilot next leg (key)"),
        (NotUnderstood(**TIMES, reason="too long"), "pilot not understood: too long"),
        (TransmitStarted(**TIMES), "pilot transmitting"),
        (TransmitEnded(**TIMES), "pilot transmission ended"),
        (EdgeFailed(**TIMES, edge="speaker", reason="Speaker gone"), "fault Speaker gone"),
        (EdgeRecovered(**TIMES, edge="speaker"), "fault speaker is back"),
        (Woken(**TIMES), None),
    ],
    ids=lambda value: type(value).__name__,
)
def test_what_was_heard_or_lost_is_a_line(event: Event, line: str | None) -> None:
    assert find_event_news(event) == line


def test_every_line_begins_with_the_time() -> None:
    assert stamped(told_line("No microphone"), 754.2) == " 12:34  note  No microphone"
