"""From the command line to a plan: drill, settings, station, wind and speed, all problems at once."""

from __future__ import annotations

import argparse
from typing import TypeVar

from coach.cli.station_choice import find_navaid, station_at
from coach.drill.model import Drill
from coach.drill.plan import Plan, plan_drill
from coach.errors import CoachError, DrillError, Problem, SettingsError, SetupError
from coach.nav.station import Station
from coach.nav.wind import Wind, parse_wind
from coach.session.phrases import PhraseTable
from coach.settings import FORMS, Settings
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases
from coach.store.settings import read_settings

Value = TypeVar("Value")


def read_plan(options: argparse.Namespace) -> tuple[Plan, Settings]:
    """The plan that the options ask for, and the pilot's settings. Raises `CoachError` with every problem."""
    problems: list[Problem | str] = []
    settings = _try(problems, lambda: settings_of(options))
    drill = _try(problems, lambda: drill_of(options))
    wind = _try(problems, lambda: _wind_of(options))
    station = _try(problems, lambda: find_station(options))
    if problems or settings is None or drill is None:
        raise DrillError(*problems)
    plan = plan_drill(
        drill,
        tas_kt=settings.tas_kt,
        wind=wind,
        declination_deg=station.declination_deg if station else None,
        height_ft=settings.height_ft,
        full_scale_deg=settings.full_scale_deg,
    )
    return plan, settings


def settings_of(options: argparse.Namespace) -> Settings:
    """The settings file, overridden by the options given."""
    given = {name: getattr(options, name, None) for name in FORMS}
    return read_settings({name: text for name, text in given.items() if text is not None})


def table_of(settings: Settings) -> PhraseTable:
    """The words that the settings make the pilot say."""
    table = read_phrases(settings.language)
    return table if settings.attention is None else table.with_attention(settings.attention)


def drill_of(options: argparse.Namespace) -> Drill:
    """The drill with its `--set` values."""
    return read_drill(options.drill, _pairs(options.set))


def station_of(options: argparse.Namespace, drill: Drill) -> Station:
    """The station that a feed's positions are seen from: the one given, else the drill file's own."""
    station = find_station(options) or drill.station
    if station is None:
        expected = "LAT,LON,DECLINATION, since the drill has no station of its own"
        raise SettingsError(Problem(where="--station", expected=expected, got="none"))
    return station


def parse_station(text: str) -> Station:
    """`LAT,LON,DECLINATION` in degrees. Raises `SettingsError`."""
    limits = (90.0, 180.0, 180.0)
    numbers = [_parse_number(part) for part in text.split(",")]
    is_good = len(numbers) == 3 and all(
        number is not None and abs(number) <= limit for number, limit in zip(numbers, limits, strict=False)
    )
    if not is_good:
        expected = "LAT,LON,DECLINATION in degrees such as -40,-110,12, or an ident (ABC or ABC@-40,-110)"
        raise SettingsError(Problem(where="--station", expected=expected, got=f"'{text}'"))
    latitude, longitude, declination = (number or 0.0 for number in numbers)
    return Station(latitude_deg=latitude, longitude_deg=longitude, declination_deg=declination)


def _try(problems: list[Problem | str], read: object) -> Value | None:
    try:
        return read()  # type: ignore[operator,no-any-return]
    except SetupError:
        # Nothing that is typed mends it: it keeps its own exit status.
        raise
    except CoachError as error:
        problems += error.problems
        return None


def _pairs(texts: list[str]) -> dict[str, str]:
    pairs: dict[str, str] = {}
    wrong = [text for text in texts if "=" not in text]
    if wrong:
        raise DrillError(*(Problem(where="--set", expected="KEY=VALUE", got=f"'{text}'") for text in wrong))
    for text in texts:
        key, _, value = text.partition("=")
        pairs[key.strip()] = value.strip()
    return pairs


def _wind_of(options: argparse.Namespace) -> Wind | None:
    return None if options.wind is None else parse_wind(options.wind)


def find_station(options: argparse.Namespace) -> Station | None:
    """The station given on the command line; None: none."""
    if options.station is None:
        return None
    navaid = find_navaid(options.station)
    return parse_station(options.station) if navaid is None else station_at(navaid)


def _parse_number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if number == number and abs(number) <= 180.0 else None
