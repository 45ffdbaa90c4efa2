"""A dialogue with a session that has a feed: the aircraft flies the plan, a fix a second. For tests only."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from coach.drill.plan import Plan, plan_drill
from coach.fixes.fix import Fix
from coach.nav.aircraft import Aircraft
from coach.nav.path import aircraft_at
from coach.nav.station import Station
from coach.nav.wind import CALM, Wind
from coach.session.actions import Record
from coach.session.events import FeedBack, FeedLost, FixReceived
from coach.session.machine import Options
from coach.session.outlook import FeedUse, Role
from coach.store.drills import read_drill
from tests.session.dialogue import Dialogue

STATION = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)
"""Mid-ocean; there is nothing there."""

FIRST_S = 60.0
"""The first passage, on the session clock."""


def planned(wind: Wind = CALM, **settings: object) -> Plan:
    """The drill of the procedure, from 240."""
    values = {"first_outbound": "240", **{key: str(value) for key, value in settings.items()}}
    return plan_drill(read_drill("eight-spoke", values), wind=wind)


def flown(plan: Plan, at_s: float) -> Aircraft:
    """Where the plan has the aircraft on the session clock; before the first passage, straight in."""
    since_s = at_s - FIRST_S
    if since_s < 0.0:
        return plan.legs[0].path[0].start.step(since_s)
    leg = max((leg for leg in plan.legs if leg.start_s <= since_s), key=lambda leg: leg.start_s)
    return aircraft_at(leg.path, since_s - leg.start_s)


def fix_at(aircraft: Aircraft, at_s: float, **more: object) -> Fix:
    """What a perfect receiver reports."""
    lat_deg, lon_deg = STATION.locate(aircraft.east_nm, aircraft.north_nm)
    fix = Fix(
        at_s=at_s,
        source="nmea",
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        ground_speed_kt=aircraft.ground_speed_kt,
        track_true_deg=STATION.as_true(aircraft.track_mag_deg),
    )
    return replace(fix, **more)  # type: ignore[arg-type]


class FedDialogue(Dialogue):
    """Flies the plan second by second; `where` may be replaced to fly something else."""

    def __init__(
        self,
        plan: Plan,
        *,
        role: Role = Role.DECIDE,
        told: Plan | None = None,
        options: Options | None = None,
        where: Callable[[float], Aircraft] | None = None,
        **use: object,
    ) -> None:
        self.where = where or (lambda at_s: flown(plan, at_s))
        feed = FeedUse(station=STATION, role=role, **use)  # type: ignore[arg-type]
        super().__init__(told or plan, replace(options or Options(), feed=feed))

    def fix(self, at_s: float, **more: object) -> None:
        """One fix arrives."""
        self.handle(FixReceived(at_s=at_s, onset_s=at_s, fix=fix_at(self.where(at_s), at_s, **more)))

    def fly_until(self, until_s: float, *, every_s: float = 1.0, **more: object) -> FedDialogue:
        """Fly on with a fix every so often."""
        at_s = self.at_s
        while at_s + every_s <= until_s + 1e-9:
            at_s += every_s
            self.wait_until(at_s)
            self.fix(at_s, **more)
        return self

    def lose(self) -> None:
        self.handle(FeedLost(at_s=self.at_s, onset_s=self.at_s, reason="silent"))

    def find(self) -> None:
        self.handle(FeedBack(at_s=self.at_s, onset_s=self.at_s))

    def seen(self, what: str) -> list[float]:
        """When the feed saw something of that name, dated back."""
        return [record.onset_s for record in self.records if record.what.startswith(f"seen: {what}")]

    @property
    def records(self) -> list[Record]:
        return [action for _, actions in self.all for action in actions if isinstance(action, Record)]

    def said(self, text: str) -> list[float]:
        """When a prompt that begins so was said."""
        return [at_s for at_s, spoken in self.spoken if spoken.startswith(text)]
