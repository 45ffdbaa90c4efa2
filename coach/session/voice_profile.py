"""A pilot's voice profile: what the ear made of each phrase said a few times, and the thresholds that follow.

Pure: takes in, verdicts and shifts out. Never hears anything and never touches a file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from statistics import median

from coach.session.grammar import (
    ALIVE,
    ALWAYS,
    BOOKMARK,
    DISREGARD,
    ESTABLISHED,
    LESS,
    LEVEL,
    MORE,
    NEXT,
    PASSAGE,
    REJOIN,
    TIME,
)
from coach.session.phrases import PhraseTable

TAKES = 3
"""How often each phrase is said."""

FEWEST_TAKES = 2
"""A threshold is set from no fewer: one take does not tell how much a voice varies."""

CLOSE_RATIO = 2.0
"""A margin of less than so many times the least one is told as close; by judgement, nobody measured it."""

GENERAL = (*ALWAYS, DISREGARD, REJOIN, BOOKMARK, MORE, LESS)
LEGS: tuple[tuple[str, ...], ...] = ((PASSAGE, ESTABLISHED), (ALIVE, NEXT), (NEXT, TIME, LEVEL))
"""What the legs listen for beside the general words (`coach.session.grammar`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One phrase said once, and what the ear made of it."""

    understood: str | None
    """Canonical phrase; None: it was not understood."""

    reason: str = ""
    """Why it was not understood, such as `no phrase fits`, `no voice found`; empty where it was."""

    score: float | None = None
    """How well the phrase that was said fitted, on the recogniser's scale; None: another fitted better."""

    margin: float | None = None
    """How far the next phrase lay below it; None: the recogniser does not tell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """What a recogniser's scores mean, and how far a personal threshold may lie from the usual one."""

    recogniser: str
    """Its name; scores of another one mean something else."""

    least: float
    """The usual threshold: below this score nothing is a command."""

    least_margin: float | None
    """The least margin over another phrase; None: the recogniser has none."""

    drop: float
    """How far below the lowest of three takes the next take may lie."""

    most_raised: float
    """A personal threshold lies at most so far above the usual one, where it may be raised at all."""

    attracting: frozenset[str]
    """Ways of saying in small letters that foreign words are taken for: only their thresholds are raised."""

    floors: Mapping[str, float]
    """For each way of saying in small letters the score that its threshold must not fall below: what is no
    command reached it. A way that is missing here is never lowered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One way of saying with its takes."""

    way: str
    phrase: str
    """Canonical."""

    takes: tuple[Take, ...]

    @property
    def understood_n(self) -> int:
        """How many takes were understood as what they were."""
        return sum(take.understood == self.phrase for take in self.takes)

    @property
    def scores(self) -> tuple[float, ...]:
        """The scores of the takes in which this way fitted best."""
        return tuple(take.score for take in self.takes if take.score is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What became of one way of saying."""

    said: Said
    surplus: float | None
    """How far the lowest score lies above the threshold; None: it never fitted best."""

    weaknesses: tuple[str, ...]
    """Why it is weak with this voice and microphone, a few words each; empty: it is not."""

    shift: float
    """How far its threshold is moved from the usual one; 0: not at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """A threshold that was moved."""

    way: str
    """The way of saying whose threshold it is."""

    by: float
    """Up or down from the usual one, on the recogniser's scale."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceProfile:
    """What the ear is told about one pilot: kept on this machine."""

    version: int
    """Of the file; 1."""

    made_utc: datetime
    recogniser: str
    """The recogniser that it was made with; no other one can use it."""

    least: float
    """The usual threshold that the shifts count from."""

    language: str
    microphone: str | None
    """The microphone as the settings name it; None: the system's default."""

    shifts: tuple[Shift, ...]


def judge(said: Said, scale: Scale) -> Verdict:
    """Judge one way of saying by its takes."""
    scores = said.scores
    return Verdict(
        said=said,
        surplus=min(scores) - scale.least if scores else None,
        weaknesses=tuple(_find_weaknesses(said, scale)),
        shift=find_shift(said, scale),
    )


def _find_weaknesses(said: Said, scale: Scale) -> list[str]:
    found = [
        f"heard as '{take.understood}'" if take.understood else f"not understood ({take.reason})"
        for take in said.takes
        if take.understood != said.phrase
    ]
    if said.scores and scale.least <= min(said.scores) < scale.least + scale.drop:
        found.append("low score")
    margins = [take.margin for take in said.takes if take.margin is not None and take.understood]
    if scale.least_margin is not None and margins and min(margins) < CLOSE_RATIO * scale.least_margin:
        found.append("another phrase close behind")
    return list(dict.fromkeys(found))


def find_shift(said: Said, scale: Scale) -> float:
    """How far the threshold of a way moves: to where the next take may lie, never below the floor."""
    scores = said.scores
    if len(scores) < FEWEST_TAKES:
        return 0.0
    return round(bound(min(scores) - scale.drop, said.way, scale) - scale.least, 3)


def bound(threshold: float, way: str, scale: Scale) -> float:
    """A threshold brought within the bounds of its way."""
    floor = min(scale.floors.get(way.lower(), scale.least), scale.least)
    raised = scale.most_raised if way.lower() in scale.attracting else 0.0
    return min(max(threshold, floor), scale.least + raised)


def find_stronger(verdicts: tuple[Verdict, ...]) -> Verdict | None:
    """Of several ways to say one phrase, the one to say instead of the first; None: the first is as good."""
    first = verdicts[0]
    best = max(verdicts, key=_rank)
    return best if _rank(best) > _rank(first) else None


def _rank(verdict: Verdict) -> tuple[float, float]:
    said = verdict.said
    return said.understood_n / max(len(said.takes), 1), median(said.scores) if said.scores else float("-inf")


def listened_beside(phrase: str, table: PhraseTable) -> tuple[str, ...]:
    """What the legs that can use a phrase listen for, the phrase with it: canonical phrases."""
    leg = tuple(word for words in LEGS if phrase in words for word in words) or (phrase,)
    if phrase.startswith(f"{REJOIN} "):
        choices = tuple(p.canonical for p in table.phrases if p.canonical.startswith(f"{REJOIN} "))
        leg = (PASSAGE, *choices)
    return tuple(dict.fromkeys((*GENERAL, *leg)))
