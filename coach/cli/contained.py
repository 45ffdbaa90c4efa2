"""`coach brief --containment`: many flights in winds drawn by chance, on every core of the machine.

Never draws other winds for the same drill: the figure comes out the same each time.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import os
import random
import signal
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import partial

from coach.drill.containment import Conditions, Containment, Reach, contain, find_reaches
from coach.drill.model import Drill
from coach.drill.plan import Plan
from coach.errors import CoachError, Problem, SettingsError
from coach.nav.angles import wrap_deg
from coach.nav.wind import Wind

FLIGHTS = 10_000
SEED = 1
CHUNK = 50
"""Flights given to a process at a time."""

WIND_UP_TO_KT = 25.0

TAS_WITHIN_KT = 10.0
"""Either side of the planned speed: the tolerance of the ACS (FAA-S-ACS-8C, task IV.A)."""

Chunk = Sequence[Conditions]
Work = Callable[[Chunk], Sequence[Reach | None]]


def draw_conditions(
    count: int, *, tas_kt: float, wind_up_to_kt: float, seed: int = SEED
) -> tuple[Conditions, ...]:
    """Winds from anywhere, of any strength up to a limit, speeds about the planned one, all alike likely."""
    chance = random.Random(seed)
    return tuple(
        Conditions(
            wind=Wind(
                from_deg=wrap_deg(chance.uniform(0.0, 360.0)), speed_kt=chance.uniform(0.0, wind_up_to_kt)
            ),
            tas_kt=chance.uniform(tas_kt - TAS_WITHIN_KT, tas_kt + TAS_WITHIN_KT),
        )
        for _ in range(count)
    )


def find_containment(drill: Drill, many: Sequence[Conditions], *, cores: int | None = None) -> Containment:
    """The containment of a drill, worked out by `cores` processes (None: as many as there are)."""
    chunks = [many[k : k + CHUNK] for k in range(0, len(many), CHUNK)]
    work = partial(find_reaches, drill)
    n_cores = min(cores or os.cpu_count() or 1, len(chunks))
    if n_cores == 1:
        return contain(reach for chunk in chunks for reach in work(chunk))
    return contain(_find_on_cores(work, chunks, n_cores))


def _find_on_cores(work: Work, chunks: Sequence[Chunk], n_cores: int) -> list[Reach | None]:
    """The reaches in their order; an interrupt leaves the rest undone. `CoachError` where one is killed."""
    # Spawned: a fork of a process with threads of its own may hang. The interrupt is the parent's alone.
    pool = ProcessPoolExecutor(
        n_cores,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=signal.signal,
        initargs=(signal.SIGINT, signal.SIG_IGN),
    )
    try:
        return [reach for found in pool.map(work, chunks) for reach in found]
    except BrokenProcessPool as exc:
        raise CoachError("containment: a process that worked on it was ended; try again") from exc
    finally:
        pool.shutdown(cancel_futures=True)


def contain_plan(plan: Plan, wind_up_to_kt: float) -> Containment:
    """The containment of a plan's drill about its planned speed."""
    many = draw_conditions(FLIGHTS, tas_kt=plan.tas_kt, wind_up_to_kt=wind_up_to_kt)
    return find_containment(plan.drill, many)


def render_conditions(plan: Plan, wind_up_to_kt: float) -> str:
    """What the winds and speeds of a containment were, in one line."""
    slow, fast = plan.tas_kt - TAS_WITHIN_KT, plan.tas_kt + TAS_WITHIN_KT
    return (
        f"Winds from anywhere up to {wind_up_to_kt:g} kt, {slow:g} to {fast:g} kt TAS, "
        "a pilot who holds every heading and turns exactly: allow for your own errors"
    )


def wind_limit_of(options: argparse.Namespace) -> float:
    """The strongest wind asked for; `SettingsError` where it is none."""
    text = options.wind_up_to
    if text is None:
        return WIND_UP_TO_KT
    if not options.containment:
        raise SettingsError(Problem(where="--wind-up-to", expected="--containment beside it", got="none"))
    try:
        limit_kt = float(text)
    except ValueError:
        limit_kt = math.nan
    if not 0.0 <= limit_kt <= 200.0:
        raise SettingsError(Problem(where="--wind-up-to", expected="0 to 200 kt", got=f"'{text}'"))
    return limit_kt
