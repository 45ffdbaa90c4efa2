"""A station by its ident, out of the user's table: which one is meant, or all that it could be.

Never takes the first of several: stations that share an ident are told apart by a place near one.
"""

from __future__ import annotations

import re

from coach.drill.findings import quote, render_nearest
from coach.errors import Problem, SettingsError
from coach.nav.navaid import Navaid, order_nearest
from coach.nav.station import Station
from coach.store.stations import read_stations

IDENT = re.compile(r"(?=[^@]*[A-Za-z])([A-Za-z0-9]{1,4})(?:@(.*))?", re.ASCII)
"""An ident, and what stands behind an `@`. At least one letter: a number is a latitude."""

NEAR_NM = 150.0
"""A station farther from the place given is not the one that was meant; our own choice."""

MOST_CHOICES = 10
"""Stations named in one line."""


def find_navaid(text: str, *, where: str = "--station") -> Navaid | None:
    """The one station that `ABC` or `ABC@LAT,LON` means; None where the text is no ident.

    Raises `SettingsError` with one line where there is none, or several; `SetupError` without a table.
    """
    parts = IDENT.fullmatch(text.strip())
    if parts is None:
        return None
    near = None if parts[2] is None else parse_place(parts[2], where=where, got=text)
    found = find_all(parts[1], where=where)
    if near is not None:
        return _take_near(found, near, text, where)
    if len(found) > 1:
        raise _ask_which(found, text, where)
    return found[0]


def find_all(ident: str, *, where: str) -> tuple[Navaid, ...]:
    """Every station of the table with an ident, by country and name; `SettingsError` where there is none."""
    table = read_stations()
    wanted = ident.strip().upper()
    found = [navaid for navaid in table if navaid.ident == wanted]
    if not found:
        hint = render_nearest(wanted, sorted({navaid.ident for navaid in table}))
        expected = f"an ident of your table of stations{hint}"
        raise SettingsError(Problem(where=where, expected=expected, got=quote(ident)))
    return tuple(sorted(found, key=lambda navaid: (navaid.country, navaid.name)))


def station_at(navaid: Navaid, *, where: str = "--station") -> Station:
    """Its station. Raises `SettingsError` where the table has no declination for it: none is made up."""
    station = navaid.find_station()
    if station is None:
        place = f"{navaid.latitude_deg:.4f},{navaid.longitude_deg:.4f}"
        expected = f"{place},DECLINATION with the station's declination from a chart"
        got = f"{navaid.ident} ({navaid.name}), for which the table has none"
        raise SettingsError(Problem(where=where, expected=expected, got=got))
    return station


def parse_place(text: str, *, where: str, got: str | None = None) -> tuple[float, float]:
    """`LAT,LON` in degrees. Raises `SettingsError`."""
    match = re.fullmatch(r"\s*([-+]?[0-9]{1,3}(?:\.[0-9]*)?)\s*,\s*([-+]?[0-9]{1,3}(?:\.[0-9]*)?)\s*", text)
    place = None if match is None else (float(match[1]), float(match[2]))
    if place is None or abs(place[0]) > 90.0 or abs(place[1]) > 180.0:
        expected = "LAT,LON in degrees such as -40,-110"
        expected = expected if got is None else f"{expected} behind the @"
        raise SettingsError(Problem(where=where, expected=expected, got=quote(got or text)))
    return place


def _take_near(found: tuple[Navaid, ...], near: tuple[float, float], text: str, where: str) -> Navaid:
    nearest = order_nearest(found, *near)[0]
    away_nm = nearest.distance_nm(*near)
    if away_nm > NEAR_NM:
        expected = f"a place within {NEAR_NM:g} NM of a station {nearest.ident}"
        got = f"{quote(text)}, {away_nm:.0f} NM from the nearest ({_render_choice(nearest)})"
        raise SettingsError(Problem(where=where, expected=expected, got=got))
    return nearest


def _ask_which(found: tuple[Navaid, ...], text: str, where: str) -> SettingsError:
    choices = ", ".join(_render_choice(navaid) for navaid in found[:MOST_CHOICES])
    more = f" and {len(found) - MOST_CHOICES} more" if len(found) > MOST_CHOICES else ""
    got = f"{quote(text)}, which {len(found)} share: {choices}{more}"
    return SettingsError(Problem(where=where, expected="one station, chosen as IDENT@LAT,LON", got=got))


def _render_choice(navaid: Navaid) -> str:
    """How to choose it, and what it is: `ABC@-40.0,-110.0 (Name, XX)`."""
    of = ", ".join(part for part in (navaid.name, navaid.country) if part)
    return f"{navaid.ident}@{navaid.latitude_deg:.1f},{navaid.longitude_deg:.1f} ({of})"
