"""What a session does with its feed: the part of the machine that needs positions.

The session itself (`coach.session.machine`) says how a step is made and how a prompt is said; everything here
is unused where there is no feed.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import replace

from coach.drill.plan import Plan
from coach.fixes.fix import Fix
from coach.nav.wind import render_wind
from coach.session import prompts
from coach.session.actions import Action, Record, Sound, Tone
from coach.session.checkpoints import Sighting
from coach.session.events import FeedBack, FeedLost, PhraseHeard
from coach.session.feed_hand import FeedHand, record_of
from coach.session.lookout import Seeing
from coach.session.outlook import Role
from coach.session.progress import Hush, Progress, State
from coach.session.prompts import Talk
from coach.session.sighted import corrected, moved
from coach.session.speech import Speech

ELSEWHERE = ("jumping", "back in time")
"""Reasons for a loss after which the feed goes on from another place or time."""

FEED_BACK = "Feed is back"
"""Shown; a prompt hangs on the loss only."""


class FedSession(ABC):
    """The feed's side of a session."""

    _plan: Plan
    _progress: Progress
    _speech: Speech
    _at_s: float
    _note: str
    _early: PhraseHeard | None
    _last_word: PhraseHeard | None

    def __init__(self, feed: FeedHand | None) -> None:
        self._feed = feed
        self._planned_leg: tuple[State, int] | None = None

    @abstractmethod
    def _step(self, fresh: Progress, onset_s: float) -> list[Action]:
        """Replace where the drill stands; the old value is kept for "disregard"."""

    @abstractmethod
    def _say(self, text: str, *, is_asked: bool = False) -> list[Action]:
        """Say it unless the pilot wants quiet."""

    @abstractmethod
    def _say_leg(self) -> list[Action]:
        """What a leg opens with."""

    def _look(self, fix: Fix) -> list[Action]:
        """What a fix shows is kept for the debrief, and acted on where the feed decides."""
        seeing = None if self._feed is None else self._feed.see(fix, self._plan, self._progress)
        if self._feed is None or seeing is None:
            return []
        actions: list[Action] = []
        for sighting in seeing.sightings:
            actions.append(record_of(sighting))
            actions += self._take(sighting, self._feed)
        is_unchanged = seeing.outlook.progress is self._progress
        return actions + (self._call_track(seeing, self._feed) if is_unchanged else [])

    def _is_seen(self, heard: PhraseHeard) -> bool:
        """Whether a word only confirms what the feed saw: the prompt that sounds then is its answer."""
        return self._feed is not None and self._feed.is_confirmation(heard)

    def _take(self, sighting: Sighting, feed: FeedHand) -> list[Action]:
        if feed.role is not Role.DECIDE or self._progress.hush is Hush.SUSPENDED:
            return []
        fresh = moved(self._plan, self._progress, sighting)
        if fresh is not None:
            self._early, self._last_word = None, None
            silence = self._speech.silence_if_sounding(self._at_s)
            record = self._step(fresh, fresh.begun_s)
            feed.note_moved(sighting, fresh.leg_i)
            return [*silence, *record, *self._say_leg()]
        by_feed = feed.has_begun(self._progress)
        fresh = corrected(self._plan, self._progress, sighting, by_feed=by_feed)
        if fresh is not None:
            self._progress = fresh
            feed.note_taken(sighting)
        return []

    def _call_track(self, seeing: Seeing, feed: FeedHand) -> list[Action]:
        """ "Hold heading" once a leg, or a call about the track, where one may be made now."""
        is_quiet = self._progress.hush is not Hush.NONE or self._speech.talk is Talk.CUE
        if feed.role is Role.RECORD or is_quiet:
            return []
        if seeing.hold is not None and "hold" not in self._progress.issued:
            made = self._offer(seeing.hold)
            issued = self._progress.issued | ({"hold"} if made else set())
            self._progress = replace(self._progress, issued=issued)
            return made
        if seeing.call is None or not self._speech.has_room(seeing.call, self._progress):
            return []
        made = self._offer(seeing.call)
        if made:
            feed.lookout.note_called(self._at_s)
        return made

    def _offer(self, text: str) -> list[Action]:
        made = self._speech.offer(text, self._progress, self._at_s)
        self._note = text if made else self._note
        return made

    def _note_feed(self, event: FeedLost | FeedBack) -> list[Action]:
        """A loss is said once where the feed decides: from here on it takes the pilot's words."""
        if isinstance(event, FeedBack):
            self._note = FEED_BACK
            return []
        self._note = prompts.FEED_LOST
        elsewhere = event.reason in ELSEWHERE
        is_told = self._feed is not None and self._feed.note_lost(self._at_s, elsewhere=elsewhere)
        is_over = self._progress.state is State.COMPLETE
        return self._say(self._note) if is_told and not is_over else []

    def _follow_feed(self) -> list[Action]:
        """A reminder that is due, and another plan where a leg begins in another wind."""
        feed = self._feed
        if feed is None:
            return []
        self._speech.unwanted = feed.unwanted_calls
        actions = self._replan(feed)
        unsaid_s, remind_s = feed.unsaid_s, feed.reminds_at_s
        if unsaid_s is not None and remind_s is not None and remind_s <= self._at_s:
            feed.unsaid_s = None
            actions += self._say(prompts.passed(self._at_s - unsaid_s))
        return actions

    def _replan(self, feed: FeedHand) -> list[Action]:
        leg = self._progress.state, self._progress.leg_i
        if leg == self._planned_leg or feed.role is Role.RECORD:
            return []
        self._planned_leg = leg
        plan = feed.lookout.find_plan(self._plan)
        if plan is None:
            return []
        self._plan = self._speech.plan = plan
        wind = render_wind(replace(plan.wind, speed_kt=round(plan.wind.speed_kt)))
        return [Record(what=f"planned anew for wind {wind}", onset_s=self._at_s)]

    def _center(self, heard: PhraseHeard) -> list[Action]:
        """The pilot's needle is the authority: it teaches the feed its zero."""
        taught = None if self._feed is None else self._feed.lookout.teach_zero(heard.onset_s)
        if taught is None:
            return [Sound(tone=Tone.LOW)]
        error_deg, prompt = taught
        what = f"needle centered: the receiver is {error_deg:+.1f} degrees off by the feed"
        record = Record(what=what, onset_s=heard.onset_s)
        return [record, *(self._say(prompt) if prompt else [Sound(tone=Tone.HEARD)])]
