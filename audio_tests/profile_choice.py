"""What a voice profile would have done to takes that were heard without one.

How far a threshold may be lowered is found on what is no command, of half the speakers, and tried on the
other half, both ways round; what a profile gains is counted on the take it was not chosen on. Never hears
anything.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from audio_tests.score import find_bounds
from audio_tests.table_clips import is_in_first_half
from audio_tests.thresholds_fit import Row, score_in_use
from coach.session.grammar import REJOIN
from coach.session.voice_profile import Said, Scale, Take, find_shift
from coach.store.phrases import read_phrases
from coach.voice.recognisers.phrase_limits import LIMITS

STEPS = (0.1, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)
"""How far thresholds are lowered or raised, tried in turn."""

GUARD = 0.25
"""A floor lies this far above the best that is no command."""

DROP_SHARE = 90
"""The next take lies less far below the lowest in so many of a hundred cases."""

LOWEST = -99.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardTake:
    """What the recogniser made of one thing said once, its thresholds out of the way."""

    source: str
    speaker: str
    way: str
    """What was said."""

    take: int
    snr_db: float
    read_way: str
    """The way that fitted best; empty: none."""

    score: float
    margin: float

    @property
    def is_right(self) -> bool:
        """Whether the phrase that was said fitted best."""
        return bool(self.read_way) and _phrase_of(self.read_way) == _phrase_of(self.way)


PHRASES = {way.lower(): phrase for way, phrase in read_phrases().all_ways}


def _phrase_of(way: str) -> str:
    return PHRASES.get(way.lower(), way)


def report(takes: tuple[HeardTake, ...], rows: list[Row]) -> tuple[dict[str, float], dict[str, Any]]:
    """Floors to put into the ear, and every figure they and the profile's use rest on."""
    foreign = [row for row in rows if not row["is_command"] and row["way"] and row["margin"] >= LIMITS.margin]
    extra = {step: count_extra(foreign, step) for step in STEPS}
    harmless = [step for step, counts in extra.items() if not any(counts)]
    lowered = max(harmless, default=0.0)
    floors = find_floors(foreign, lowered)
    drops = find_drops(takes)
    drop = round(float(np.percentile(drops, DROP_SHARE)), 2) if drops else 0.0
    return floors, {
        "threshold": LIMITS.confidence,
        "foreign_readings": sum(not row["is_command"] for row in rows),
        "foreign_near_a_phrase": len(foreign),
        "accepted_by_the_usual_threshold": sum(score_in_use(row) >= LIMITS.confidence for row in foreign),
        "accepted_more_if_all_were_lowered_by": {f"{step:g}": counts for step, counts in extra.items()},
        "lowered_at_most": lowered,
        "attracting": sorted(find_attracting(foreign)),
        "drop_of_the_next_take": {f"p{p}": round(float(np.percentile(drops, p)), 2) for p in (50, 75, 90, 95)}
        if drops
        else {},
        "profiles": list(_try_profiles(takes, foreign, _fill_up(floors, takes, lowered), drop)),
    }


def find_floors(foreign: list[Row], lowered: float) -> dict[str, float]:
    """The least threshold of each way of the phrase table that what is no command was tried on."""
    tops = _find_tops(foreign)
    return {
        way: round(min(max(tops[way] + GUARD, LIMITS.confidence - lowered), LIMITS.confidence), 2)
        for way, phrase in PHRASES.items()
        if not phrase.startswith(f"{REJOIN} ")
    }


def find_attracting(foreign: list[Row]) -> frozenset[str]:
    """The ways that what is no command is taken for: only their thresholds are raised."""
    return frozenset(row["way"].lower() for row in foreign if score_in_use(row) >= LIMITS.confidence)


def _fill_up(floors: dict[str, float], takes: tuple[HeardTake, ...], lowered: float) -> dict[str, float]:
    """Floors for words that are in no phrase table: as low as any, since nobody took anything for them."""
    words = dict.fromkeys(take.way.lower() for take in takes)
    return {**dict.fromkeys(words, LIMITS.confidence - lowered), **floors}


def _find_tops(foreign: list[Row]) -> dict[str, float]:
    """The best score of what is no command, for each way."""
    tops: dict[str, float] = defaultdict(lambda: LOWEST)
    for row in foreign:
        tops[row["way"].lower()] = max(tops[row["way"].lower()], score_in_use(row))
    return tops


