"""A VOR as a table of navaids has it: ident, name, frequency, place, its own declination.

Never key on the ident alone: more than a quarter of the world's VORs share theirs with another.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coach.nav.morse import encode_morse
from coach.nav.station import Station


@dataclass(frozen=True, slots=True, kw_only=True)
class Navaid:
    """One VOR of a table."""

    ident: str
    """1-4 capital letters and digits; not unique."""

    name: str
    kind: str
    """`VOR`, `VOR-DME` or `VORTAC`."""

    country: str
    """ISO 3166-1 alpha-2, as the table has it; may be empty."""

    frequency_khz: int
    latitude_deg: float
    """WGS-84, north positive."""

    longitude_deg: float
    """WGS-84, east positive."""

    elevation_ft: float | None
    """Above sea level; None: the table has none."""

    declination_deg: int | None
    """The station's own, whole degrees, east positive; None: the table has none."""

    @property
    def morse(self) -> str:
        """The ident as dots and dashes."""
        return encode_morse(self.ident)

    def distance_nm(self, latitude_deg: float, longitude_deg: float) -> float:
        """Return how far away a place is, along the geodesic."""
        east_nm, north_nm = self._place.place(latitude_deg, longitude_deg)
        return float((east_nm**2 + north_nm**2) ** 0.5)

    def find_station(self) -> Station | None:
        """Return the station whose radials can be flown; None where its declination is not known."""
        if self.declination_deg is None:
            return None
        return Station(
            latitude_deg=self.latitude_deg,
            longitude_deg=self.longitude_deg,
            declination_deg=float(self.declination_deg),
        )

    @property
    def _place(self) -> Station:
        return Station(latitude_deg=self.latitude_deg, longitude_deg=self.longitude_deg)


def is_ident(text: str) -> bool:
    """Whether a text can be a Morse ident: 1 to 4 letters of the English alphabet and digits."""
    return 1 <= len(text) <= 4 and text.isascii() and text.isalnum()


def order_nearest(navaids: Iterable[Navaid], latitude_deg: float, longitude_deg: float) -> tuple[Navaid, ...]:
    """Return the same navaids, the one nearest to a place first."""
    return tuple(sorted(navaids, key=lambda navaid: navaid.distance_nm(latitude_deg, longitude_deg)))


def render_east(angle_deg: float) -> str:
    """Return a declination or variation as charts have it, to a tenth: `12 E`, `3.5 W`."""
    rounded_deg = round(angle_deg, 1)
    return f"{abs(rounded_deg):g} {'W' if rounded_deg < 0.0 else 'E'}"
