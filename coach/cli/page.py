"""`--page`: the flight's page opened, its addresses told, one of them as a QR code where it is shared."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import zip_longest

from coach.cli.output import console
from coach.drill.plan import Plan
from coach.errors import Problem, SettingsError
from coach.nav.station import Station
from coach.page.addresses import Addresses, draw_code
from coach.page.page import Page, PageChoice
from coach.settings import Settings

BETWEEN_CODES = "    "


@contextmanager
def open_page(
    options: argparse.Namespace,
    plan: Plan,
    settings: Settings,
    *,
    station: Station | None,
    tell: Callable[[str], None],
    pace: float = 1.0,
) -> Iterator[Page | None]:
    """The page that the options ask for, its addresses told; None: none.

    `station`: where positions are seen from; None: there is no feed. Raises SettingsError and SetupError.
    """
    if options.page is None:
        if options.share:
            raise SettingsError(Problem(where="--share", expected="--page with it", got="none"))
        yield None
        return
    choice = PageChoice(port=options.page, is_shared=options.share, pace=pace)
    page = Page(plan, choice, station=station, full_scale_deg=settings.full_scale_deg)
    try:
        for text in render_addresses(page.start(), console.width):
            tell(text)
        yield page
    finally:
        page.close()


def render_addresses(addresses: Addresses, width: int) -> Iterator[str]:
    """The two addresses; shared ones with their codes, side by side where the terminal is wide enough."""
    yield f"Page, to watch:             {addresses.watch}"
    yield f"Page, to watch and command: {addresses.command}"
    if not addresses.is_shared:
        yield "They are good on this machine and for this flight only."
        return
    yield "They are good for this flight only, but for anyone who has them, and nothing is encrypted:"
    yield "share on a network of your own, such as a phone's hotspot."
    yield from _render_codes(draw_code(addresses.watch), draw_code(addresses.command), width)


def _render_codes(watch: tuple[str, ...], command: tuple[str, ...], width: int) -> Iterator[str]:
    column = len(watch[0])
    if column + len(BETWEEN_CODES) + len(command[0]) <= width:
        yield f"{'to watch':<{column}}{BETWEEN_CODES}to watch and command"
        for left, right in zip_longest(watch, command, fillvalue=""):
            yield f"{left:<{column}}{BETWEEN_CODES}{right}"
        return
    yield from ("to watch", *watch, "to watch and command", *command)