def count_extra(foreign: list[Row], lowered: float) -> tuple[int, int]:
    """What would be accepted beside what is, every threshold at its floor; the floors of the other half."""
    counts = []
    for half in (True, False):
        floors = find_floors([row for row in foreign if is_in_first_half(row["speaker"]) == half], lowered)
        others = [row for row in foreign if is_in_first_half(row["speaker"]) != half]
        counts.append(
            sum(floors[row["way"].lower()] <= score_in_use(row) < LIMITS.confidence for row in others)
        )
    return counts[0], counts[1]


def _group(takes: tuple[HeardTake, ...]) -> dict[tuple[str, str, str, float], list[HeardTake]]:
    groups: dict[tuple[str, str, str, float], list[HeardTake]] = defaultdict(list)
    for take in takes:
        groups[take.source, take.speaker, take.way, take.snr_db].append(take)
    return groups


def find_drops(takes: tuple[HeardTake, ...]) -> list[float]:
    """How far each take lies below the lowest of the others of the same phrase, voice and cabin."""
    drops = []
    for group in _group(takes).values():
        scores = [take.score for take in group if take.read_way.lower() == take.way.lower()]
        if len(scores) >= 3:
            drops += [min(scores[:n] + scores[n + 1 :]) - score for n, score in enumerate(scores)]
    return drops


def _try_profiles(
    takes: tuple[HeardTake, ...], foreign: list[Row], floors: Mapping[str, float], drop: float
) -> Iterator[dict[str, Any]]:
    """The usual thresholds, lowered ones, and raised ones, each on the take it was not chosen on."""
    attracting = find_attracting(foreign)
    for said_db, flown_db in ((0.0, 0.0), (-5.0, -5.0), (0.0, -5.0)):
        for source in sorted({take.source for take in takes}):
            trials = list(_pair(takes, source, said_db, flown_db))
            if not trials:
                continue
            name = f"{source}: said at {said_db:g} dB, flown at {flown_db:g} dB"
            yield {"trials": name, "profile": "none", **_count(trials, foreign, None)}
            for raised in (0.0, 0.5, 1.0, 2.0, 4.0):
                scale = Scale(
                    recogniser="",
                    least=LIMITS.confidence,
                    least_margin=LIMITS.margin,
                    drop=drop,
                    most_raised=raised,
                    attracting=attracting,
                    floors=floors,
                )
                yield {
                    "trials": name,
                    "profile": f"raised at most {raised:g}",
                    **_count(trials, foreign, scale),
                }


Trial = tuple[list[HeardTake], HeardTake]


def _pair(takes: tuple[HeardTake, ...], source: str, said_db: float, flown_db: float) -> Iterator[Trial]:
    """The takes a profile is chosen on, and the one it is tried on, which is none of them."""
    groups = _group(takes)
    for (where, speaker, way, snr_db), said in groups.items():
        flown = groups.get((where, speaker, way, flown_db), [])
        if where == source and snr_db == said_db:
            for tried in flown:
                others = [take for take in said if take.take != tried.take]
                if len(others) >= 2:
                    yield others[:2], tried


def _count(trials: list[Trial], foreign: list[Row], scale: Scale | None) -> dict[str, Any]:
    right = wrong = moved = 0
    accepted, profiles = 0, set()
    for said, tried in trials:
        shift = 0.0 if scale is None else _find_shift(said, scale)
        moved += bool(shift)
        # Only the threshold of the way that was said is this profile's: all others stand.
        by = shift if tried.read_way.lower() == tried.way.lower() else 0.0
        is_heard = tried.score >= LIMITS.confidence + by and tried.margin >= LIMITS.margin
        right += is_heard and tried.is_right
        wrong += is_heard and not tried.is_right
        accepted += _count_accepted(foreign, tried.way, shift)
        profiles.add((tried.speaker, tried.take))
    return {
        "n": len(trials),
        "moved": moved,
        "right": right,
        "right_95": find_bounds(right, len(trials)),
        "wrong": wrong,
        "foreign_accepted": round(accepted / len(profiles), 2),
    }


def _find_shift(said: list[HeardTake], scale: Scale) -> float:
    takes = tuple(
        Take(
            understood=None,
            score=take.score if take.read_way.lower() == take.way.lower() else None,
            margin=take.margin,
        )
        for take in said
    )
    return find_shift(Said(way=said[0].way, phrase=said[0].way, takes=takes), scale)


def _count_accepted(foreign: list[Row], way: str, shift: float) -> int:
    """How many of what is no command this one threshold lets through."""
    least = LIMITS.confidence + shift
    return sum(row["way"].lower() == way.lower() and score_in_use(row) >= least for row in foreign)
