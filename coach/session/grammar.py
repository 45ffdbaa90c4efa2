"""Which phrases the present leg can use: nothing else is listened for."""

from __future__ import annotations

from coach.drill.model import Clock, Ending, Leg, TimerFrom
from coach.drill.plan import Plan
from coach.session.progress import Hush, Progress, State, awaits, leg_of, timing_of
from coach.session.spoken import count_words

PASSAGE = "station passage"
NEXT = "next leg"
ALIVE = "needle alive"
ESTABLISHED = "established"
LEVEL = "wings level"
ABEAM = "abeam"
CENTERED = "needle centered"
SAY_AGAIN = "say again"
STAND_BY = "stand by"
RESUME = "resume drill"
DISREGARD = "disregard"
REJOIN = "rejoin"
WHERE = "where now"
TIME = "time"
THROTTLE = "throttle"
TALK = "talk"
BOOKMARK = "bookmark"
MORE = "more talk"
LESS = "less talk"
TERMINATE = "terminate drill"
TRAFFIC = "traffic"
I_HAVE = "I have the flight controls"
YOU_HAVE = "you have the flight controls"
MUTE = "mute"
"""The mute key: never a spoken phrase."""

SILENCE = (TERMINATE, TRAFFIC, I_HAVE, YOU_HAVE)
ALWAYS = (*SILENCE, SAY_AGAIN, STAND_BY, WHERE)

ENDS = {
    Ending.PASSAGE: PASSAGE,
    Ending.INTERCEPT: ALIVE,
    Ending.ESTABLISHED: ESTABLISHED,
}
"""The word for what ends a leg; every other leg is ended by "next leg"."""

TIMER_WORDS: dict[TimerFrom, tuple[str, ...]] = {
    TimerFrom.TURN: (),
    TimerFrom.LEVEL: (LEVEL,),
    TimerFrom.ABEAM: (LEVEL, ABEAM),
}
"""The words that start the clock of a timed leg; abeam is said after the wings are level, or not at all."""


def rejoin_phrase(spoke: int) -> str:
    """The phrase that returns to a spoke: `rejoin spoke four`."""
    return f"{REJOIN} spoke {count_words(spoke)}".replace("niner", "nine")


def spoke_of(phrase: str, spokes: int) -> int | None:
    """The spoke that a rejoin phrase names, if the drill has it."""
    return next((spoke for spoke in range(1, spokes + 1) if rejoin_phrase(spoke) == phrase), None)


def phrases_for(
    plan: Plan, progress: Progress, *, can_undo: bool, seen: tuple[str, ...] = ()
) -> tuple[str, ...]:
    """What is listened for now, canonical phrases; `seen` are the words that a feed makes usable."""
    if progress.hush is Hush.SUSPENDED:
        return (*ALWAYS, RESUME)
    asked = (DISREGARD,) if can_undo else ()
    if progress.state is State.COMPLETE:
        return (*ALWAYS, *asked, *seen)
    general = (REJOIN, BOOKMARK, MORE, LESS)
    if progress.state is State.ARRIVING:
        choices = tuple(rejoin_phrase(spoke) for spoke in range(1, plan.drill.spokes + 1))
        begun_by = PASSAGE if awaits(plan, progress.leg_i) is Ending.PASSAGE else NEXT
        moving = (begun_by, *(choices if progress.is_rejoin else ()))
    else:
        moving = leg_phrases(plan, progress)
    resume = (RESUME,) if progress.hush is Hush.STANDING_BY else ()
    return tuple(dict.fromkeys((*ALWAYS, *resume, *asked, *general, *moving, *seen)))


def leg_phrases(plan: Plan, progress: Progress) -> tuple[str, ...]:
    """The words that only the present leg can use."""
    leg = leg_of(plan, progress)
    words = [*moving_phrases(leg)]
    if leg.ends_on is Ending.PASSAGE and leg.tracks and progress.established_s is None:
        words.append(ESTABLISHED)
    if leg.ends_on is Ending.TIME:
        words.append(TIME)
        words += TIMER_WORDS[timing_of(plan, leg)] if leg.clock in (Clock.START, Clock.RUN) else ()
    return tuple(words)


def moving_phrases(leg: Leg) -> tuple[str, ...]:
    """The words that end a leg."""
    word = ENDS.get(leg.ends_on)
    if leg.ends_on is Ending.PASSAGE:
        return (PASSAGE,)
    return (NEXT,) if word is None else (word, NEXT)
