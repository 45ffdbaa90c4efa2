"""What has happened: the only things the session ever learns.

Facts, in the past tense. Each carries two times on the session clock (seconds since the session
began): `at_s`, when the loop took it (never decreasing), and `onset_s`, when it happened.
Timers use `onset_s`; order and replay use `at_s`. Never holds what to do about it: that is an action.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coach.fixes.fix import Fix
from coach.session.answers import Direction, Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """The two times of every event."""

    at_s: float
    """When the loop took it; never decreasing."""

    onset_s: float
    """When it happened; at most `at_s`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionStarted(Happened):
    """The pilot is ready and the drill begins: the coach waits for the first passage."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Woken(Happened):
    """The time the machine asked for has come (or passed)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldUp(Happened):
    """The loop did not run from `onset_s` to `at_s`: a machine too busy, stopped or asleep."""

    lost: int = 0
    """Facts that were lost meanwhile because nobody took them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhraseHeard(Happened):
    """A phrase of the table was said, or its key pressed. `onset_s` is the start of the word."""

    phrase: str
    """The canonical phrase, such as `station passage`."""

    by: Literal["voice", "key", "page"]
    """`page`: an instructor beside pressed its button."""

    score: float | None = None
    """How sure the recogniser was, its own scale; None for a key or a button."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerHeard(Happened):
    """An answer was given while one was listened for. `onset_s` is the start of its first word."""

    kind: Kind
    digits: str
    """As `coach.session.answers.Answer` has them: `090` for a heading, `4` for a number."""

    direction: Direction | None
    """The side of a turn; None: none was told."""

    is_right: bool
    """Whether it is the answer that was expected."""

    score: float | None = None
    """How sure the recogniser was, its own scale."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BookmarkMade(Happened):
    """Somebody beside the pilot marked this moment. `onset_s`: when the button was pressed."""

    what: Literal["late", "heading", "altitude", "course", "good"]
    by: Literal["page"] = "page"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteMade(Happened):
    """Somebody beside the pilot typed a note. `onset_s`: when its first letter was typed."""

    text: str
    """One line, 1-500 characters."""

    by: Literal["page"] = "page"


@dataclass(frozen=True, slots=True, kw_only=True)
class NotUnderstood(Happened):
    """Somebody spoke, and it was no phrase that is listened for."""

    reason: str
    """Such as `no phrase fits`, `too long`, `too unsure`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeechStarted(Happened):
    """Somebody began to speak into the microphone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeechEnded(Happened):
    """The voice fell silent; what it said comes as its own event, or not at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptStarted(Happened):
    """The first word of a prompt sounds. `onset_s` is the time of its first sample."""

    prompt: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptFinished(Happened):
    """A prompt has sounded to its end, or was cut off."""

    prompt: int
    is_cut: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptDropped(Happened):
    """A prompt was never sounded."""

    prompt: int
    reason: str
    """Such as `stale`, `silenced`, `no speaker`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TransmitStarted(Happened):
    """The pilot holds the transmit key: the ear is closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TransmitEnded(Happened):
    """The transmit key is released: the ear is open again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeFailed(Happened):
    """A device or a child process is gone."""

    edge: Literal["microphone", "speaker", "ear", "voice", "journal", "screen", "page"]
    reason: str
    """One line for the pilot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRecovered(Happened):
    """It is back."""

    edge: Literal["microphone", "speaker", "ear", "voice", "journal", "screen", "page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FixReceived(Happened):
    """A feed reported a position that can be believed. `onset_s` is the fix's own `at_s`."""

    fix: Fix


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedLost(Happened):
    """The feed cannot be believed; said once, no `FixReceived` comes until `FeedBack`.

    `onset_s`: when the last fix that could be believed arrived.
    """

    reason: Literal["silent", "no fix", "stale", "jumping", "back in time"]
    """`silent`: nothing arrives. `no fix`: something does, but no position. `stale`: old positions or
    the same again. `jumping`: farther than an aircraft can fly. `back in time`: older than the last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedBack(Happened):
    """The feed can be believed again; the fixes follow."""


Event = (
    SessionStarted
    | Woken
    | HeldUp
    | PhraseHeard
    | AnswerHeard
    | BookmarkMade
    | NoteMade
    | NotUnderstood
    | SpeechStarted
    | SpeechEnded
    | PromptStarted
    | PromptFinished
    | PromptDropped
    | TransmitStarted
    | TransmitEnded
    | EdgeFailed
    | EdgeRecovered
    | FixReceived
    | FeedLost
    | FeedBack
)

EVENTS: tuple[type[Event], ...] = Event.__args__
"""Every event class, for the journal and its round-trip test."""
