"""A drill flown as planned but for errors that are known, with the journal of a session that coached it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta

from coach.debrief.make import SessionFlown
from coach.drill.model import Ending
from coach.drill.plan import Plan
from coach.fixes.track import EPOCH
from coach.nav.path import Path, Piece
from coach.session.actions import Action, Record, Show
from coach.session.events import Event, SessionStarted, Woken
from coach.session.journal import Header, Journal, Step
from tests.debrief.flown import BEGAN_S

ARRIVING_S = 30.0
"""Flown before the first passage."""

AFTER_S = 30.0


@dataclass(frozen=True, kw_only=True)
class Errors:
    """By the number of the leg."""

    late_s: Mapping[int, float] = field(default_factory=dict)
    rate_deg_s: Mapping[int, float] = field(default_factory=dict)
    wrong_way: frozenset[int] = frozenset()
    straight_on: frozenset[int] = frozenset()
    """No turn at all."""


def fly_plan(plan: Plan, errors: Errors | None = None) -> tuple[Path, dict[int, float]]:
    """The path, and when each leg's heading change is due on it; each leg lasts as long as planned."""
    errors = errors or Errors()
    first = plan.legs[0].path[0].start
    aircraft = first.step(-ARRIVING_S)
    pieces = [Piece(start=aircraft, duration_s=ARRIVING_S)]
    due: dict[int, float] = {}
    at_s = ARRIVING_S
    for planned in plan.legs:
        n = planned.leg.n
        due[n] = at_s
        left_s = planned.duration_s
        moves = [(0.0, errors.late_s.get(n, 0.0))]
        for i, piece in enumerate(planned.path):
            moves.append(_changed(piece, n, errors) if i == 0 else (piece.turn_deg_s, piece.duration_s))
        moves.append((0.0, left_s))
        for rate_deg_s, lasts_s in moves:
            lasts_s = min(lasts_s, left_s)
            if lasts_s > 0.0:
                pieces.append(Piece(start=pieces[-1].end, duration_s=lasts_s, turn_deg_s=rate_deg_s))
                left_s -= lasts_s
        at_s += planned.duration_s
    pieces.append(Piece(start=pieces[-1].end, duration_s=AFTER_S))
    return tuple(pieces), due


def _changed(piece: Piece, n: int, errors: Errors) -> tuple[float, float]:
    rate, lasts_s = piece.turn_deg_s, piece.duration_s
    if n in errors.straight_on:
        return 0.0, lasts_s
    if n in errors.rate_deg_s:
        slower = errors.rate_deg_s[n]
        rate, lasts_s = rate * slower / abs(rate), lasts_s * abs(rate) / slower
    return (-rate if n in errors.wrong_way else rate), lasts_s


def begun_of(plan: Plan, due: Mapping[int, float]) -> dict[int, float]:
    """When the session began each leg: after an intercept where the needle came alive."""
    begun = dict(due)
    for before, planned in zip(plan.legs, plan.legs[1:], strict=False):
        if before.leg.ends_on is Ending.INTERCEPT and before.needle_alive_s is not None:
            begun[planned.leg.n] = due[before.leg.n] + before.needle_alive_s - before.start_s
    return begun


def journal_of(
    plan: Plan,
    begun: list[tuple[int, float]],
    *,
    ended_s: float,
    more: tuple[Step, ...] = (),
    clock_ahead_s: float = 0.0,
) -> Journal:
    """A journal with these legs begun, session clock 0 where the path begins."""
    steps: list[Step] = [(SessionStarted(at_s=0.0, onset_s=0.0), ())]
    for n, at_s in begun:
        leg = plan.legs[n - 1].leg
        spoke = f"spoke {leg.spoke} " if leg.spoke else ""
        actions: tuple[Action, ...] = (Record(what=f"leg {n}: {spoke}{leg.leg}", onset_s=at_s),)
        if leg.ends_on is Ending.TIME:
            actions = (*actions, _show(plan, n, at_s + plan.legs[n - 1].duration_s))
        steps.append((_woken(at_s), actions))
    steps.append((_woken(ended_s), (Record(what="complete", onset_s=ended_s),)))
    steps = sorted([*steps, *more], key=lambda step: step[0].at_s)
    return Journal(
        header=Header(
            version=1,
            drill=plan.drill.name,
            drill_settings=plan.drill.settings,
            began_utc=EPOCH + timedelta(seconds=BEGAN_S + clock_ahead_s),
            coach_version="1",
        ),
        steps=tuple(steps),
        late=(),
        is_closed=True,
    )


def session_of(plan: Plan, journal: Journal) -> SessionFlown:
    return SessionFlown(journal=journal, plan=plan)


def flown_session(plan: Plan, errors: Errors | None = None) -> tuple[Path, SessionFlown]:
    """A drill flown with errors and journalled as the coach called it."""
    path, due = fly_plan(plan, errors)
    begun = list(begun_of(plan, due).items())
    ended_s = due[plan.legs[-1].leg.n] + plan.legs[-1].duration_s
    return path, session_of(plan, journal_of(plan, begun, ended_s=ended_s))


def _woken(at_s: float) -> Event:
    return Woken(at_s=at_s, onset_s=at_s)


def _show(plan: Plan, n: int, ends_at_s: float) -> Show:
    leg = plan.legs[n - 1].leg
    return Show(
        state="flying",
        leg_n=n,
        spoke=leg.spoke,
        leg=leg.leg,
        heading_mag_deg=leg.heading_mag_deg,
        course_mag_deg=leg.course_mag_deg,
        timer_from_s=None,
        ends_at_s=ends_at_s,
        coming="",
        note="",
    )
