"""What a station is like for a plan: its declination beside the variation, its reach, the cone above it.

Never says that the station can be used: terrain, notices and the ident heard come first. Sources: AIM 1-1-8
(service volumes); ICAO Doc 8168 Vol II (cone of ambiguity; value from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from coach.drill.plan import Plan
from coach.nav.navaid import Navaid, render_east
from coach.nav.service_volume import SERVICE_VOLUMES, covering_classes
from coach.nav.station import Station
from coach.nav.units import SECONDS_PER_HOUR
from coach.nav.variation import (
    FIRST_YEAR,
    LARGEST_DIFFERENCE_DEG,
    LAST_YEAR,
    find_difference_deg,
    find_variation_deg,
    year_of,
)
from coach.nav.vor import CONE_HALF_ANGLE_DEG, cone_radius_nm


@dataclass(frozen=True, slots=True, kw_only=True)
class StationBriefing:
    """A station in words and as JSON."""

    facts: tuple[str, ...]
    """One line each."""

    warnings: tuple[str, ...]
    """One sentence each."""

    encoded: dict[str, object]
    """The same figures as JSON values; None where one is not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """The figures that words are made of."""

    plan: Plan
    station: Station
    navaid: Navaid | None
    height_ft: float
    day: date
    variation_deg: float | None
    classes: tuple[str, ...]

    @property
    def cone_nm(self) -> float:
        return cone_radius_nm(self.height_ft)

    @property
    def cone_s(self) -> float:
        """Across the cone over the station, at the true airspeed."""
        return 2.0 * self.cone_nm / self.plan.tas_kt * SECONDS_PER_HOUR

    @property
    def apart_deg(self) -> float | None:
        return find_difference_deg(self.station.declination_deg, self.variation_deg)


def brief_station(
    plan: Plan, station: Station, navaid: Navaid | None, *, height_ft: float, day: date
) -> StationBriefing:
    """A station for a plan flown `height_ft` above it; `navaid` None: it was given by its position."""
    variation_deg = find_variation_deg(station.latitude_deg, station.longitude_deg, year=year_of(day))
    look = _Look(
        plan=plan,
        station=station,
        navaid=navaid,
        height_ft=height_ft,
        day=day,
        variation_deg=variation_deg,
        classes=covering_classes(height_ft=height_ft, distance_nm=plan.reach_nm),
    )
    return StationBriefing(
        facts=tuple(_render_facts(look)), warnings=tuple(_warn(look)), encoded=_encode(look)
    )


def _render_facts(look: _Look) -> Iterator[str]:
    if look.navaid is not None:
        navaid = look.navaid
        of = ", ".join(part for part in (navaid.name, navaid.country) if part)
        tuned = f"{navaid.kind} {navaid.frequency_khz / 1000:.2f} MHz"
        yield f"{navaid.ident} ({of}), {tuned}, ident {navaid.morse}"
    variation = "not known" if look.variation_deg is None else render_east(look.variation_deg)
    yield (
        f"Declination {render_east(look.station.declination_deg)} (radials), "
        f"magnetic variation {variation} (compass; WMM2025, {look.day.isoformat()})"
    )
    yield (
        f"Standard service volume at {look.height_ft:.0f} ft above it and {look.plan.reach_nm:.1f} NM: "
        f"inside classes {', '.join(look.classes) or 'none'} (AIM 1-1-8)"
    )
    yield (
        f"Cone of ambiguity ({CONE_HALF_ANGLE_DEG:.0f} degrees from the vertical): "
        f"radius {look.cone_nm:.2f} NM, {look.cone_s:.0f} s across at {look.plan.tas_kt:g} kt"
    )


def _warn(look: _Look) -> Iterator[str]:
    apart_deg = look.apart_deg
    if apart_deg is None:
        held = f"from {FIRST_YEAR:.0f} to {LAST_YEAR:.0f}"
        yield f"No magnetic variation for {look.day.isoformat()}: WMM2025 holds {held}."
    elif abs(apart_deg) > LARGEST_DIFFERENCE_DEG:
        side = "east" if apart_deg > 0.0 else "west"
        yield (
            f"The station's declination lies {abs(apart_deg):.1f} degrees {side} of the variation: "
            "a radial and a compass heading of the same number differ by as much. "
            "Check the declination against a current chart."
        )
    outside = [service for service in SERVICE_VOLUMES if service not in look.classes]
    if outside:
        where = f"At {look.height_ft:.0f} ft above the station and {look.plan.reach_nm:.1f} NM"
        yield (
            f"{where} the drill is outside the standard service volume of class {', '.join(outside)} "
            "(AIM 1-1-8): look the station's class up."
        )
    if look.plan.reach_nm <= look.cone_nm:
        radius = f"radius {look.cone_nm:.1f} NM"
        yield f"The whole drill lies inside the cone of ambiguity ({radius}): choose lower or longer legs."


def _encode(look: _Look) -> dict[str, object]:
    navaid = look.navaid
    return {
        "ident": navaid and navaid.ident,
        "name": navaid and navaid.name,
        "frequency_khz": navaid and navaid.frequency_khz,
        "morse": navaid and navaid.morse,
        "latitude_deg": look.station.latitude_deg,
        "longitude_deg": look.station.longitude_deg,
        "declination_deg": look.station.declination_deg,
        "variation_deg": _rounded(look.variation_deg),
        "variation_date": look.day.isoformat(),
        "height_ft": look.height_ft,
        "service_classes": list(look.classes),
        "cone_radius_nm": round(look.cone_nm, 3),
        "cone_s": round(look.cone_s, 1),
    }


def _rounded(angle_deg: float | None) -> float | None:
    return None if angle_deg is None else round(angle_deg, 2)
