"""What the session wants done: plain data, in the imperative.

An edge carries an action out and reports what became of it as an event. Never holds how.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from coach.session.answers import Answer, Direction, Kind


class Tone(StrEnum):
    """The coach's tones. None is at 1,020 Hz and none is Morse-like (AIM 1-1-7f: the ident tone)."""

    CUE = "cue"
    """Soft, before every prompt: it is the coach, not ATC."""

    HEARD = "heard"
    """A confirmation was understood."""

    LOW = "low"
    """Something was said and not understood."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """Speak a prompt, the cue tone before it."""

    prompt: int
    """Numbers the prompts of a session from 1; the speaker's events name it."""

    text: str
    due_s: float | None
    """When the first word must sound, on the session clock; None: as soon as it can."""

    stale_s: float
    """Drop the prompt if its first word cannot sound by then."""

    is_time_call: bool
    """A time call cuts off another prompt; any other waits for the one that sounds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Silence:
    """Cut off what sounds and take back what has not sounded yet, at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """Sound a tone by itself, at once or at `due_s`."""

    tone: Tone
    due_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Listen:
    """Understand these phrases from now on and no others."""

    phrases: tuple[str, ...]
    """Canonical phrases of the table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expect:
    """Understand an answer beside the phrases: this one, and any other of its kind as another."""

    kind: Kind | None
    """None: no answer any more."""

    digits: str = ""
    direction: Direction | None = None

    @property
    def answer(self) -> Answer | None:
        """The right answer; None: none is listened for."""
        if self.kind is None:
            return None
        return Answer(kind=self.kind, digits=self.digits, direction=self.direction)


@dataclass(frozen=True, slots=True, kw_only=True)
class Show:
    """Show the present state on every screen."""

    state: str
    """What is going on, such as `flying`; the names of `coach.session.machine.State`."""

    leg_n: int | None
    """The present leg's number in the drill; None before the first passage and after the last."""

    spoke: int | None
    leg: str | None
    heading_mag_deg: int | None
    course_mag_deg: int | None
    timer_from_s: float | None
    """When the leg timer was started, on the session clock; None: stopped."""

    ends_at_s: float | None
    """When the leg time is up, on the session clock; None where the leg is not timed."""

    coming: str
    """What comes next, in the words of a prompt; empty: nothing."""

    note: str
    """One line for the pilot: the last prompt, `Early`, a fault; empty: none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Keep a line in the journal for the debrief: a bookmark, a passage, a warning."""

    what: str
    onset_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """The drill is over: the loop may end when the last prompt has sounded."""


Action = Say | Silence | Sound | Listen | Expect | Show | Record | Finish

ACTIONS: tuple[type[Action], ...] = Action.__args__
"""Every action class, for the journal and its round-trip test."""
