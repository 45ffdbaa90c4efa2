"""What a checkpoint that the feed saw makes of the drill's standing, where the feed decides.

The same checkpoint said by the pilot and seen by the feed counts once: whoever comes second changes nothing,
but that the timer of a leg that begins at a passage runs from the passage itself. Pure; never says anything.
"""

from __future__ import annotations

from dataclasses import replace

from coach.drill.model import Ending
from coach.drill.plan import Plan
from coach.nav.angles import difference_deg
from coach.session import grammar
from coach.session.checkpoints import Seen, Sighting
from coach.session.progress import Progress, State, awaits, enter, leg_of

ENDED_BY = {
    Ending.PASSAGE: (Seen.PASSAGE,),
    Ending.INTERCEPT: (Seen.ALIVE, Seen.LEAD, Seen.PASSAGE),
    Ending.ESTABLISHED: (Seen.ESTABLISHED,),
    Ending.HEADING: (Seen.HEADING,),
    Ending.DISTANCE: (Seen.DISTANCE,),
    Ending.RADIAL: (Seen.RADIAL,),
}
"""What the feed can see that ends a leg."""

CONFIRMED_BY = {
    Seen.PASSAGE: (grammar.PASSAGE,),
    Seen.ALIVE: (grammar.ALIVE, grammar.NEXT),
    Seen.LEAD: (grammar.ALIVE, grammar.NEXT),
    Seen.ESTABLISHED: (grammar.ESTABLISHED,),
    Seen.LEVEL: (grammar.LEVEL,),
    Seen.HEADING: (grammar.NEXT,),
    Seen.DISTANCE: (grammar.NEXT,),
    Seen.RADIAL: (grammar.NEXT,),
}
"""The pilot's words for what the feed saw: said after it they are acknowledged and change nothing."""


ELSEWHERE_DEG = 45.0
"""Arriving on a track farther than this from the arrive course the turn is not the drill's; our own."""


def moved(plan: Plan, progress: Progress, sighting: Sighting) -> Progress | None:
    """The next leg begins at the sighting; None where it ends nothing now."""
    if not _ends_leg(plan, progress, sighting.what):
        return None
    # A passage is where it is, though the leg before it was seen to begin later.
    is_passage = sighting.what is Seen.PASSAGE
    onset_s = sighting.onset_s if is_passage else max(progress.begun_s, sighting.onset_s)
    following = progress.leg_i + (progress.state is State.FLYING)
    leg = leg_of(plan, progress)
    is_behind = progress.state is State.FLYING and leg.ends_on is Ending.INTERCEPT
    if is_behind and is_passage:
        # Nobody saw the needle leave its stop: the inbound leg is over with it.
        following += 1
    return enter(plan, _as_arrived(plan, progress, sighting), following, onset_s=onset_s)


def corrected(plan: Plan, progress: Progress, sighting: Sighting, *, by_feed: bool) -> Progress | None:
    """The same leg with what the sighting tells of it; None where it tells nothing new.

    `by_feed`: the present leg began with a sighting, not with the pilot's word.
    """
    if progress.state is not State.FLYING:
        return None
    if sighting.what is Seen.ESTABLISHED:
        is_new = leg_of(plan, progress).ends_on is Ending.PASSAGE and progress.established_s is None
        return replace(progress, established_s=sighting.onset_s) if is_new else None
    if sighting.what is Seen.LEVEL:
        return replace(progress, level_s=sighting.onset_s) if progress.level_s is None else None
    is_late = sighting.what is Seen.PASSAGE and not by_feed and _follows_passage(plan, progress)
    return _clock_from(progress, sighting.onset_s) if is_late else None


def _as_arrived(plan: Plan, progress: Progress, sighting: Sighting) -> Progress:
    """One who comes to the station from elsewhere turns the shorter way: the drill does not know which."""
    track_deg = sighting.track_mag_deg
    if progress.state is not State.ARRIVING or track_deg is None or leg_of(plan, progress).spoke is None:
        return progress
    off_deg = abs(difference_deg(track_deg, plan.drill.arrive_course_mag_deg))
    return replace(progress, is_rejoin=True) if off_deg > ELSEWHERE_DEG else progress


def _ends_leg(plan: Plan, progress: Progress, what: Seen) -> bool:
    if progress.state is State.ARRIVING:
        return what is Seen.PASSAGE and awaits(plan, progress.leg_i) is Ending.PASSAGE
    return progress.state is State.FLYING and what in ENDED_BY.get(leg_of(plan, progress).ends_on, ())


def _follows_passage(plan: Plan, progress: Progress) -> bool:
    before = progress.leg_i - 1
    return before < 0 or plan.legs[before].leg.ends_on is Ending.PASSAGE


def _clock_from(progress: Progress, onset_s: float) -> Progress:
    clock_s = None if progress.clock_from_s is None else onset_s
    return replace(progress, begun_s=onset_s, clock_from_s=clock_s)
