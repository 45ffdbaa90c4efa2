"""Debriefs of flights whose errors are known, made once: what report and history are tested with."""

from __future__ import annotations

from functools import cache

from coach.debrief.make import debrief_session, debrief_track
from coach.debrief.model import Debrief
from coach.drill.plan import plan_drill
from coach.nav.wind import parse_wind
from coach.session.actions import Record
from coach.session.events import PhraseHeard
from coach.store.drills import read_drill
from tests.debrief.flown import STATION, Receiver, reported
from tests.debrief.flown_drill import Errors, begun_of, flown_session, fly_plan, journal_of, session_of

LATE = Errors(late_s={6: 7.0, 9: 9.0}, rate_deg_s={10: 2.2})
"""Two turns late, one lazy."""

RECEIVER = Receiver(every_s=1.0, noise_m=2.0, has_heading=True, has_speed=True, altitude_ft=3000.0)


@cache
def flown(wind: str = "250/15", spokes: int = 3, every_s: float = 1.0) -> Debrief:
    """Eight spokes with late turns, a compass and a steady altitude."""
    drill = read_drill("eight-spoke", {"first_outbound": "240", "spokes": str(spokes)})
    plan = plan_drill(drill, tas_kt=90, wind=parse_wind(wind))
    path, session = flown_session(plan, LATE)
    receiver = Receiver(every_s=every_s, noise_m=2.0, has_heading=True, has_speed=True, altitude_ft=3000.0)
    return debrief_session(session, reported(path, receiver), STATION)


@cache
def without_track() -> Debrief:
    """The same drill's journal with no track."""
    plan = plan_drill(read_drill("eight-spoke", {"spokes": "1"}))
    return debrief_session(flown_session(plan)[1], None, None)


@cache
def bookmarked() -> Debrief:
    """One spoke with a bookmark in its outbound leg, and no track."""
    plan = plan_drill(read_drill("eight-spoke", {"spokes": "1"}))
    _, due = fly_plan(plan)
    begun = list(begun_of(plan, due).items())
    key = PhraseHeard(at_s=51.0, onset_s=50.0, phrase="bookmark", by="key")
    journal = journal_of(plan, begun, ended_s=400.0, more=((key, (Record(what="bookmark", onset_s=50.0),)),))
    return debrief_session(session_of(plan, journal), None, None)


@cache
def track_alone() -> Debrief:
    """The same track with nobody to tell which drill it was."""
    drill = read_drill("eight-spoke", {"first_outbound": "240", "spokes": "2"})
    path, _ = flown_session(plan_drill(drill, tas_kt=90))
    return debrief_track(reported(path, RECEIVER), STATION)
