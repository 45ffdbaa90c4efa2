"""The journal's clock laid beside the track's: the offset at which the turns begin where the legs do.

Never forces a fit: fewer than three turns or a scatter of more than three seconds, and there is none. A delay
that all turns have in common looks like a clock that is off: it cannot be told from one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from coach.debrief.model import Alignment, PassageFlown, TurnFlown
from coach.drill.model import Ending, Leg, Turn
from coach.nav.angles import difference_deg

FEWEST_TURNS = 3
LARGEST_RESIDUAL_S = 3.0
"""Half of the turns are to be within this of where the offset puts them (issue: refused above 3 s)."""

WITHIN_S = 12.0
"""A turn this near to its leg's beginning counts for an offset; our own choice."""

PROMPT_S = (-2.0, 8.0)
"""Clocks agree where the turns begin so long after their checkpoints in the middle: pilots take a while."""

SMALLEST_TURN_DEG = 30.0
HEADING_WITHIN_DEG = 45.0
"""A turn belongs to a leg if it goes its way and ends this near to its heading; wind and cuts are in it."""

SAME_WAY = {Turn.LEFT: -1.0, Turn.RIGHT: 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """A leg and when it began, on any clock."""

    leg: Leg
    at_s: float
    by: Ending | None = None
    """What ended the leg before it; None: nothing that tells."""


def align(
    begun: Sequence[Begun], turns: Sequence[TurnFlown], passages: Sequence[PassageFlown] = ()
) -> Alignment | str:
    """Return how to lay the legs' clock beside the track's, or in one sentence why it cannot be done.

    The turn after an intercept begins when the needle says so and tells nothing. A leg that begins at a
    passage has the passage to go by as well: a drill with two turns can then be laid too.
    """
    pairs = [*_pairs(begun, turns, passages)]
    best = _best(pairs)
    if best is None or len(best) < FEWEST_TURNS:
        legs, found = {key for key, _ in pairs}, 0 if best is None else len(best)
        return (
            f"The track could not be laid beside the journal: {found} of {len(legs)} turns and "
            f"passages agree on an offset of the clocks, {FEWEST_TURNS} are needed."
        )
    middle_s = float(np.median(best))
    residual_s = float(np.median(np.abs(np.array(best) - middle_s)))
    if residual_s > LARGEST_RESIDUAL_S:
        return (
            f"The track could not be laid beside the journal: its turns and passages scatter by "
            f"{residual_s:.1f} s about the best offset, {LARGEST_RESIDUAL_S:.0f} s at most are taken."
        )
    return _alignment(middle_s, residual_s, len(best))


def _pairs(
    begun: Sequence[Begun], turns: Sequence[TurnFlown], passages: Sequence[PassageFlown]
) -> Iterator[tuple[int, float]]:
    """What could belong together: a number for each leg's turn or passage, and how far apart."""
    for i, one in enumerate(begun):
        is_turned = one.leg.turn is not Turn.NONE and one.leg.turn_deg >= SMALLEST_TURN_DEG
        if is_turned and one.by is not Ending.INTERCEPT:
            yield from ((2 * i, turn.start_s - one.at_s) for turn in turns if could_be(turn, one.leg))
        if one.by is Ending.PASSAGE:
            yield from ((2 * i + 1, passage.at_s - one.at_s) for passage in passages)


def could_be(turn: TurnFlown, leg: Leg) -> bool:
    """Whether a turn goes a leg's way, about as far, to about its heading."""
    if turn.turn_deg * SAME_WAY.get(leg.turn, 0.0) <= 0.0:
        return False
    if not 0.5 * leg.turn_deg <= abs(turn.turn_deg) <= leg.turn_deg + 75.0:
        return False
    wanted = leg.heading_mag_deg if leg.heading_mag_deg is not None else leg.course_mag_deg
    return wanted is None or abs(difference_deg(turn.after_mag_deg, wanted)) <= HEADING_WITHIN_DEG


def _best(pairs: Sequence[tuple[int, float]]) -> list[float] | None:
    """The differences, one a leg, of the window that the most legs agree on; the nearest to 0 of equals."""
    found: tuple[tuple[int, float], list[float]] | None = None
    ordered = sorted(pairs, key=lambda pair: pair[1])
    times = np.array([pair[1] for pair in ordered])
    for first, (_, begin_s) in enumerate(ordered):
        last = int(np.searchsorted(times, begin_s + 2 * WITHIN_S, side="right"))
        middle_s = float(np.median(times[first:last]))
        nearest: dict[int, float] = {}
        for i, at_s in ordered[first:last]:
            if i not in nearest or abs(at_s - middle_s) < abs(nearest[i] - middle_s):
                nearest[i] = at_s
        spread_s = float(np.median(np.abs(np.array([*nearest.values()]) - middle_s)))
        rank = (len(nearest), -spread_s - abs(middle_s) / 1e4)
        if found is None or rank > found[0]:
            found = rank, list(nearest.values())
    return None if found is None else found[1]


def _alignment(middle_s: float, residual_s: float, n_turns: int) -> Alignment:
    if PROMPT_S[0] <= middle_s <= PROMPT_S[1]:
        told = (
            f"The clocks are taken to agree: {n_turns} turns and passages come {middle_s:+.1f} s after "
            f"their checkpoints in the middle, half of them within {residual_s:.1f} s of that."
        )
        return Alignment(offset_s=0.0, residual_s=residual_s, n_turns=n_turns, told=told)
    told = (
        f"The track's clock is {middle_s:+.1f} s from the journal's by {n_turns} turns and passages, half "
        f"within {residual_s:.1f} s. A delay that all have in common is in it and cannot be told."
    )
    return Alignment(offset_s=middle_s, residual_s=residual_s, n_turns=n_turns, told=told)


def own_feed() -> Alignment:
    """Return how a session's own feed lies beside its journal: on one clock."""
    told = "The track is the session's own feed, on the journal's clock."
    return Alignment(offset_s=0.0, residual_s=0.0, n_turns=0, told=told)
