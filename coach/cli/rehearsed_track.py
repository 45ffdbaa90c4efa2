"""The track of a rehearsal as a file: where the simulated aircraft was, over the station asked for.

Never a part of the feed: nothing is sent, lost or late in it.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from coach.cli.planning import station_of
from coach.drill.plan import Plan
from coach.nav.station import Station
from coach.rehearsal.flight import FlownPlace
from coach.store.gpx_file import check_gpx_path, write_gpx


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackFile:
    """Where the track goes."""

    path: Path
    station: Station
    began_utc: datetime
    """Of the session's clock: the journal is begun at the same time, to some milliseconds."""

    name: str

    def write(self, places: Sequence[FlownPlace]) -> None:
        """Write it. Raises SettingsError where it cannot be."""
        found = []
        for place in places:
            latitude_deg, longitude_deg = self.station.locate(place.east_nm, place.north_nm)
            utc = self.began_utc + timedelta(seconds=place.at_s)
            found.append((utc, latitude_deg, longitude_deg, place.altitude_ft))
        write_gpx(self.path, found, name=self.name)


def read_track_options(options: argparse.Namespace, plan: Plan) -> TrackFile | None:
    """What --track asks for; None: nothing. `SettingsError` before the flight where it cannot be done."""
    if options.track is None:
        return None
    path = Path(options.track)
    check_gpx_path(path)
    station = station_of(options, plan.drill)
    return TrackFile(path=path, station=station, began_utc=datetime.now(UTC), name=plan.drill.name)
