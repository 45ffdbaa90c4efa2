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

PROMPT_S = (-1.0, 3.0)
"""Clocks agree where the turns begin so long after their checkpoints in the middle: pilots take a while."""

FEWEST_PASSAGES = 2
AGREE_S = (-2.5, 1.5)
"""The same where passages tell: a word of passage comes after it, a feed's sighting with it."""

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
    if len(best) < FEWEST_TURNS:
        legs = {key for key, _ in pairs}
        return (
            f"The track could not be laid beside the journal: {len(best)} of {len(legs)} turns and "
            f"passages agree on an offset of the clocks, {FEWEST_TURNS} are needed."
        )
    differences = np.array([*best.values()])
    residual_s = float(np.median(np.abs(differences - np.median(differences))))
    if residual_s > LARGEST_RESIDUAL_S:
        return (
            f"The track could not be laid beside the journal: its turns and passages scatter by "
            f"{residual_s:.1f} s about the best offset, {LARGEST_RESIDUAL_S:.0f} s at most are taken."
        )
    return _alignment(best, residual_s)


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


def _best(pairs: Sequence[tuple[int, float]]) -> dict[int, float]:
    """The differences, one a turn or passage, that the most agree on; the nearest to 0 of equals."""
    found: tuple[tuple[int, float], dict[int, float]] = ((0, 0.0), {})
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
        found = max(found, (rank, nearest), key=lambda one: one[0])
    return found[1]


def _alignment(best: dict[int, float], residual_s: float) -> Alignment:
    """By the passages where there are two: a pilot's delay is in the turns, not in them."""
    passages = [at_s for key, at_s in best.items() if key % 2]
    turns = [at_s for key, at_s in best.items() if not key % 2]
    many = f"{len(turns)} turns" + (f" and {len(passages)} passages" if passages else "")
    is_by_passages = len(passages) >= FEWEST_PASSAGES
    offset_s = float(np.median(passages if is_by_passages else [*best.values()]))
    lowest_s, highest_s = AGREE_S if is_by_passages else PROMPT_S
    if lowest_s <= offset_s <= highest_s:
        by = "passages" if is_by_passages else "turns"
        told = (
            f"The clocks are taken to agree, by {many}: the {by} come {offset_s:+.1f} s after the journal "
            f"has them in the middle. Half of all lie within {residual_s:.1f} s."
        )
        return Alignment(offset_s=0.0, residual_s=residual_s, n_turns=len(best), told=told)
    told = (
        f"The track's clock is {offset_s:+.1f} s from the journal's by {many}. Half of all lie within "
        f"{residual_s:.1f} s. A delay that all have in common is in it and cannot be told."
    )
    return Alignment(offset_s=offset_s, residual_s=residual_s, n_turns=len(best), told=told)


def own_feed() -> Alignment:
    """Return how a session's own feed lies beside its journal: on one clock."""
    told = "The track is the session's own feed, on the journal's clock."
    return Alignment(offset_s=0.0, residual_s=0.0, n_turns=0, told=told)
