"""`coach rehearse`: a simulated pilot flies the drill; the flight as it goes, then what came of it."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

import platformdirs

from coach.cli.output import line, print_json
from coach.cli.planning import read_plan, station_of, table_of
from coach.cli.rehearsed_feed import read_feed_options
from coach.cli.rehearsed_journal import rehearsed_journal
from coach.errors import Problem, SettingsError
from coach.rehearsal.rehearse import Conditions, rehearse
from coach.rehearsal.summary import encode_rehearsal, render_rehearsal


def run(options: argparse.Namespace) -> int:
    """Rehearse a drill."""
    plan, settings = read_plan(options)
    feed = read_feed_options(options, settings)
    if options.radio < 0:
        raise SettingsError(Problem(where="--radio", expected="0 or more sentences", got=f"{options.radio}"))
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
        audio_path=Path(options.audio) if options.audio else None,
        cache_dir=platformdirs.user_cache_path("drill-coach", appauthor=False) / "prompts",
    )
    with rehearsed_journal(options, plan, _silent if options.json else line) as journal:
        rehearsal = rehearse(plan, replace(conditions, journal=journal, tell=journal.tell))
    if options.json:
        print_json(encode_rehearsal(rehearsal))
    else:
        for text in render_rehearsal(rehearsal):
            line(text)
    return 0


def _silent(_text: str) -> None:
    return
