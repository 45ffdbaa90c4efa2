"""The part of a session that opens surprises planned beforehand, and takes one back at "unable".

The session itself (`coach.session.machine`) says what a word does; without surprises nothing here acts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from coach.drill.plan import Plan
from coach.fixes.fix import Fix
from coach.session.actions import Action, Record, Say, Show, Sound, Tone
from coach.session.asking import WHOLE_S, settled_s
from coach.session.calls import LAST_S, Call
from coach.session.events import PhraseHeard
from coach.session.feed_hand import FeedHand
from coach.session.mastery import Mastery
from coach.session.progress import Progress, State, expected_s
from coach.session.prompts import count_of_words
from coach.session.surprises import (
    Limits,
    Surprise,
    SurpriseKind,
    find_altered,
    find_refusal,
    moved_to,
)
from coach.session.taught import TaughtSession
from coach.session.teacher import Mode

UNABLE = "unable"
ASKED_FOR = "surprise"
"""An instructor's press on the page: never a spoken word."""

LEGS_OF_SPOKE = 4
HOLD_LEGS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Surprises:
    """What was planned for a session, and what it is bound by."""

    planned: tuple[Surprise, ...]
    limits: Limits


@dataclass(frozen=True, slots=True, kw_only=True)
class _Opened:
    surprise: Surprise
    before: Plan
    """The plan that "unable" goes back to."""


