"""The flight as plain lines, one for each change: for a pipe, a file, a terminal that cannot do better.

Each line begins with the session's time. Never rewrites a line, never prints one itself.
"""

from __future__ import annotations

from coach.screen.glance import Glance, Spoken, find_line, find_next_line_s
from coach.screen.layout import timer_text, title_text
from coach.session.actions import Action, Show
from coach.session.events import (
    EdgeFailed,
    EdgeRecovered,
    Event,
    NotUnderstood,
    PhraseHeard,
    TransmitEnded,
    TransmitStarted,
)

WHO_WIDTH = 6


def find_action_news(before: Glance, action: Action) -> str | None:
    """The line for a new leg or a new state; what the coach says has its own."""
    if not isinstance(action, Show):
        return None
    was = before.show
    if was is not None and (was.state, was.leg_n, was.leg) == (action.state, action.leg_n, action.leg):
        return None
    return _line("leg", f"{title_text(action)}{_figures(action)}")


def find_event_news(event: Event) -> str | None:
    """The line for what was heard or lost."""
    match event:
        case PhraseHeard():
            return _line("pilot", f"{event.phrase} ({event.by})")
        case NotUnderstood():
            return _line("pilot", f"not understood: {event.reason}")
        case TransmitStarted():
            return _line("pilot", "transmitting")
        case TransmitEnded():
            return _line("pilot", "transmission ended")
        case EdgeFailed():
            return _line("fault", event.reason)
        case EdgeRecovered():
            return _line("fault", f"{event.edge} is back")
    return None


def told_line(text: str) -> str:
    """The line for what is no part of the session."""
    return _line("note", text)


def stamped(line: str, at_s: float) -> str:
    """A line with the session's time before it."""
    return f"{timer_text(at_s):>6}  {line}"


class CoachLines:
    """The coach's lines, each once, when it is due."""

    def __init__(self) -> None:
        self._printed: Spoken | None = None

    def find_due(self, glance: Glance, now_s: float) -> str | None:
        """The line that has become due since the last time; None: no new one."""
        line = find_line(glance, now_s)
        if line is None or line is self._printed:
            return None
        self._printed = line
        return stamped(_line("coach", line.text), line.from_s)

    def find_next_s(self, glance: Glance, now_s: float) -> float | None:
        """When the next line is due."""
        return find_next_line_s(glance, now_s)


def _line(who: str, text: str) -> str:
    return f"{who:<{WHO_WIDTH}}{text}"


def _figures(show: Show) -> str:
    heading = "" if show.heading_mag_deg is None else f", heading {show.heading_mag_deg:03}"
    course = "" if show.course_mag_deg is None else f", course {show.course_mag_deg:03}"
    state = "" if show.state == "flying" or show.leg is None else f", {show.state}"
    return f"{heading}{course}{state}"
