"""A drill file as understood, before any setting has its value: what the parser makes and the compiler reads.

Never says how it is written: that is `coach.drill.language`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from coach.drill.findings import Named
from coach.drill.model import Clock, Ending, T, TimerFrom
from coach.drill.source import Place
from coach.drill.values import LegTurn, Turned


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadingSpec:
    """A heading relative to a reference."""

    of: Named
    """One of `coach.drill.language.REFERENCES`, or a course setting."""

    turned: Turned | None = None
    """How far it is turned from the reference; None: the reference itself."""

    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class AltitudeSpec:
    """A change of altitude at a constant rate."""

    way: str
    """`up` or `down`."""

    by: float | Named
    """In feet, or an altitude setting."""

    rate: float | Named
    """In feet a minute, or a rate setting."""

    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class LegSpec:
    """One leg as the file has it."""

    leg: str
    turn: LegTurn

    ends_on: Ending
    heading: HeadingSpec | Named | None = None
    """A reference's name alone: that course itself; None: the leg has no heading of its own."""

    intercepts: str | None = None
    """`to` or `from` the station: the heading cuts the leg's course from where the drill begins."""

    by_compass: Named | None = None
    """The latitude setting for the compass reading at which to roll out; None: not by the compass."""

    turns_on: bool = False
    """The turn goes on at standard rate until the leg ends."""

    twist: HeadingSpec | Named | None = None
    """The course set on this leg; None: the course set before stays."""

    tracks: bool = False
    arcs: float | Named | None = None
    """The distance from the station that is kept, in NM or a distance setting; None: no arc."""

    drift: int = 0
    """How many times the inbound wind correction is taken out of the heading, the other way."""

    clock: Clock = Clock.NONE
    timed_from: TimerFrom | None = None
    """Where this leg's time is counted from; None: as the drill's `timer_from` says."""

    lasts: Named | None = None
    """The time setting that this leg lasts; `turn`: as long as its turn at standard rate."""

    corrects_wind: Named | None = None
    """The choice setting whose `on` corrects heading and time for the wind; None: flown as published."""

    corrects_for: Named | None = None
    """The leg whose time, measured each lap, corrects this one's in the next."""

    altitude: AltitudeSpec | None = None
    distance: float | Named | None = None
    """The distance from the station that ends it, in NM or a distance setting."""

    says: str | None = None
    reminds: str | None = None
    tone_every_s: int | None = None
    throttle: str | None = None
    talk: str | None = None
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class BeginsSpec:
    """How the drill begins."""

    by: Ending
    """Passage, or the pilot's word."""

    heading: HeadingSpec | Named
    """What is flown before the first leg."""

    radial: HeadingSpec | Named | None = None
    """The radial where it begins; None: no station is used, or over it."""

    distance: float | Named | None = None
    """How far from the station it begins, in NM or a distance setting."""

    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class EntrySpec:
    """How a holding pattern is entered, by the sector the aircraft comes from."""

    arriving: Named
    """The course setting flown to the fix."""

    inbound: HeadingSpec | Named
    """The holding course inbound."""

    parallel: tuple[LegSpec, ...]
    teardrop: tuple[LegSpec, ...]
    direct: tuple[LegSpec, ...] = ()
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class DerivedSpec:
    """A default worked out from two other settings: a course turned back by a turn."""

    course: Named
    turned_back: Named
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingSpec:
    """One setting as the file has it."""

    kind: str
    means: str
    unit: str | None = None
    range: tuple[float, ...] | None = None
    choices: tuple[str, ...] = ()
    default: Named | None = None
    """As text; converted by kind and range."""

    default_from: DerivedSpec | None = None
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class StationSpec:
    """A VOR station as the file has it."""

    name: str
    ident: str
    latitude_deg: float
    """North positive."""

    longitude_deg: float
    """East positive."""

    declination_deg: float
    """The station's own, east positive: magnetic = true - declination."""

    frequency_mhz: float
    elevation_ft: float = 0.0
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillSpec:
    """A drill file as understood."""

    title: str
    source: str
    settings: dict[str, SettingSpec]
    begins: BeginsSpec | None = None
    """None: on passage of the station, from the setting `arrive_course`."""

    entry: EntrySpec | None = None
    begin: tuple[LegSpec, ...] = ()
    """Flown once before the rest."""

    spoke: tuple[LegSpec, ...] = ()
    """The legs of one spoke; empty where the drill has `legs`."""

    legs: tuple[LegSpec, ...] = ()
    repeat: Named | None = None
    """The count setting that says how often `legs` are flown; None: once."""

    end: tuple[LegSpec, ...] = ()
    """Flown once after the rest."""

    five_ts: tuple[T, ...] = tuple(T)
    notes: tuple[str, ...] = field(default=())
    station: StationSpec | None = None
    place: Place
