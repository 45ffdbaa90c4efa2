"""What the coach says, in three amounts of talk. Pure text: never when, never how it sounds.

The form is "Left, one niner five": it must not pass for ATC. No prompt holds a phrase that the coach
would accept but the few in `OWN_PHRASES`, whose sound the session never takes for the pilot's.
"""

from __future__ import annotations

from enum import StrEnum

from coach.drill.model import Clock, Leg, T, TimerFrom, Turn
from coach.session.spoken import count_words, heading_words


class Talk(StrEnum):
    """How much the coach says; words a spoke are limited by `BUDGET_WORDS`."""

    FULL = "full"
    SHORT = "short"
    CUE = "cue"


BUDGET_WORDS = {Talk.FULL: 90, Talk.SHORT: 40, Talk.CUE: 12}
"""The most words in one spoke, of four legs."""

NEVER_SAID = (
    "turn left heading",
    "turn right heading",
    "cleared",
    "maintain",
    "climb",
    "descend",
    "expect",
    "contact",
    "roger",
    "approved",
    "radar",
    "traffic",
    "go around",
    "amend",
    "safe",
    "clear",
    "legal",
    "current",
    "good",
    "well done",
)
"""ATC's words, judgements of safety and praise: none may be in a prompt."""

EARLY = "Early"
USE_KEY = "Use key"
PASSAGE_OVERDUE = "Passage?"
HOLD_HEADING = "Hold heading"
CHECK_HEADING_INDICATOR = "Check heading indicator"
EARLY_NEEDLE = "Early needle"
LATE_NEEDLE = "Late needle"
TEN_SECONDS = "Ten seconds"
COMPLETE = "Drill complete. Hold heading. Look out."
REVERSE_SENSING = "Reverse sensing"
FEED_LOST = "Feed lost"

OWN_PHRASES = (
    PASSAGE_OVERDUE,
    "Direct to the station. Spoke N from passage",
    "Direct to the station. From passage",
    "Position and needle differ by N degrees",
)
"""Prompts that hold an accepted phrase."""

_IDLE = {T.TIME: "clock"}
"""How a T with nothing to do is named: the word "time" is the pilot's."""

_CLOCK = {Clock.START: "Start clock", Clock.RUN: "Clock runs on", Clock.STOP: "Stop clock"}
_CLOCK_LEVEL = {**_CLOCK, Clock.START: "Clock when level", Clock.RUN: "Clock when level"}
_CLOCKS = {TimerFrom.TURN: _CLOCK, TimerFrom.LEVEL: _CLOCK_LEVEL, TimerFrom.ABEAM: _CLOCK_LEVEL}


def ready(leg: Leg, start_mag_deg: int | None = None) -> str:
    """The first words of a session."""
    return f"Ready. {first_leg(leg, start_mag_deg)}"


def first_leg(leg: Leg, start_mag_deg: int | None = None) -> str:
    """What begins the drill, and what it begins with.

    `start_mag_deg`: the heading on which the pilot's word begins it; None where a passage does.
    """
    if leg.leg == "outbound" and start_mag_deg is None:
        return f"First outbound {_heading(leg)}"
    first = checkpoint(leg).replace(",", "").lower()
    if start_mag_deg is None:
        return f"First {first}"
    start = f"Start heading {heading_words(start_mag_deg)}"
    return start if leg.turn is Turn.NONE and leg.says is None else f"{start}. First {first}"


def rejoin(leg: Leg, start_mag_deg: int | None = None) -> str:
    """The way back into the drill: by the station, or from the heading where the pilot's word begins it."""
    if start_mag_deg is not None:
        return f"Again. {first_leg(leg, start_mag_deg)}"
    if leg.spoke is None:
        return f"Direct to the station. From passage, {checkpoint(leg, has_known_turn=False).lower()}"
    spoke = count_words(leg.spoke)
    return f"Direct to the station. Spoke {spoke} from passage, outbound {_heading(leg)}"


def checkpoint(leg: Leg, *, has_known_turn: bool = True) -> str:
    """What a leg begins with: its own words, or direction and heading, "Left, one niner five".

    A tracked leg that follows an intercept is answered by its course alone, "Inbound zero six zero".
    """
    if leg.says is not None:
        return leg.says
    if not has_known_turn:
        name = "outbound" if leg.spoke is not None else leg.leg.replace("_", " ")
        return f"{name.capitalize()}, {_heading(leg)}"
    if leg.turn is Turn.NONE:
        return _heading(leg).capitalize()
    return f"{leg.turn.value.capitalize()}, {_heading(leg)}"


def inbound(leg: Leg) -> str:
    """The answer to "needle alive"."""
    course = heading_words(leg.course_mag_deg or leg.heading_mag_deg or 360)
    return f"{leg.leg.capitalize()} {course}"


