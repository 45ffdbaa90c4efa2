"""Cards laid out for tests, with a ruler of plain glyph widths: no file, no typeface."""

from __future__ import annotations

from coach.drill.card import lay_out_card
from coach.drill.plan import Plan, plan_drill
from coach.drill.shapes import Sheet
from coach.nav.navaid import Navaid
from coach.nav.station import Station
from coach.nav.wind import parse_wind
from coach.store.drills import read_drill

NAVAID = Navaid(
    ident="QQQ",
    name="Nowhere Deep",
    kind="VOR-DME",
    country="",
    frequency_khz=113000,
    latitude_deg=-40.0,
    longitude_deg=-110.0,
    elevation_ft=0.0,
    declination_deg=12,
)
"""An invented station in the middle of an ocean."""

STATION = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)


def planned(wind: str | None = None, tas_kt: float = 90.0, **settings: str) -> Plan:
    return plan_drill(
        read_drill("eight-spoke", settings), wind=None if wind is None else parse_wind(wind), tas_kt=tas_kt
    )


def measure(text: str, size: float, is_bold: bool) -> float:
    return len(text) * size * (0.66 if is_bold else 0.58)


def laid_out(plan: Plan, *, is_wide: bool = False) -> tuple[Sheet, ...]:
    return lay_out_card(plan, measure, is_wide=is_wide)


def words(sheets: tuple[Sheet, ...]) -> str:
    return " ".join(text.text for sheet in sheets for text in sheet.texts)
