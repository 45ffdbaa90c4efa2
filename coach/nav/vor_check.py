"""The check of a VOR receiver: how far off it may be by the kind of check, and how long a check counts.

Never says that a receiver may be used: only whether the figures are those of 14 CFR 91.171, which asks for
the check before flight under IFR.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from coach.nav.angles import difference_deg

GOOD_DAYS = 30
"""Within the preceding 30 days: the thirtieth day after it counts, the next one does not (91.171(a)(2))."""

AIRWAY_FROM_NM = 20.0
"""A point on an airway is better farther from the station than this (91.171(b)(4))."""


class Kind(StrEnum):
    """How a receiver is checked."""

    VOT = "vot"
    """A test signal, or one radiated by a repair station."""

    GROUND = "ground"
    """A designated point on the surface of an airport."""

    AIRBORNE = "airborne"
    """A designated point in the air."""

    AIRWAY = "airway"
    """A prominent point of one's own choice on the centreline of a VOR airway."""

    DUAL = "dual"
    """Two independent systems against each other, both tuned to one station."""


LIMITS_DEG = {
    Kind.VOT: 4.0,
    Kind.GROUND: 4.0,
    Kind.AIRBORNE: 6.0,
    Kind.AIRWAY: 6.0,
    Kind.DUAL: 4.0,
}
"""14 CFR 91.171(b)(1) to (4) and (c)."""

SOURCES = {
    Kind.VOT: "14 CFR 91.171(b)(1)",
    Kind.GROUND: "14 CFR 91.171(b)(2)",
    Kind.AIRBORNE: "14 CFR 91.171(b)(3)",
    Kind.AIRWAY: "14 CFR 91.171(b)(4)",
    Kind.DUAL: "14 CFR 91.171(c)",
}

EXPECTED_VOT_DEG = (360.0, 180.0)
"""With FROM and with TO (AIM 1-1-4b)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VorCheck:
    """One check as it is recorded (91.171(d))."""

    day: date
    place: str
    kind: Kind
    error_deg: float
    """What the receiver showed less what was right, or one receiver less the other; -180 to 180."""

    signature: str

    @property
    def limit_deg(self) -> float:
        """The most that this kind of check allows."""
        return LIMITS_DEG[self.kind]

    @property
    def is_within(self) -> bool:
        """Whether the error is within the limit; on the limit it is."""
        # A tenth of a degree is more than anyone reads: what a decimal fraction adds is no error.
        return abs(self.error_deg) <= self.limit_deg + 1e-9

    def days_left(self, day: date) -> int:
        """Return how many days after `day` it still counts; negative when it is out of date."""
        return GOOD_DAYS - (day - self.day).days


def bearing_error_deg(shown_deg: float, right_deg: float) -> float:
    """Return how far one bearing is from another, the greater positive: 358 and 002 are 4 apart."""
    return difference_deg(shown_deg, right_deg)


def vot_error_deg(shown_deg: float) -> float:
    """Return how far the selected course with the needle centred is from 360 FROM or 180 TO, the nearer."""
    return min((difference_deg(shown_deg, right) for right in EXPECTED_VOT_DEG), key=abs)


def encode_check(check: VorCheck) -> dict[str, object]:
    """Return a check as JSON values: what 91.171(d) asks for, and what it was judged by."""
    return {
        "date": check.day.isoformat(),
        "place": check.place,
        "kind": check.kind.value,
        "error_deg": check.error_deg,
        "limit_deg": check.limit_deg,
        "within": check.is_within,
        "signature": check.signature,
    }


def find_last(checks: Iterable[VorCheck]) -> VorCheck | None:
    """Return the latest check; of one day's the one recorded last. None where there is none."""
    latest: VorCheck | None = None
    for check in checks:
        if latest is None or check.day >= latest.day:
            latest = check
    return latest


def render_state(last: VorCheck | None, day: date) -> str:
    """Return in one line whether there is a check that counts on a day."""
    if last is None:
        return "no check recorded here"
    when = f"last {last.day.isoformat()}, {last.place}"
    if not last.is_within:
        return f"{when}, outside the limits"
    left = last.days_left(day)
    if left < 0:
        return f"{when}, {-left} {_days(left)} out of date"
    return f"{when}, {left} {_days(left)} left"


def _days(count: int) -> str:
    return "day" if abs(count) == 1 else "days"
