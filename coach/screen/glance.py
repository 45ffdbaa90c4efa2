"""What the screen shows, as one value: what the session wants shown, what was said and what was heard.

A prompt appears when its first word is due, not when it was asked for. Pure: never draws, never reads
a clock.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from coach.fixes.fix import Fix
from coach.nav.station import Station
from coach.nav.vor import FULL_SCALE_DEG
from coach.session.actions import Action, Listen, Say, Show, Silence
from coach.session.events import (
    EdgeFailed,
    EdgeRecovered,
    Event,
    FeedLost,
    NotUnderstood,
    PhraseHeard,
    TransmitEnded,
    TransmitStarted,
)
from coach.session.position import Position, find_position

MOST_DUE = 8
"""Prompts that wait for their time; the machine never has more than two or three."""

MOST_TOLD = 8
"""Lines told before and in the flight that are kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """A line of the coach."""

    text: str
    from_s: float
    """When it appears, on the session clock: when its first word sounds."""

    is_said: bool = True
    """False: a note, shown only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Eyes:
    """What a feed's positions are seen with."""

    station: Station
    full_scale_deg: float = FULL_SCALE_DEG
    dots: int = 5
    """On each side of the needle's scale."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """Everything there is to see; begins empty."""

    show: Show | None = None
    lines: tuple[Spoken, ...] = ()
    """The coach's lines by their time: the present one and those still due."""

    heard: str = ""
    """The last words understood, or that they were not."""

    is_transmitting: bool = False
    faults: tuple[tuple[str, str], ...] = ()
    """Each edge that is gone, and why."""

    told: tuple[str, ...] = ()
    """Lines that are no part of the session, such as what this machine lacks."""

    listening: tuple[str, ...] = ()
    """The canonical phrases that are understood now."""

    position: Position | None = None
    """Where the feed puts the aircraft; None: no feed, or none that can be believed."""


def find_line(glance: Glance, now_s: float) -> Spoken | None:
    """The coach's line at this time."""
    return next((line for line in reversed(glance.lines) if line.from_s <= now_s), None)


def find_next_line_s(glance: Glance, now_s: float) -> float | None:
    """When the next line appears."""
    return min((line.from_s for line in glance.lines if line.from_s > now_s), default=None)


def after_action(glance: Glance, action: Action, now_s: float) -> Glance:
    """What there is to see once the session has asked for this."""
    match action:
        case Say():
            return _with_line(glance, Spoken(text=action.text, from_s=_later(action.due_s, now_s)), now_s)
        case Silence():
            return replace(glance, lines=tuple(line for line in glance.lines if line.from_s <= now_s))
        case Listen():
            return replace(glance, listening=action.phrases)
        case Show():
            return replace(_with_note(glance, action.note, now_s), show=action)
    return glance


def after_event(glance: Glance, event: Event) -> Glance:
    """What there is to see once this has happened."""
    match event:
        case PhraseHeard():
            by = "" if event.by == "voice" else f" ({event.by})"
            return replace(glance, heard=f"{event.phrase}{by}")
        case NotUnderstood():
            return replace(glance, heard=f"not understood: {event.reason}")
        case TransmitStarted():
            return replace(glance, is_transmitting=True)
        case TransmitEnded():
            return replace(glance, is_transmitting=False)
        case EdgeFailed():
            return replace(glance, faults=(*_without(glance, event.edge), (event.edge, event.reason)))
        case EdgeRecovered():
            return replace(glance, faults=_without(glance, event.edge))
        case FeedLost():
            return replace(glance, position=None)
    return glance


def after_fix(glance: Glance, fix: Fix, eyes: Eyes) -> Glance:
    """What there is to see once the feed has put the aircraft somewhere."""
    course = None if glance.show is None else glance.show.course_mag_deg
    position = find_position(fix, eyes.station, course_mag_deg=course, full_scale_deg=eyes.full_scale_deg)
    return replace(glance, position=position)


def after_telling(glance: Glance, text: str) -> Glance:
    """What there is to see once this was told."""
    return replace(glance, told=(*glance.told, text)[-MOST_TOLD:])


def _later(due_s: float | None, now_s: float) -> float:
    return now_s if due_s is None else max(due_s, now_s)


def _with_line(glance: Glance, line: Spoken, now_s: float) -> Glance:
    """The present line and those still due; what the present one has replaced is gone."""
    lines = sorted((*glance.lines, line), key=lambda other: other.from_s)
    gone = sum(other.from_s <= now_s for other in lines) - 1
    return replace(glance, lines=tuple(lines[max(0, gone) :][-MOST_DUE:]))


def _with_note(glance: Glance, note: str, now_s: float) -> Glance:
    """A new note that is not also said becomes the coach's line at once."""
    is_old = glance.show is not None and glance.show.note == note
    if not note or is_old or any(line.text == note for line in glance.lines):
        return glance
    return _with_line(glance, Spoken(text=note, from_s=now_s, is_said=False), now_s)


def _without(glance: Glance, edge: str) -> tuple[tuple[str, str], ...]:
    return tuple(fault for fault in glance.faults if fault[0] != edge)
