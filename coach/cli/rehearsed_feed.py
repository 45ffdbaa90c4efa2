"""The options of `coach rehearse` that give the simulated aircraft a feed and its pilot habits, checked."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from typing import Any

from coach.errors import Problem, SettingsError
from coach.fixes.decoder import Form
from coach.rehearsal.habits import HUMAN, Habits
from coach.rehearsal.transmitter import FeedConditions
from coach.session.outlook import Role
from coach.settings import Settings

FEEDS: dict[str, Form] = {"nmea+udp": "nmea", "gdl90+udp": "gdl90"}

NUMBERS = ("feed_every", "feed_noise", "feed_delay", "feed_loss")
RANGES = {
    "feed_every": (0.1, 10.0, "s"),
    "feed_noise": (0.0, 100.0, "m"),
    "feed_delay": (0.0, 5.0, "s"),
    "feed_loss": (0.0, 90.0, "percent"),
    "late": (0.0, 10.0, "s"),
    "overcorrect": (1.0, 3.0, ""),
    "wrong_turns": (0.0, 100.0, "percent"),
}
"""Least and most of each number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedOptions:
    """What of a rehearsal hangs on these options."""

    conditions: FeedConditions | None
    """None: no feed."""

    habits: Habits
    is_mute: bool
    """The pilot says nothing: the coach sees for itself."""


def read_feed_options(options: argparse.Namespace, settings: Settings) -> FeedOptions:
    """The options checked. Raises `SettingsError` with every problem."""
    is_mute = options.feed is not None and not (options.spoken or options.typed)
    problems = [*_check_ranges(options), *_check_feed(options, settings, is_mute=is_mute)]
    if problems:
        raise SettingsError(*problems)
    return FeedOptions(conditions=_conditions_of(options), habits=_habits_of(options), is_mute=is_mute)


def _check_ranges(options: argparse.Namespace) -> list[Problem]:
    problems = []
    for name, (low, high, unit) in RANGES.items():
        value = getattr(options, name)
        if value is not None and not low <= value <= high:
            expected = f"{low:g} to {high:g} {unit}".rstrip()
            problems.append(Problem(where=f"--{name.replace('_', '-')}", expected=expected, got=f"{value:g}"))
    return problems


def _check_feed(options: argparse.Namespace, settings: Settings, *, is_mute: bool) -> list[Problem]:
    if options.feed is None:
        given = [name for name in NUMBERS if getattr(options, name) is not None]
        given += [name for name in ("feed_heading", "feed_out", "spoken") if getattr(options, name)]
        return [
            Problem(where=f"--{name.replace('_', '-')}", expected="only with --feed", got="no --feed")
            for name in given
        ]
    if _form_of(options.feed) is None:
        return [Problem(where="--feed", expected=" or ".join(FEEDS), got=f"'{options.feed}'")]
    if is_mute and settings.feed_role is not Role.DECIDE:
        expected = "decide, where the pilot says nothing (--spoken or --typed)"
        return [Problem(where="--feed-role", expected=expected, got=settings.feed_role)]
    return []


def _form_of(text: str) -> Form | None:
    """What is sent; written as for `coach fly` it ends on `://`."""
    return FEEDS.get(text.removesuffix("://"))


def _conditions_of(options: argparse.Namespace) -> FeedConditions | None:
    form = None if options.feed is None else _form_of(options.feed)
    if form is None:
        return None
    given: dict[str, Any] = {
        "every_s": options.feed_every,
        "noise_m": options.feed_noise,
        "delay_s": options.feed_delay,
        "loss": None if options.feed_loss is None else options.feed_loss / 100.0,
    }
    kept = {name: value for name, value in given.items() if value is not None}
    return FeedConditions(form=form, has_heading=options.feed_heading, **kept)


def _habits_of(options: argparse.Namespace) -> Habits:
    usual = Habits() if options.feed is None else HUMAN
    return Habits(
        late_s=usual.late_s if options.late is None else options.late,
        overcorrection=usual.overcorrection if options.overcorrect is None else options.overcorrect,
        wrong_turns=usual.wrong_turns if options.wrong_turns is None else options.wrong_turns / 100.0,
    )
