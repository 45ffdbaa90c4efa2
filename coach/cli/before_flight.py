"""The flow before flight that `coach fly` opens with, for the station named and the log of VOR checks."""

from __future__ import annotations

import argparse

from coach.cli.output import line
from coach.cli.station_choice import find_navaid
from coach.cli.station_shown import today
from coach.drill.plan import Plan
from coach.drill.preflight import LONGEST_S, preflight_items
from coach.errors import SettingsError
from coach.nav.vor_check import find_last, render_state
from coach.screen.preflight import ask_all_done
from coach.store.vor_checks import read_checks


def ask_before_flight(options: argparse.Namespace, plan: Plan) -> None:
    """Show the flow and wait for its one key; what it asks for is never a reason not to fly."""
    navaid = find_navaid(options.station) if options.station else None
    items = preflight_items(plan, navaid=navaid, check_state=_check_state())
    ask_all_done(items, longest_s=LONGEST_S, tell=line)


def _check_state() -> str:
    try:
        return render_state(find_last(read_checks().checks), today())
    except SettingsError:
        return "the log of checks cannot be read"
