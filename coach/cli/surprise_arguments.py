"""The options that switch surprises on, for `fly` and `rehearse`: for an instructor, within limits."""

from __future__ import annotations

import argparse

from coach.drill.plan import Plan
from coach.errors import Problem, SettingsError
from coach.session.surprised import Surprises
from coach.session.surprises import FAILURES, Limits, SurpriseKind, plan_surprises

ALL = "all"


def add_surprises(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    group = parser.add_argument_group(
        "surprises, for an instructor to switch on",
        'Each is opened with "Simulated", inbound with the wings level, and cancelled by "unable".',
    )
    group.add_argument(
        "--surprises",
        metavar="KINDS",
        help=f"{', '.join(SurpriseKind)}, with commas between, or {ALL}; "
        f"{' and '.join(FAILURES)} only with --simulator or --page",
    )
    group.add_argument("--lowest-ft", metavar="FT", help="none below this altitude, as the feed tells it")
    group.add_argument("--farthest-nm", metavar="NM", help="none that leads farther from the station")
    group.add_argument(
        "--surprise-seed", type=int, default=1, metavar="N", help="the same number, the same surprises (1)"
    )
    group.add_argument("--simulator", action="store_true", help="this is a simulator, not an aircraft")


def read_surprises(options: argparse.Namespace, plan: Plan) -> Surprises | None:
    """What the options ask for; None: no surprises. Raises `SettingsError` with every problem."""
    if options.surprises is None:
        return None
    problems: list[Problem | str] = []
    kinds = _parse_kinds(options.surprises, problems)
    lowest_ft = _parse_limit("--lowest-ft", options.lowest_ft, "0 to 60,000 ft", 60_000.0, problems)
    farthest_nm = _parse_limit("--farthest-nm", options.farthest_nm, "0 to 100 NM", 100.0, problems)
    if problems:
        raise SettingsError(*problems)
    limits = Limits(
        lowest_ft=lowest_ft,
        farthest_nm=farthest_nm,
        is_simulator=options.simulator,
        has_instructor=getattr(options, "page", None) is not None,
    )
    planned = plan_surprises(plan, kinds, limits, seed=options.surprise_seed)
    return Surprises(planned=planned, limits=limits)


def _parse_kinds(text: str, problems: list[Problem | str]) -> tuple[SurpriseKind, ...]:
    names = list(SurpriseKind) if text == ALL else [part.strip() for part in text.split(",")]
    known = [str(kind) for kind in SurpriseKind]
    wrong = [name for name in names if name not in known]
    if wrong:
        expected = f"{', '.join(known)} or {ALL}"
        problems.append(Problem(where="--surprises", expected=expected, got=f"'{wrong[0]}'"))
    return tuple(SurpriseKind(name) for name in names if name in known)


def _parse_limit(
    option: str, text: str | None, expected: str, most: float, problems: list[Problem | str]
) -> float:
    try:
        value = float(text or "nan")
    except ValueError:
        value = float("nan")
    if not 0.0 <= value <= most:
        got = "none" if text is None else f"'{text}'"
        problems.append(Problem(where=option, expected=f"{expected}, set beforehand", got=got))
    return value