class SurprisedSession(TaughtSession):
    """Surprises, where they were switched on."""

    def __init__(
        self, feed: FeedHand | None, mode: Mode, known: Iterable[Mastery], surprises: Surprises | None
    ) -> None:
        super().__init__(feed, mode, known)
        self._limits = None if surprises is None else surprises.limits
        self._to_come = list(() if surprises is None else surprises.planned)
        self._opened: _Opened | None = None
        self._altitude_ft: float | None = None

    # ---- when

    def _look(self, fix: Fix) -> list[Action]:
        self._altitude_ft = fix.altitude_ft if fix.altitude_ft is not None else fix.pressure_altitude_ft
        return super()._look(fix)

    def _adapt(self, own: tuple[Call, ...], progress: Progress, at_s: float) -> tuple[Call, ...]:
        calls = super()._adapt(own, progress, at_s)
        if self._is_timer_failed(progress):
            calls = tuple(call for call in calls if not call.is_time_call)
        due = self._find_due(progress)
        if due is None:
            return calls
        # In the place of a question: one thing at a time.
        others = (call for call in calls if not call.name.startswith("ask "))
        return tuple(sorted((*others, self._call(due, progress)), key=lambda call: call.due_s))

    def _find_due(self, progress: Progress) -> Surprise | None:
        """The surprise of the present leg that may be opened."""
        if self._limits is None or progress.state is not State.FLYING or self._opened is not None:
            return None
        due = next((one for one in self._to_come if one.leg_i == progress.leg_i), None)
        return None if due is None or self._refusal(self._limits) is not None else due

    def _refusal(self, limits: Limits) -> str | None:
        is_live = self._feed is not None and self._feed.lookout.is_live
        distance_nm = self._feed.lookout.distance_nm if self._feed is not None and is_live else None
        altitude_ft = self._altitude_ft if is_live else None
        return find_refusal(limits, altitude_ft=altitude_ft, distance_nm=distance_nm)

    def _call(self, due: Surprise, progress: Progress) -> Call:
        due_s = settled_s(self._plan, progress)
        latest_s = progress.begun_s + expected_s(self._plan, progress) - LAST_S - WHOLE_S
        return Call(
            name=f"surprise {due.kind}",
            due_s=due_s,
            stale_s=latest_s,
            text=due.text,
            takes_words=count_of_words(due.text),
        )

    # ---- what comes of it

    def _note_said(self, made: Iterable[Action]) -> None:
        made = tuple(made)
        super()._note_said(made)
        said = [action.text for action in made if isinstance(action, Say)]
        due = self._find_due(self._progress)
        if due is not None and due.text in said:
            self._open(due)

    def _open(self, surprise: Surprise) -> None:
        altered = find_altered(self._plan, surprise)
        self._to_come.remove(surprise)
        if altered is None:
            return
        self._opened = _Opened(surprise=surprise, before=self._plan)
        self._fly_on(altered)
        if surprise.kind is SurpriseKind.HOLD:
            self._shift(HOLD_LEGS)

    def _fly_on(self, plan: Plan) -> None:
        self._plan = self._speech.plan = plan

    def _shift(self, legs: int) -> None:
        """Surprises to come stay with their spokes where legs are put in before them."""
        self._to_come = [replace(one, leg_i=one.leg_i + legs) for one in self._to_come]

    def _end_surprise(self) -> None:
        """A surprise is over with the spoke it bore on."""
        opened, progress = self._opened, self._progress
        if opened is None or progress.state is State.ARRIVING:
            return
        lasts = LEGS_OF_SPOKE + HOLD_LEGS * (opened.surprise.kind is SurpriseKind.HOLD)
        if not opened.surprise.leg_i <= progress.leg_i <= opened.surprise.leg_i + lasts:
            self._opened = None

    def _unable(self, heard: PhraseHeard) -> list[Action]:
        """The surprise is taken back: the drill goes on as it was planned."""
        opened = self._opened
        if opened is None:
            return [Sound(tone=Tone.LOW)]
        self._opened = None
        if self._progress.leg_i == opened.surprise.leg_i:
            if opened.surprise.kind is SurpriseKind.HOLD:
                self._shift(-HOLD_LEGS)
            self._fly_on(opened.before)
        self._note = "Surprise cancelled"
        record = Record(what=f"unable: {opened.surprise.kind} cancelled", onset_s=heard.onset_s)
        return [record, Sound(tone=Tone.HEARD)]

    def _spring(self, heard: PhraseHeard) -> list[Action]:
        """An instructor wants the next surprise now: it is told on the way inbound that comes first."""
        brought = self._find_brought_forward()
        if brought is None:
            return [Sound(tone=Tone.LOW)]
        first, at_once = brought
        self._to_come[self._to_come.index(first)] = at_once
        record = Record(what=f"surprise asked for: {at_once.kind}", onset_s=heard.onset_s)
        return [record, Sound(tone=Tone.HEARD)]

    def _find_brought_forward(self) -> tuple[Surprise, Surprise] | None:
        """The next surprise, and the same at the earliest place that can bear it; None: there is none."""
        farthest_nm = 0.0 if self._limits is None else self._limits.farthest_nm
        for first, at_once in self._places_forward():
            altered = find_altered(self._plan, at_once)
            if altered is not None and altered.reach_nm <= farthest_nm:
                return first, at_once
        return None

    def _places_forward(self) -> Iterator[tuple[Surprise, Surprise]]:
        """The next surprise, and the same at each place before its own."""
        if not self._to_come or self._opened is not None:
            return
        first = min(self._to_come, key=lambda one: one.leg_i)
        called = f"surprise {first.kind}" in self._progress.issued
        for leg_i in range(self._progress.leg_i + called, first.leg_i):
            at_once = moved_to(self._plan, first, leg_i)
            if at_once is not None:
                yield first, at_once

    def _with_surprises(self, usable: tuple[str, ...]) -> tuple[str, ...]:
        """What is usable, with the word that cancels a surprise while it can, and the press for the next."""
        can_ask = next(self._places_forward(), None) is not None
        return (*usable, *((UNABLE,) if self._can_cancel() else ()), *((ASKED_FOR,) if can_ask else ()))

    def _can_cancel(self) -> bool:
        """A failure until its spoke is over; another drill until it is begun."""
        opened = self._opened
        if opened is None:
            return False
        is_failure = opened.surprise.kind in (SurpriseKind.TIMER, SurpriseKind.PANEL)
        return is_failure or self._progress.leg_i == opened.surprise.leg_i

    # ---- a failed timer

    def _is_timer_failed(self, progress: Progress) -> bool:
        opened = self._opened
        is_timer = opened is not None and opened.surprise.kind is SurpriseKind.TIMER
        return is_timer and opened is not None and progress.leg_i > opened.surprise.leg_i

    def _moves_at_s(self) -> float | None:
        """Where the timer has failed the pilot's word moves the drill."""
        return None if self._is_timer_failed(self._progress) else super()._moves_at_s()

    def _to_go_s(self) -> float | None:
        return None if self._is_timer_failed(self._progress) else super()._to_go_s()

    def _time(self, heard: PhraseHeard) -> list[Action]:
        """A failed timer tells no time."""
        is_failed = self._is_timer_failed(self._progress)
        return [Sound(tone=Tone.LOW)] if is_failed else super()._time(heard)

    def _view(self) -> Show:
        shown = super()._view()
        if not self._is_timer_failed(self._progress):
            return shown
        return replace(shown, timer_from_s=None, ends_at_s=None)
