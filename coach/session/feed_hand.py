"""What a session keeps of its feed: the eyes, what they saw that was not said, which words only confirm it.

Never moves the drill and never speaks: the session does.
"""

from __future__ import annotations

from coach.drill.plan import Plan
from coach.fixes.fix import Fix
from coach.session import grammar
from coach.session.actions import Record
from coach.session.checkpoints import Seen, Sighting
from coach.session.events import PhraseHeard
from coach.session.lookout import Lookout, Seeing
from coach.session.outlook import FeedUse, Role
from coach.session.progress import Hush, Progress
from coach.session.sighted import CONFIRMED_BY, moved

CONFIRMED_WITHIN_S = 20.0
"""The pilot's word for what the feed saw may come so much later, or earlier: acknowledged, without effect."""

REMIND_AFTER_S = 6.0
"""A passage that the pilot has not said is reminded of after this."""

TELL_EVERY_S = 600.0
"""A feed that comes and goes is told lost once in so long; the screen shows it every time."""

HOLD, OVERDUE = "hold", "overdue"
"""Calls that the plan's times make where there is no feed: with one they come from where the aircraft is."""


class FeedHand:
    """One session's feed."""

    def __init__(self, use: FeedUse, tas_kt: float) -> None:
        self.role = use.role
        self.lookout = Lookout(use, tas_kt)
        self.unsaid_s: float | None = None
        """When the station was passed that the pilot has not said; None: nothing to remind of."""

        self._told_s = float("-inf")
        self._seen: dict[str, float] = {}
        self._begun_leg_i: int | None = None

    def see(self, fix: Fix, plan: Plan, progress: Progress) -> Seeing | None:
        """What a fix shows; None where it shows nothing new."""
        seeing = self.lookout.see(fix, plan, progress)
        if seeing is not None and self.role is Role.REMIND:
            self._note_unsaid(seeing)
        return seeing

    def note_lost(self, at_s: float, *, elsewhere: bool) -> bool:
        """The feed is lost; return whether to say so: not again and again where it comes and goes."""
        self.lookout.lose(elsewhere=elsewhere)
        is_told = self.role is Role.DECIDE and at_s - self._told_s >= TELL_EVERY_S
        self._told_s = at_s if is_told else self._told_s
        return is_told

    @property
    def unwanted_calls(self) -> frozenset[str]:
        """Calls of the plan that need not be made while the feed sees where the aircraft is."""
        if not self.lookout.is_live or self.role is Role.RECORD:
            return frozenset()
        # Beyond the station and still on the leg to it (the drill was suspended): the question is wanted.
        return frozenset({HOLD, OVERDUE} if self.lookout.is_before_station else {HOLD})

    @property
    def reminds_at_s(self) -> float | None:
        """When the pilot is reminded; None: never."""
        return None if self.unsaid_s is None else self.unsaid_s + REMIND_AFTER_S

    def words(self, progress: Progress, at_s: float) -> tuple[str, ...]:
        """The pilot's words that the feed makes usable: what it saw may be confirmed, its zero taught."""
        if progress.hush is Hush.SUSPENDED:
            return ()
        lately = tuple(word for word, seen_s in self._seen.items() if at_s - seen_s < CONFIRMED_WITHIN_S)
        can_be_taught = self.role is not Role.RECORD and self.lookout.can_be_taught
        return (*lately, grammar.CENTERED) if can_be_taught else lately

    def is_confirmation(self, heard: PhraseHeard) -> bool:
        """Whether a word says only what the feed saw already."""
        seen_s = self._seen.get(heard.phrase)
        return seen_s is not None and abs(heard.onset_s - seen_s) < CONFIRMED_WITHIN_S

    def note_moved(self, sighting: Sighting, leg_i: int) -> None:
        """A sighting began the leg of that index."""
        self._begun_leg_i = leg_i
        self.note_taken(sighting)

    def note_taken(self, sighting: Sighting) -> None:
        """A sighting was acted on: its words count no more."""
        self._seen |= dict.fromkeys(CONFIRMED_BY.get(sighting.what, ()), sighting.onset_s)

    def note_step(self) -> None:
        """A leg has begun: nothing is left to remind of, and the leg is the pilot's until noted otherwise."""
        self.unsaid_s, self._begun_leg_i = None, None

    def has_begun(self, progress: Progress) -> bool:
        """Whether the present leg began with a sighting."""
        return self._begun_leg_i == progress.leg_i

    def _note_unsaid(self, seeing: Seeing) -> None:
        outlook = seeing.outlook
        for sighting in seeing.sightings:
            if sighting.what is Seen.PASSAGE and moved(outlook.plan, outlook.progress, sighting):
                self.unsaid_s = sighting.onset_s


def record_of(sighting: Sighting) -> Record:
    """The journal's line of a sighting, dated back to its first sign."""
    detail = f" ({sighting.detail})" if sighting.detail else ""
    return Record(what=f"seen: {sighting.what}{detail}", onset_s=sighting.onset_s)
