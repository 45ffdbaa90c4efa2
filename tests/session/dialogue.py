"""A dialogue with the session: say, press, wait; look at what it said. For tests only."""

from __future__ import annotations

from coach.drill.plan import Plan, plan_drill
from coach.session.actions import Action, Listen, Say, Show, Silence, Sound
from coach.session.events import (
    Event,
    NotUnderstood,
    PhraseHeard,
    PromptFinished,
    PromptStarted,
    SessionStarted,
    Woken,
)
from coach.session.machine import Options, Session
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases

TABLE = read_phrases("en")


def eight_spoke(**settings: object) -> Plan:
    """The drill of the procedure, worked by hand from 240."""
    values = {"first_outbound": "240", **{key: str(value) for key, value in settings.items()}}
    return plan_drill(read_drill("eight-spoke", values), tas_kt=90, wind=None, declination_deg=None)


class Dialogue:
    """Drives a session as the loop would, waking it when it wants to be woken.

    `spoken` holds (time, text) of every prompt, its word at the due time; a speaker is imitated that
    takes 0.4 s a word. `actions` holds what the last event led to.
    """

    def __init__(self, plan: Plan, options: Options | None = None) -> None:
        self.session = Session(plan, TABLE, options)
        self.at_s = 0.0
        self.spoken: list[tuple[float, str]] = []
        self.tones: list[str] = []
        self.all: list[tuple[Event, tuple[Action, ...]]] = []
        self.actions: tuple[Action, ...] = ()
        self._pending: list[Event] = []
        self.handle(SessionStarted(at_s=0.0, onset_s=0.0))

    def handle(self, event: Event) -> tuple[Action, ...]:
        self.at_s = event.at_s
        self.actions = self.session.handle(event)
        self.all.append((event, self.actions))
        for action in self.actions:
            self._carry_out(action)
        return self.actions

    def wait_until(self, at_s: float) -> Dialogue:
        while (event := self._next_before(at_s)) is not None:
            self.handle(event)
        self.handle(Woken(at_s=at_s, onset_s=at_s))
        return self

    def hear(self, phrase: str, *, onset_s: float | None = None, by: str = "voice") -> tuple[Action, ...]:
        onset_s = self.at_s if onset_s is None else onset_s
        return self.handle(PhraseHeard(at_s=self.at_s, onset_s=onset_s, phrase=phrase, by=by))  # type: ignore[arg-type]

    def mishear(self) -> tuple[Action, ...]:
        return self.handle(NotUnderstood(at_s=self.at_s, onset_s=self.at_s, reason="no phrase fits"))

    @property
    def texts(self) -> list[str]:
        """What the last event made the coach say."""
        return [action.text for action in self.actions if isinstance(action, Say)]

    @property
    def leg(self) -> str:
        """The spoke and leg shown, or what is going on where none is flown."""
        show = self.shown
        return f"{show.spoke} {show.leg}" if show.state == "flying" else show.state

    @property
    def shown(self) -> Show:
        shows = [action for _, actions in self.all for action in actions if isinstance(action, Show)]
        return shows[-1]

    @property
    def listening(self) -> tuple[str, ...]:
        listens = [action for _, actions in self.all for action in actions if isinstance(action, Listen)]
        return listens[-1].phrases

    def _next_before(self, at_s: float) -> Event | None:
        wake_s = self.session.next_wakeup_s
        wake = [] if wake_s is None else [Woken(at_s=max(self.at_s, wake_s), onset_s=wake_s)]
        events = sorted([*self._pending, *wake], key=lambda event: event.at_s)
        if not events or events[0].at_s > at_s:
            return None
        if events[0] in self._pending:
            self._pending.remove(events[0])
        return events[0]

    def _carry_out(self, action: Action) -> None:
        if isinstance(action, Silence):
            self._pending.clear()
        elif isinstance(action, Sound):
            self.tones.append(action.tone.value)
        elif isinstance(action, Say):
            starts_s = self.at_s + 0.3 if action.due_s is None else action.due_s
            ends_s = starts_s + 0.4 * len(action.text.split())
            self.spoken.append((starts_s, action.text))
            self._pending.append(PromptStarted(at_s=starts_s, onset_s=starts_s, prompt=action.prompt))
            self._pending.append(PromptFinished(at_s=ends_s, onset_s=ends_s, prompt=action.prompt))
