"""What the coach says when: answers at once, calls at their due time, nothing over anybody's voice.

Time calls are always made; the rest waits for the floor, is spaced, keeps clear of the next time call,
or is dropped when stale. Never decides where the drill stands.
"""

from __future__ import annotations

from dataclasses import replace

from coach.drill.plan import Plan
from coach.session import prompts
from coach.session.actions import Action, Say, Silence, Sound, Tone
from coach.session.calls import OPTIONAL, SPACING_S, Adapt, Call, calls, words_to_come
from coach.session.floor import WORD_S, Floor
from coach.session.progress import Progress, State, leg_of, legs_in_round, round_of
from coach.session.prompts import Talk

LEAD_S = 1.0
"""A time call goes to the speaker this long before its word is due."""

ANSWER_STALE_S = 4.0
"""An answer that cannot be said by then is not said."""

OFFER_STALE_S = 2.0
"""A call about this very moment that cannot sound by then is not sounded."""

SAY_AGAIN_S = 60.0
"""How long the last prompt can be asked for."""

_NEVER = float("inf")


def _as_they_are(own: tuple[Call, ...], _progress: Progress, _at_s: float) -> tuple[Call, ...]:
    return own


class Speech:
    """The coach's mouth, on the session clock; `floor` says who else is speaking."""

    def __init__(self, plan: Plan, *, talk: Talk, heading_check_s: float | None) -> None:
        self.talk = talk
        self.floor = Floor()
        self.last_text = ""
        self.plan = plan
        """Replaced where another wind was found."""

        self.unwanted: frozenset[str] = frozenset()
        """Names of calls that somebody else takes care of."""

        self.adapt: Adapt = _as_they_are
        """What becomes of a leg's calls at a time: questions added, what is known left out."""

        self._heading_check_s = heading_check_s
        self._heading_checked_s = 0.0
        self._prompts = 0
        self._last_s = -_NEVER
        self._waiting: tuple[float, str] | None = None
        self._round: tuple[int | None, int | None] | None = None
        self._spoke_words = 0

    def change_talk(self, step: int) -> None:
        """One amount more or less."""
        amounts = (Talk.CUE, Talk.SHORT, Talk.FULL)
        self.talk = amounts[min(2, max(0, amounts.index(self.talk) + step))]

    def find_last(self, at_s: float) -> str | None:
        """The last prompt, while it can still be asked for."""
        return self.last_text if at_s - self._last_s <= SAY_AGAIN_S else None

    def answer(self, text: str, at_s: float) -> list[Action]:
        """Answer the pilot or open a leg: now, or as soon as nobody else is talking."""
        if self.floor.is_talked_over(at_s):
            self._waiting = (at_s + ANSWER_STALE_S, text)
            return []
        self._waiting = None
        return [self._prompt(text, at_s, due_s=None, stale_s=at_s + ANSWER_STALE_S, is_time_call=False)]

    def count(self, actions: list[Action], progress: Progress) -> None:
        """Count the words of a spoke or lap, from its first leg on."""
        is_flying = progress.state is State.FLYING
        flown = round_of(leg_of(self.plan, progress)) if is_flying else None
        if flown != self._round:
            self._round, self._spoke_words = flown, 0
        texts = [action.text for action in actions if isinstance(action, Say)]
        self._spoke_words += sum(map(prompts.count_of_words, texts))

    def has_room(self, text: str, progress: Progress) -> bool:
        """Whether a prompt leaves the spoke's budget enough for all that the drill itself has to say."""
        return self.has_room_for(prompts.count_of_words(text), progress)

    def has_room_for(self, words: int, progress: Progress) -> bool:
        """The same for so many words."""
        own = words_to_come(self.plan, progress, self.talk, self.adapt)
        budget = prompts.budget_words(self.talk, legs_in_round(self.plan, progress.leg_i))
        return self._spoke_words + words + own <= budget

    def silence(self, at_s: float) -> list[Action]:
        """Cut off what sounds and take back what does not sound yet."""
        self._waiting = None
        self.floor.note_silenced(at_s)
        return [Silence()]

    def give_way(self, at_s: float) -> list[Action]:
        """The pilot has talked over a prompt: it stops, unless it is a time call."""
        if not self.floor.may_be_cut(at_s):
            return []
        self.floor.note_silenced(at_s)
        return [Silence()]

    def silence_if_sounding(self, at_s: float) -> list[Action]:
        """The same where there is anything to take back."""
        self._waiting = None
        return self.silence(at_s) if self.floor.is_sounding(at_s) else []

    def make_calls(self, progress: Progress, at_s: float) -> tuple[list[Action], Progress]:
        """What is due now, and the drill's standing with those calls marked as issued."""
        actions = self._say_waiting(at_s)
        for call in self.open_calls(progress, at_s):
            made, is_issued = self._make(call, progress, at_s)
            actions += made
            if is_issued:
                progress = replace(progress, issued=progress.issued | {call.name})
        return actions, progress

    def wakes(self, progress: Progress, at_s: float) -> list[float]:
        """When there may be something to say."""
        wakes = [self._wake(call, progress, at_s) for call in self.open_calls(progress, at_s)]
        change_s = self.floor.next_change_s(at_s)
        return wakes + ([change_s] if change_s is not None and (wakes or self._waiting) else [])

    def open_calls(self, progress: Progress, at_s: float) -> tuple[Call, ...]:
        """The calls of the present leg that are still to be made."""
        every_s = self._heading_check_s
        is_due = every_s is not None and at_s - self._heading_checked_s >= every_s
        own = calls(self.plan, progress, self.talk, heading_check_due=is_due)
        found = self.adapt(own, progress, at_s)
        return tuple(call for call in found if call.name not in progress.issued | self.unwanted)

    def offer(self, text: str, progress: Progress, at_s: float) -> list[Action]:
        """Say it now where an unsolicited prompt may be said now; nothing otherwise."""
        call = Call(name="offered", due_s=at_s, stale_s=at_s + OFFER_STALE_S, text=text)
        return self._make(call, progress, at_s)[0]

    def _wake(self, call: Call, progress: Progress, at_s: float) -> float:
        start_s = call.due_s - LEAD_S if call.is_time_call else self._may_speak_s(call, progress, at_s)
        return start_s if start_s < _NEVER else call.stale_s + 0.001

    def _prompt(
        self, text: str, at_s: float, *, due_s: float | None, stale_s: float, is_time_call: bool
    ) -> Say:
        self._prompts += 1
        starts_s = at_s if due_s is None else due_s
        self._last_s, self.last_text = starts_s, text
        self.floor.note_said(self._prompts, text, starts_s, is_time_call=is_time_call)
        return Say(prompt=self._prompts, text=text, due_s=due_s, stale_s=stale_s, is_time_call=is_time_call)

    def _say_waiting(self, at_s: float) -> list[Action]:
        if self._waiting is None or self.floor.is_talked_over(at_s):
            return []
        stale_s, text = self._waiting
        self._waiting = None
        return self.answer(text, at_s) if at_s <= stale_s else []

    def _make(self, call: Call, progress: Progress, at_s: float) -> tuple[list[Action], bool]:
        if at_s > call.stale_s:
            return [], True
        if call.is_time_call:
            is_due = call.due_s - LEAD_S <= at_s
            return (self._time_call(call, at_s), True) if is_due else ([], False)
        if at_s < self._may_speak_s(call, progress, at_s):
            return [], False
        if call.name in OPTIONAL and not self.has_room(call.text, progress):
            return [], True
        if call.takes_words is not None and not self.has_room_for(call.takes_words, progress):
            return [], True
        if call.name == "indicator":
            self._heading_checked_s = at_s
        return [self._prompt(call.text, at_s, due_s=None, stale_s=call.stale_s, is_time_call=False)], True

    def _time_call(self, call: Call, at_s: float) -> list[Action]:
        due_s = call.due_s if call.due_s > at_s else None
        if not call.text:
            return [Sound(tone=Tone.CUE, due_s=due_s)]
        return [self._prompt(call.text, at_s, due_s=due_s, stale_s=call.stale_s, is_time_call=True)]

    def _may_speak_s(self, call: Call, progress: Progress, at_s: float) -> float:
        """When an unsolicited prompt may start: nobody speaks, spaced, clear of the next time call."""
        quiet_s = self.floor.quiet_since_s(at_s)
        if quiet_s is None or self.floor.is_talked_over(at_s):
            return _NEVER
        ready_s = max(call.due_s, quiet_s + SPACING_S)
        ends_s = max(ready_s, at_s) + 1.0 + WORD_S * prompts.count_of_words(call.text)
        open_calls = self.open_calls(progress, at_s)
        coming = (other.due_s for other in open_calls if other.is_time_call and other.due_s > at_s)
        return ready_s if ends_s < min(coming, default=_NEVER) else _NEVER
