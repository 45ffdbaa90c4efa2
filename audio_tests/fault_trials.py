"""What a fault bench is made of: trials of one fault, added up to one line of the table.

Never decides what a fault is: see `audio_tests.faults`.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One fault, once."""

    why: str = ""
    """What did not hold, in one line; empty: everything held."""

    lost: int = 0
    """Events, calls or facts that were lost and should not have been."""

    detected_s: float | None = None
    """From the fault to its telling; None: there is nothing to tell."""

    recovered_s: float | None = None
    """From the end of the fault to the telling that all is well; None: there is nothing to recover."""

    count: int = 1
    """How many trials this stands for."""

    note: str = ""
    """A figure beside the table's own, in one line; empty: none."""


Chance = random.Random
Try = Callable[[int, Chance], Iterable[Trial]]
"""Tries a fault so many times."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One line of the table."""

    name: str
    tries: Try
    times: int
    """How often it is tried."""

    short_times: int
    """How often with `--short`; 0: not at all."""

    needs_card: bool = False
    """Whether it needs the virtual sound card."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A fault as it was tried."""

    fault: str
    tried: int
    held: int
    lost: int
    detected_s: float | None
    """The longest."""

    recovered_s: float | None
    """The longest."""

    why: tuple[str, ...]
    """What did not hold, each once."""

    notes: tuple[str, ...]
    """Figures beside the table's own."""


def try_fault(fault: Fault, times: int, seed: int) -> Outcome:
    """Try it; a trial that raises has not held."""
    trials: list[Trial] = []
    try:
        trials.extend(fault.tries(times, random.Random(f"{fault.name} {seed}")))
    except Exception as exc:
        trials.append(Trial(why=f"the trial itself: {exc!r:.300}"))
    return add_up(fault.name, trials)


def add_up(name: str, trials: list[Trial]) -> Outcome:
    """One line of the table."""
    return Outcome(
        fault=name,
        tried=sum(trial.count for trial in trials),
        held=sum(trial.count for trial in trials if not trial.why),
        lost=sum(trial.lost for trial in trials),
        detected_s=_longest(trial.detected_s for trial in trials),
        recovered_s=_longest(trial.recovered_s for trial in trials),
        why=tuple(dict.fromkeys(trial.why for trial in trials if trial.why)),
        notes=tuple(trial.note for trial in trials if trial.note),
    )


def _longest(times_s: Iterable[float | None]) -> float | None:
    return max((time_s for time_s in times_s if time_s is not None), default=None)
