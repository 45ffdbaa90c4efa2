"""A flight that was broken off, handled again: the session stands where it stood.

Never asks how much time has passed since: that is for whoever goes on with the flight.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.errors import JournalError, Problem
from coach.session.actions import Action, Expect, Listen, Say, Show, Silence
from coach.session.events import Event, PromptDropped, PromptFinished, TransmitEnded, TransmitStarted
from coach.session.journal import Step
from coach.session.machine import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What was going on when the flight was broken off."""

    at_s: float
    """The session clock at the last event."""

    listen: Listen | None
    """What was listened for."""

    expect: Expect | None
    """Which answer was listened for beside it."""

    show: Show | None
    """What was shown."""

    unfinished: tuple[Say, ...]
    """Prompts that were asked for and whose end was never told: not sounded yet, or cut off by the break."""

    is_transmitting: bool
    """The transmit key was held."""

    missing: tuple[Action, ...]
    """What the last event led to and the journal does not hold: it was torn."""


def replay(session: Session, steps: tuple[Step, ...], *, where: str) -> Standing:
    """Handle a flight's events again in a session that has handled none.

    JournalError where the session answers otherwise than it did then: another drill, another coach. Of the
    last step the journal may hold only the first actions.
    """
    told: list[Action] = []
    missing: tuple[Action, ...] = ()
    said: dict[int, Say] = {}
    for n, (event, recorded) in enumerate(steps, start=1):
        actions = session.handle(event)
        missing = actions[len(recorded) :]
        if actions[: len(recorded)] != recorded or (missing and n < len(steps)):
            expected = "the flight of this drill by this coach"
            raise JournalError(Problem(where=f"{where}: event {n}", expected=expected, got="other actions"))
        _follow(said, event, actions)
        told += [action for action in actions if isinstance(action, Listen | Expect | Show)]
    return Standing(
        at_s=steps[-1][0].at_s if steps else 0.0,
        listen=next((action for action in reversed(told) if isinstance(action, Listen)), None),
        expect=next((action for action in reversed(told) if isinstance(action, Expect)), None),
        show=next((action for action in reversed(told) if isinstance(action, Show)), None),
        unfinished=tuple(said.values()),
        is_transmitting=_is_transmitting(steps),
        missing=missing,
    )


def _follow(said: dict[int, Say], event: Event, actions: tuple[Action, ...]) -> None:
    """Keep what has been asked for and has not come to its end."""
    if isinstance(event, PromptFinished | PromptDropped):
        said.pop(event.prompt, None)
    for action in actions:
        if isinstance(action, Silence):
            said.clear()
        elif isinstance(action, Say):
            said[action.prompt] = action


def _is_transmitting(steps: tuple[Step, ...]) -> bool:
    keys = (event for event, _ in reversed(steps) if isinstance(event, TransmitStarted | TransmitEnded))
    return isinstance(next(keys, None), TransmitStarted)
