"""`coach station find IDENT`: every station of the user's table with that ident, and how to choose each."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from coach.cli.output import line, print_json
from coach.cli.station_choice import find_all, parse_place
from coach.nav.navaid import Navaid, order_nearest, render_east

Place = tuple[float, float]


def run(options: argparse.Namespace) -> int:
    """List the stations."""
    near = None if options.near is None else parse_place(options.near, where="--near")
    found = find_all(options.ident, where="IDENT")
    if near is not None:
        found = order_nearest(found, *near)
    if options.json:
        print_json({"stations": [_encode(navaid, near) for navaid in found]})
        return 0
    _tell(found, near)
    return 0


def _encode(navaid: Navaid, near: Place | None) -> dict[str, object]:
    return {
        "ident": navaid.ident,
        "name": navaid.name,
        "kind": navaid.kind,
        "country": navaid.country,
        "frequency_khz": navaid.frequency_khz,
        "latitude_deg": navaid.latitude_deg,
        "longitude_deg": navaid.longitude_deg,
        "elevation_ft": navaid.elevation_ft,
        "declination_deg": navaid.declination_deg,
        "morse": navaid.morse,
        "distance_nm": None if near is None else round(navaid.distance_nm(*near), 1),
    }


def _tell(found: Sequence[Navaid], near: Place | None) -> None:
    for navaid in found:
        line(_render(navaid, near))
    if len(found) > 1:
        line(f"{len(found)} stations share the ident: give --station as the line of the one you mean begins.")


def _render(navaid: Navaid, near: Place | None) -> str:
    choice = f"{navaid.ident}@{navaid.latitude_deg:.1f},{navaid.longitude_deg:.1f}"
    declination = None if navaid.declination_deg is None else render_east(navaid.declination_deg)
    parts = (
        navaid.name,
        navaid.country,
        f"{navaid.kind} {navaid.frequency_khz / 1000:.2f} MHz",
        f"declination {declination or 'not in the table'}",
        navaid.morse,
        "" if near is None else f"{navaid.distance_nm(*near):.1f} NM away",
    )
    return f"{choice:<16}  {', '.join(part for part in parts if part)}"
