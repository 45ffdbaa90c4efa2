"""Steps from leg to leg: how one is made, what the leg timer does by itself, what a leg opens with.

The session itself (`coach.session.machine`) says which word makes a step; nothing here listens.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace

from coach.drill.model import Ending, Leg
from coach.session import grammar, prompts
from coach.session.actions import Action, Record
from coach.session.calls import turn_text
from coach.session.events import PhraseHeard
from coach.session.fed_session import FedSession
from coach.session.feed_hand import FeedHand
from coach.session.progress import Hush, Progress, State, ends_at_s, enter, leg_of
from coach.session.prompts import Talk
from coach.session.view import described

UNDO_STEPS = 64
COMPLETE_FOR_S = 12.0
"""After the last passage the session waits so long for "disregard", then finishes."""


class SteppingSession(FedSession):
    """Where the drill stands and how it moves on."""

    def __init__(self, feed: FeedHand | None) -> None:
        super().__init__(feed)
        self._progress = Progress(state=State.ARRIVING)
        self._before: deque[tuple[float, Progress]] = deque(maxlen=UNDO_STEPS)
        self._before_timer: Progress | None = None

    def _step(self, fresh: Progress, onset_s: float) -> list[Action]:
        """Replace where the drill stands; the old value is kept for "disregard"."""
        self._before.append((self._at_s, self._without_turn_call()))
        self._before_timer = None
        self._progress = fresh
        self._note = ""
        if self._feed is not None:
            self._feed.note_step()
        return [Record(what=described(self._plan, fresh), onset_s=onset_s)]

    def _without_turn_call(self) -> Progress:
        """Where the drill stands, with a time call that has not sounded yet still to be made."""
        end_s = ends_at_s(self._plan, self._progress)
        is_unsounded = end_s is not None and end_s > self._at_s
        issued = self._progress.issued - ({"turn"} if is_unsounded else set())
        return replace(self._progress, issued=issued)

    def _run_timer(self, at_s: float) -> list[Action]:
        """Move on past every leg whose time is up."""
        actions: list[Action] = []
        while (end_s := self._moves_at_s()) is not None and end_s <= at_s:
            before = self._progress
            self._progress = enter(self._plan, before, before.leg_i + 1, onset_s=end_s, by_timer=True)
            self._before_timer, self._early = before, None
            actions.append(Record(what=described(self._plan, self._progress), onset_s=end_s))
        return actions + self._say_leg() if actions else []

    def _moves_at_s(self) -> float | None:
        """When the leg time moves the drill; None where a word must."""
        if self._progress.hush is not Hush.NONE or self._progress.waits_for_word:
            return None
        return ends_at_s(self._plan, self._progress)

    def _take_back_timer(self, heard: PhraseHeard) -> None:
        """Undo the timer's step for a word said before it that the earlier leg can use."""
        before = self._before_timer
        if before is None or not self._progress.by_timer or heard.onset_s >= self._progress.begun_s:
            return
        if heard.phrase in grammar.leg_phrases(self._plan, before):
            said = {"said", "ten", "turn"} if "opened" in self._progress.issued else {"ten"}
            self._progress, self._before_timer = replace(before, issued=before.issued | said), None

    def _finishes_at_s(self) -> float | None:
        is_over = self._progress.state is State.COMPLETE and self._progress.hush is Hush.NONE
        return self._progress.begun_s + COMPLETE_FOR_S if is_over else None

    def _say_leg(self) -> list[Action]:
        """What a leg opens with."""
        progress = self._progress
        if "opened" in progress.issued:
            return []
        if progress.state is State.COMPLETE:
            return self._say(prompts.COMPLETE)
        leg = leg_of(self._plan, progress)
        before = self._plan.legs[progress.leg_i - 1].leg if progress.leg_i else None
        if progress.is_rejoin:
            return self._say(prompts.checkpoint(leg, has_known_turn=False))
        is_intercepted = before is not None and before.ends_on is Ending.INTERCEPT
        text = self._inbound_text(leg) if is_intercepted else self._turn_text(leg)
        return self._say(text) if text else []

    def _turn_text(self, leg: Leg) -> str:
        """What is said of the turn that a leg begins with; empty: nothing."""
        return turn_text(leg, self._speech.talk)

    def _inbound_text(self, leg: Leg) -> str:
        """What answers the word that the needle is alive; empty: nothing."""
        return "" if self._speech.talk is Talk.CUE else prompts.inbound(leg)
