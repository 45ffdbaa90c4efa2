"""The debrief as values: what was flown, each leg's marks, the five Ts of each heading change.

Never holds a grade: each figure stands beside its standard, with the seconds it was made of. All times are
seconds on the track's clock (`Track.utc` makes an instant of one); all directions are of the station's rose.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from coach.debrief.flight import Flight, Sense
from coach.drill.model import Leg, T
from coach.drill.plan import Plan
from coach.fixes.track import render_instant


@dataclass(frozen=True, slots=True, kw_only=True)
class PassageFlown:
    """The station went by."""

    at_s: float
    distance_nm: float
    """How far beside, 0 to 1."""

    inbound_radial_mag_deg: float | None
    """Circular mean bearing from the station 1 to 3 NM before, above 0 up to 360; None: no fix there."""

    outbound_radial_mag_deg: float | None
    """The same 1 to 3 NM after."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RadialFlown:
    """A radial was flown in or out."""

    start_s: float
    end_s: float
    direction: Literal["inbound", "outbound"]
    radial_mag_deg: float
    """Circular mean bearing from the station, above 0 up to 360."""

    spread_deg: float
    """Standard deviation of that bearing."""

    from_nm: float
    """Distance from the station at the start."""

    to_nm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ArcFlown:
    """An arc was flown around the station."""

    start_s: float
    end_s: float
    direction: Literal["clockwise", "counterclockwise"]
    radius_nm: float
    """Mean distance from the station."""

    spread_nm: float
    """Standard deviation of that distance."""

    from_radial_mag_deg: float
    to_radial_mag_deg: float
    sweep_deg: float
    """How far round, above 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnFlown:
    """A turn, as the steady turn that fits it best."""

    start_s: float
    """When that steady turn begins: the middle of the roll-in of a real one."""

    end_s: float
    turn_deg: float
    """Right positive; may exceed 360."""

    rate_deg_s: float
    """Above 0."""

    before_mag_deg: float
    """Direction before it, above 0 up to 360; of what `by` says."""

    after_mag_deg: float
    by: Sense
    """What turned: the measured heading, the heading estimated from track and wind, or only the track.
    A track's rate of turn is not the heading's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """What a figure is held against."""

    text: str
    """As a pilot reads it, such as `within 3/4 of full scale`."""

    limit: float
    """The figure may be so far from its aim, the limit itself included."""

    unit: str
    source: str
    """Who asks for it, and the section; or `our own`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One figure, measured once."""

    what: str
    """Such as `turn begins`, `turn rate`, `leg time`."""

    value: float
    """Signed where it can be early or late, left or right."""

    unit: str
    standard: Standard | None
    """None: nothing published or chosen to hold it against."""

    is_within: bool | None
    """None without a standard."""

    reason: str
    """One sentence: what was measured, and from what."""

    start_s: float
    end_s: float
    """The seconds it is made of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """How one quantity was held over time."""

    what: str
    """Such as `needle`, `altitude`, `heading`, `airspeed`, `arc`."""

    aim: float | None
    """What was to be held, in `unit`; None for the needle, whose aim is 0."""

    standard: Standard
    seconds: float
    """How long it was measured; gaps left out."""

    within_share: float
    """Of that time, 0 to 1."""

    worst: float
    """The largest deviation, signed (needle: right positive)."""

    worst_at_s: float
    rms: float
    """Root mean square of the deviation."""

    reason: str
    """One sentence: from when to when, and why not longer."""

    start_s: float
    end_s: float


How = Literal["flown", "skipped", "repeated", "wrong way", "no turn seen", "broken off", "not on track"]
"""`repeated`: this leg was flown before. `wrong way`: it began with a turn to the other side. `no turn seen`:
the track shows no turn that could be its. `not on track`: the track does not cover it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LegFlown:
    """One leg of the drill as the journal has it, and what the track shows of it."""

    leg: Leg
    how: How
    told: str
    """What was not as planned, one sentence; empty where all was."""

    begun_s: float | None
    """Its checkpoint on the track's clock; None where it was skipped."""

    ended_s: float | None
    turn: TurnFlown | None
    marks: tuple[Mark, ...] = ()
    held: tuple[Held, ...] = ()


By = Literal["confirmed", "called out", "seen", "said by the coach", "not needed", "no sign"]
"""How it is known that a T was run: the pilot's word or key, the pilot's callout, the feed; `said by the
coach`: prompted, no sign of the pilot doing it; `no sign`: nothing shows it, though it may have been done;
`not needed`: the leg has nothing to do for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TDone:
    """One of the five Ts at one heading change."""

    t: T
    by: By
    late_s: float | None
    """Seconds after the checkpoint; None where there is no time to it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadingChange:
    """One row of the workflow table."""

    leg: Leg
    at_s: float
    """The checkpoint."""

    ts: tuple[TDone, ...]
    """All five, in the drill's order."""

    order: tuple[T, ...]
    """Those with a time of their own, in the order they were run."""

    is_in_order: bool | None
    """None where fewer than two have a time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Consistency:
    """One figure over all spokes, leg by leg of the same name."""

    what: str
    """Such as `outbound: turn begins`."""

    unit: str
    values: tuple[tuple[int, float], ...]
    """Spoke (or lap, or leg number) and figure, in the order flown."""

    mean: float
    spread: float
    """Standard deviation; 0 for one value."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """How the journal's clock was laid beside the track's."""

    offset_s: float
    """Added to the journal's UTC it gives the track's."""

    residual_s: float
    """Half of the turns and passages are within this of where the offset puts them."""

    n_turns: int
    """Turns and passages that it was found by."""

    told: str
    """One sentence: how it was found, what it cannot tell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bookmark:
    """A moment that somebody asked to remember."""

    at_s: float
    what: str
    around: tuple[tuple[float, str], ...]
    """What was said within a few seconds: time, and `coach: …` or `pilot: …`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Debrief:
    """Everything that is known of a flight."""

    began_utc: datetime
    """The zero of all times, aware, UTC: the track's first fix, without a track when the session began."""

    has_date: bool
    """False: the track tells the time of day only."""

    flight: Flight | None
    """The track seen from the station; None: the session had no feed and no file was given."""

    passages: tuple[PassageFlown, ...] = ()
    radials: tuple[RadialFlown, ...] = ()
    arcs: tuple[ArcFlown, ...] = ()
    turns: tuple[TurnFlown, ...] = ()
    plan: Plan | None = None
    """Of the session; None without one."""

    alignment: Alignment | None = None
    legs: tuple[LegFlown, ...] = ()
    workflow: tuple[HeadingChange, ...] = ()
    consistency: tuple[Consistency, ...] = ()
    bookmarks: tuple[Bookmark, ...] = ()
    notes: tuple[str, ...] = ()
    """What people should know of how it was made: one sentence each."""

    def render_utc(self, at_s: float) -> str:
        """Return a time as `2018-01-12T09:39:30.5Z`; without a date only the time of day."""
        return render_instant(self.began_utc, at_s, has_date=self.has_date)
