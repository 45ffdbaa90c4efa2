"""Simulated learners through ten sessions each: how prompts fade, and whether the rule keeps its promises.

`python -m audio_tests.fading` flies them at the desk through the real session; `--picture FILE` draws the
curves, `--fit` tries the rule's constants on other learners than those shown, `--json` gives the numbers.
"""

from __future__ import annotations

import argparse
import json
import random
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise, product
from pathlib import Path
from statistics import fmean, median

from coach.drill.plan import Plan, plan_drill
from coach.rehearsal.desk import Desk
from coach.rehearsal.learners import Learner, LearnerKind, draw_traits
from coach.session import mastery
from coach.session.machine import Options
from coach.session.mastery import Element, Mastery
from coach.session.teacher import Mode
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases

SESSIONS = 10
SHOWN, FITTED = "shown", "fitted"
"""Whose learners: no learner is in both."""

MOST_REVERSALS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """One session of one learner."""

    steps: tuple[int, ...]
    """Of each element in the order of `Element`, as it began."""

    words: int
    prompts: int
    questions: int

    @property
    def step(self) -> float:
        """Mean over the elements, 0 full to 3 silence."""
        return fmean(self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """One learner's ten sessions."""

    kind: LearnerKind
    forgets_before: int | None
    sittings: tuple[Sitting, ...]

    @property
    def reversals(self) -> int:
        """The most changes of way that any element made."""
        return max(
            count_reversals([sitting.steps[n] for sitting in self.sittings]) for n in range(len(Element))
        )


def count_reversals(steps: Iterable[int]) -> int:
    """How often a row of steps changes its way."""
    changes = [after - before for before, after in pairwise(steps) if after != before]
    return sum(before * after < 0 for before, after in pairwise(changes))


def plan_for(session: int, seed: str) -> Plan:
    """The drill of a session: another first outbound each time, as a pilot practises it."""
    first = random.Random(f"{seed} {session}").randrange(5, 361, 5)
    drill = read_drill("eight-spoke", {"first_outbound": str(first)})
    return plan_drill(drill, tas_kt=90.0, wind=None, declination_deg=None)


def practise(kind: LearnerKind, seed: str, sessions: int = SESSIONS) -> Practice:
    """One learner through his sessions, each beginning with what the last one left."""
    traits, table = draw_traits(kind, seed), read_phrases()
    known: tuple[Mastery, ...] = mastery.nothing_known()
    sittings = []
    for session in range(1, sessions + 1):
        learner = Learner(traits, session=session, seed=seed)
        options = Options(mode=Mode.RECALL, known=known)
        flown = Desk(plan_for(session, seed), table, options, learner).fly()
        steps = tuple(one.step for one in known)
        sittings.append(
            Sitting(steps=steps, words=flown.words, prompts=flown.prompts, questions=flown.questions)
        )
        known = flown.known
    return Practice(kind=kind, forgets_before=traits.forgets_before, sittings=tuple(sittings))


def practise_all(whose: str, n: int) -> tuple[Practice, ...]:
    """`n` learners of each kind."""
    return tuple(practise(kind, f"{whose} {seed}") for kind in LearnerKind for seed in range(n))


# ---- promises


def find_broken(practice: Practice) -> Iterator[str]:
    """What the rule promises and did not keep with a learner."""
    sittings = practice.sittings
    first, last = sittings[0], sittings[-1]
    if practice.reversals > MOST_REVERSALS:
        yield "to and fro"
    if practice.kind is LearnerKind.KNOWS and (last.words >= first.words / 2 or last.step < 2.5):
        yield "knows, and is not told less"
    if practice.kind is LearnerKind.GUESSES and last.steps[_HEADING] > 0:
        yield "guesses, and is told less"
    if practice.kind is LearnerKind.LEANS and last.step > 2.0:
        yield "leans, and is left alone"
    if practice.kind is LearnerKind.SLOW and max(sitting.step for sitting in sittings[:3]) > 1.0:
        yield "is slow, and is left alone"
    if practice.forgets_before is not None:
        before, *after = sittings[practice.forgets_before - 2 : practice.forgets_before + 2]
        if max(one.words for one in after) <= before.words or min(one.step for one in after) >= before.step:
            yield "forgot, and is not told more within three sessions"


_HEADING = tuple(Element).index(Element.HEADING)


def share_kept(practices: tuple[Practice, ...]) -> float:
    """The share of learners with whom every promise was kept."""
    return fmean(not tuple(find_broken(practice)) for practice in practices)


# ---- fit


@contextmanager
def rule_of(memory: int, fade_from: float, gap: float) -> Iterator[None]:
    """The rule with other constants."""
    names = ("MEMORY", "FADE_FROM", "BACK_BELOW")
    old = {name: getattr(mastery, name) for name in names}
    levels = tuple(round(min(0.95, fade_from + 0.05 * n), 2) for n in range(3))
    mastery.MEMORY, mastery.FADE_FROM = memory, levels  # type: ignore[assignment]
    mastery.BACK_BELOW = tuple(round(level - gap, 2) for level in levels)  # type: ignore[assignment]
    try:
        yield
    finally:
        for name, value in old.items():
            setattr(mastery, name, value)


def fit(n: int) -> Iterator[tuple[float, int, float, float]]:
    """(share of learners with every promise kept, memory, first level, gap) of each rule tried."""
    for memory, fade_from, gap in product((8, 12, 16), (0.65, 0.75, 0.85), (0.15, 0.25)):
        with rule_of(memory, fade_from, gap):
            yield share_kept(practise_all(FITTED, n)), memory, fade_from, gap


# ---- report


def summarise(practices: tuple[Practice, ...]) -> list[dict[str, object]]:
    """A row for each kind."""
    return [_row(kind, [one for one in practices if one.kind is kind]) for kind in LearnerKind]


def _row(kind: LearnerKind, practices: list[Practice]) -> dict[str, object]:
    broken = [problem for practice in practices for problem in find_broken(practice)]
    return {
        "kind": kind.value,
        "learners": len(practices),
        "step": [round(fmean(p.sittings[n].step for p in practices), 2) for n in range(SESSIONS)],
        "words": [round(median(p.sittings[n].words for p in practices)) for n in range(SESSIONS)],
        "questions": [round(median(p.sittings[n].questions for p in practices)) for n in range(SESSIONS)],
        "most_reversals": max(p.reversals for p in practices),
        "broken": broken,
    }


def render(rows: list[dict[str, object]]) -> Iterator[str]:
    """The numbers as lines."""
    yield "kind     learners   words said in sessions 1 to 10 (median)              step 1, 5, 10   reversals"
    for row in rows:
        words, steps = row["words"], row["step"]
        assert isinstance(words, list)
        assert isinstance(steps, list)
        yield (
            f"{row['kind']:<9}{row['learners']:>7}   {' '.join(f'{word:>4}' for word in words)}   "
            f"{steps[0]:.1f} {steps[4]:.1f} {steps[9]:.1f}{row['most_reversals']:>14}"
        )
    broken = [f"{row['kind']}: {problem}" for row in rows for problem in row["broken"]]  # type: ignore[attr-defined]
    yield f"Promises broken: {', '.join(broken) if broken else 'none'}"


def draw(practices: tuple[Practice, ...], path: Path) -> None:
    """The curves: a column for each kind, its learners thin and their mean thick."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(2, len(LearnerKind), figsize=(15, 6), sharex=True, sharey="row")
    sessions = range(1, SESSIONS + 1)
    for column, kind in enumerate(LearnerKind):
        own = [practice for practice in practices if practice.kind is kind]
        for row, value in enumerate(("step", "words")):
            lines = [[getattr(sitting, value) for sitting in practice.sittings] for practice in own]
            for line in lines:
                axes[row, column].plot(sessions, line, color="0.75", linewidth=0.8)
            mean = [fmean(line[n] for line in lines) for n in range(SESSIONS)]
            axes[row, column].plot(sessions, mean, color="tab:blue", linewidth=2.5)
            axes[row, column].grid(color="0.9")
        axes[0, column].set_title(kind.value)
        axes[1, column].set_xlabel("session")
    axes[0, 0].set_yticks(range(4), ["full", "short", "cue", "silence"])
    axes[0, 0].set_ylabel("prompting, mean of the elements")
    axes[1, 0].set_ylim(bottom=0)
    axes[1, 0].set_ylabel("words the coach said")
    figure.suptitle(
        f"Simulated learners in recall, eight spokes a session; {len(own)} of each kind, mean in blue"
    )
    figure.tight_layout()
    figure.savefig(path, dpi=110)


def main(arguments: list[str] | None = None) -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.fading", description=__doc__)
    parser.add_argument("--learners", type=int, default=20, metavar="N", help="of each kind (20)")
    parser.add_argument("--picture", type=Path, metavar="FILE", help="draw the curves: .png, .svg or .pdf")
    parser.add_argument("--fit", action="store_true", help="try the rule's constants on other learners")
    parser.add_argument("--json", action="store_true", help="the numbers as one JSON object")
    options = parser.parse_args(arguments)
    if options.fit:
        for share, memory, fade_from, gap in fit(options.learners):
            rule = f"memory {memory:>2}, fades from {fade_from:.2f}, comes back {gap:.2f} below"
            print(f"{rule}: every promise kept with {share:.0%}", flush=True)
        return
    practices = practise_all(SHOWN, options.learners)
    rows = summarise(practices)
    if options.picture is not None:
        draw(practices, options.picture)
    if options.json:
        print(json.dumps({"sessions": SESSIONS, "kinds": rows}))
        return
    for line in render(rows):
        print(line)


if __name__ == "__main__":
    main()
