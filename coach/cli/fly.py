"""`coach fly`: the cautions, the flow before flight, then the flight."""

from __future__ import annotations

import argparse

from coach.cli.before_flight import ask_before_flight
from coach.cli.native_output import native_output_aside
from coach.cli.output import line
from coach.cli.page import open_page
from coach.cli.planning import find_station, read_plan, station_of, table_of
from coach.cli.resume import asked_of, find_resumed
from coach.cli.surprise_arguments import read_surprises
from coach.drill.cautions import CAUTIONS
from coach.errors import DrillError, Problem, SettingsError
from coach.feed.address import parse_feed_address
from coach.flight import Choice, fly_live
from coach.learning import find_learnt, known_of
from coach.screen.glance import Eyes
from coach.screen.terminal import Terminal
from coach.session.teacher import Mode


def run(options: argparse.Namespace) -> int:
    """Fly a drill."""
    broken_off = find_resumed(options)
    if options.drill is None:
        raise DrillError(Problem(where="drill", expected="a name from `coach list` or a path", got="none"))
    plan, settings = read_plan(options)
    table = table_of(settings)
    if options.no_ear and settings.mode is not Mode.TOLD:
        raise SettingsError(Problem(where="--mode", expected="told with --no-ear", got=settings.mode))
    feed = None if options.feed is None else parse_feed_address(options.feed)
    station = find_station(options) if feed is None else station_of(options, plan.drill)
    for caution in CAUTIONS:
        line(caution.text)
    if broken_off is None:
        known = find_learnt(settings, plan.drill.name, line)
    else:
        known = known_of(broken_off.journal.header)
    choice = Choice(
        plan=plan,
        settings=settings,
        table=table,
        has_ear=not options.no_ear,
        has_voice=not options.no_voice,
        feed=feed,
        station=station,
        known=known,
        surprises=read_surprises(options, plan),
        asked=asked_of(options),
        broken_off=broken_off,
    )
    seen_from = None if feed is None else station
    full_scale_deg, dots = settings.full_scale_deg, settings.dots
    eyes = None if seen_from is None else Eyes(station=seen_from, full_scale_deg=full_scale_deg, dots=dots)
    with open_page(options, plan, settings, station=seen_from, tell=line) as page:
        if settings.preflight and broken_off is None:
            ask_before_flight(options, plan)
        with native_output_aside():
            fly_live(choice, Terminal(table, eyes=eyes), () if page is None else (page,))
    return 0
