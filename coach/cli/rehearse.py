"""`coach rehearse`: a simulated pilot flies the drill; the flight as it goes, then what came of it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import platformdirs

from coach.cli.output import line, print_json
from coach.cli.page import open_page
from coach.cli.planning import read_plan, station_of, table_of
from coach.cli.rehearsed_feed import read_feed_options
from coach.cli.rehearsed_journal import rehearsed_journal
from coach.cli.rehearsed_track import read_track_options
from coach.cli.surprise_arguments import read_surprises
from coach.cockpit import World
from coach.errors import Problem, SettingsError
from coach.page.page import Page
from coach.rehearsal.card import find_word_needed
from coach.rehearsal.learners import Learner, LearnerKind, draw_traits
from coach.rehearsal.paced import PacedWorld
from coach.rehearsal.rehearse import Conditions, rehearse
from coach.rehearsal.summary import encode_rehearsal, render_rehearsal
from coach.session.mastery import BACK_BELOW, MEMORY, Element, Mastery, Step
from coach.session.teacher import Mode


def run(options: argparse.Namespace) -> int:
    """Rehearse a drill."""
    plan, settings = read_plan(options)
    feed = read_feed_options(options, settings)
    if options.radio < 0:
        raise SettingsError(Problem(where="--radio", expected="0 or more sentences", got=f"{options.radio}"))
    if feed.is_mute and (waiting := find_word_needed(plan)) is not None:
        expected = f"--spoken beside it, since {waiting} waits for the pilot's word"
        raise SettingsError(Problem(where="--feed", expected=expected, got="a pilot who says nothing"))
    if feed.is_mute and settings.mode is not Mode.TOLD:
        expected = "told with --feed, where the pilot says nothing (or --spoken)"
        raise SettingsError(Problem(where="--mode", expected=expected, got=settings.mode))
    conditions = Conditions(
        settings=settings,
        table=table_of(settings),
        seed=options.seed,
        cabin_snr_db=options.cabin,
        has_loudspeaker=options.loudspeaker,
        radio_calls=options.radio,
        typed=options.typed,
        feed=feed.conditions,
        feed_path=Path(options.feed_out) if options.feed_out else None,
        station=None if feed.conditions is None else station_of(options, plan.drill),
        is_mute=feed.is_mute,
        habits=feed.habits,
        learner=_learner_of(options),
        known=_known_of(options),
        surprises=read_surprises(options, plan),
        audio_path=Path(options.audio) if options.audio else None,
        cache_dir=platformdirs.user_cache_path("drill-coach", appauthor=False) / "prompts",
    )
    track = read_track_options(options, plan)
    tell = _silent if options.json else line
    pace = options.pace or (1.0 if options.page is not None else None)
    with (
        rehearsed_journal(options, plan, tell) as journal,
        open_page(
            options,
            plan,
            settings,
            station=conditions.station,
            tell=_to_stderr if options.json else line,
            pace=pace or 1.0,
        ) as page,
    ):
        around = _held_to(pace, page) if pace else conditions.around
        rehearsal = rehearse(plan, replace(conditions, journal=journal, tell=journal.tell, around=around))
    if track is not None:
        track.write(rehearsal.places)
    if options.json:
        print_json(encode_rehearsal(rehearsal))
    else:
        for text in render_rehearsal(rehearsal):
            line(text)
    return 0


def _learner_of(options: argparse.Namespace) -> Learner:
    kind, seed = LearnerKind(options.learner), str(options.seed)
    return Learner(draw_traits(kind, seed), session=1, seed=seed)


def _known_of(options: argparse.Namespace) -> tuple[Mastery, ...]:
    """What earlier sessions would have left where the prompts have faded so far."""
    if options.step is None:
        return ()
    step = Step[options.step.upper()]
    known = BACK_BELOW[step - 1] if step else 0.0
    return tuple(Mastery(element=element, step=step, known=known, answers=MEMORY) for element in Element)


def _held_to(pace: float, page: Page | None) -> Callable[[World], World]:
    """The simulated world at a pace, followed by the page if there is one."""

    def held(world: World) -> World:
        watchers = () if page is None else (page,)
        paced = PacedWorld(world, pace, edges=watchers, followers=[watcher.heard for watcher in watchers])
        for watcher in watchers:
            watcher.open(post=paced.post, clock=paced.paced_s)
        return paced

    return held


def _to_stderr(text: str) -> None:
    print(text, file=sys.stderr)


def _silent(_text: str) -> None:
    return