def way(leg: Leg) -> str:
    """The direction alone, for the least talk."""
    if leg.says is not None:
        return leg.says
    return "Level" if leg.turn is Turn.NONE else leg.turn.value.capitalize()


def ten_seconds(leg: Leg) -> str:
    """What is coming, ten seconds before a timed checkpoint."""
    return f"{TEN_SECONDS}. {checkpoint(leg)}"


def budget_words(talk: Talk, legs: int) -> int:
    """The most words in a spoke or lap of so many legs: a spoke's for every four, a spoke's at least."""
    return BUDGET_WORDS[talk] * max(4, legs) // 4


def five_ts(leg: Leg, *, order: tuple[T, ...], timer_from: TimerFrom) -> tuple[str, ...]:
    """The Ts after the turn, in the drill's order; those with nothing to do are said together."""
    said: list[str] = []
    idle: list[str] = []
    for t in order:
        if t is T.TURN:
            continue
        text = _one_t(leg, t, timer_from)
        if text is None:
            idle.append(_IDLE.get(t, t.value))
            continue
        said += [*_none(idle), text]
        idle = []
    # Where nothing turns the five Ts are not called: only what there is to do is said.
    is_called = leg.spoke is not None or leg.turn is not Turn.NONE
    return tuple(said + _none(idle) if is_called else (text for text in said if not text.endswith("none")))


def course(leg: Leg) -> str | None:
    """The twist alone; None where the course is set already or is the heading just said."""
    if not leg.sets_course or leg.course_mag_deg is None or leg.course_mag_deg == leg.heading_mag_deg:
        return None
    return f"Course {heading_words(leg.course_mag_deg)}"


def reminder(leg: Leg) -> str | None:
    """What is said once on the leg: the author's words, or the compass reading to roll out at; None: none."""
    if leg.reminds is None and leg.compass_mag_deg is not None:
        return f"Compass {heading_words(leg.compass_mag_deg)}"
    return leg.reminds


def time_to_go(seconds: float) -> str:
    """How long until the leg time is up, or since: "twenty to go", "twelve over"."""
    whole = round(abs(seconds))
    return f"{count_words(whole)} {'over' if seconds < 0 else 'to go'}"


def where(leg: Leg, *, to_go_s: float | None, following: Leg | None) -> str:
    """Spoke, leg, time left, what is coming."""
    parts = [leg_name(leg)]
    if leg.spoke is not None:
        parts.insert(0, f"spoke {count_words(leg.spoke)}")
    if leg.lap is not None:
        parts.insert(0, f"lap {count_words(leg.lap)}")
    if to_go_s is not None:
        parts.append(time_to_go(to_go_s))
    parts.append(f"then {checkpoint(following).replace(',', '').lower()}" if following else "then complete")
    return ", ".join(parts).capitalize()


def resumed(leg: Leg, *, to_go_s: float | None) -> str:
    """The one line after an interruption: "Offset leg, twelve over"."""
    parts = [leg_name(leg)] if to_go_s is None else [leg_name(leg), time_to_go(to_go_s)]
    return ", ".join(parts).capitalize()


def needle(deflection_deg: float, full_scale_deg: float, dots: int) -> str:
    """Where the needle stands: "Needle left, one dot". The word "left" alone is only ever a turn."""
    side = "right" if deflection_deg > 0.0 else "left"
    shown = min(dots, max(1, round(abs(deflection_deg) / full_scale_deg * dots)))
    return f"Needle {side}, {count_words(shown)} {'dot' if shown == 1 else 'dots'}"


def passed(seconds: float) -> str:
    """The reminder of a passage that the pilot has not said."""
    whole = max(1, round(seconds))
    return f"You passed the station {count_words(whole)} {'second' if whole == 1 else 'seconds'} ago"


def needles_differ(off_deg: float) -> str:
    """The pilot's needle and the feed are too far apart for any call."""
    return f"Position and needle differ by {count_words(round(abs(off_deg)))} degrees"


def leg_name(leg: Leg) -> str:
    """The leg's name as said: "offset leg"."""
    return f"{leg.leg.replace('_', ' ')} leg"


def count_of_words(text: str) -> int:
    """How many words a prompt has."""
    return len(text.split())


def _heading(leg: Leg) -> str:
    degrees = leg.heading_mag_deg or (leg.course_mag_deg if leg.tracks else None)
    return heading_words(degrees) if degrees else leg_name(leg)


def _one_t(leg: Leg, t: T, timer_from: TimerFrom) -> str | None:
    if t is T.TIME:
        return _CLOCKS[leg.timed_from or timer_from].get(leg.clock)
    if t is T.TWIST:
        return (
            f"Course {heading_words(leg.course_mag_deg)}" if leg.sets_course and leg.course_mag_deg else None
        )
    return leg.throttle if t is T.THROTTLE else leg.talk


def _none(idle: list[str]) -> list[str]:
    return [f"{', '.join(idle).capitalize()}, none"] if idle else []
