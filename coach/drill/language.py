"""The drill file's language: every key, what it means and what it becomes.

Declarative: no key holds an expression or code. Never compiles: a `DrillSpec` is the file as understood,
before any setting has its value.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from coach.drill.findings import Named
from coach.drill.forms import Either, Entries, Key, ListOf, Name, Number, OneOf, Record, Text
from coach.drill.model import Clock, Ending, T
from coach.drill.source import Place
from coach.drill.values import KINDS, TURNED, LegTurn, Turned

NEVER_SAID = (
    "amend", "approved", "clear", "cleared", "climb", "contact", "current", "descend", "expect", "go around",
    "good", "legal", "maintain", "radar", "roger", "safe", "traffic", "turn left heading",
    "turn right heading", "well done",
)  # fmt: skip
"""What no drill may put into a prompt: the coach must not pass for ATC, judge safety or praise."""

REFERENCES = ("outbound", "inbound", "previous")
"""What a heading is relative to: the spoke's outbound radial, its inbound course, the leg before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadingSpec:
    """A heading relative to a reference."""

    of: str
    """One of `REFERENCES`."""

    turned: Turned | None = None
    """How far it is turned from the reference; None: the reference itself."""

    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class LegSpec:
    """One leg of a spoke as the file has it."""

    leg: str
    turn: LegTurn

    ends_on: Ending
    heading: HeadingSpec | str | None = None
    """A reference's name alone: that course itself; None: the leg has no heading of its own."""

    twist: str | None = None
    """`outbound` or `inbound`: the course set on this leg; None: the course set before stays."""

    tracks: bool = False
    clock: Clock = Clock.NONE
    lasts: Named | None = None
    """The time setting that this leg lasts."""

    throttle: str | None = None
    talk: str | None = None
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
    spoke: tuple[LegSpec, ...]
    five_ts: tuple[T, ...] = tuple(T)
    notes: tuple[str, ...] = field(default=())
    station: StationSpec | None = None
    place: Place


WORDS = Text(longest=60, refused=NEVER_SAID)
BOOLEAN = OneOf(values={"true": True, "false": False})
REFERENCE = OneOf(values={name: name for name in REFERENCES})

HEADING = Record(
    of="a heading",
    make=HeadingSpec,
    keys=(
        Key(name="of", form=REFERENCE, is_required=True, means="What the heading is relative to."),
        Key(name="turned", form=TURNED, means="How far and to which side it is turned from that."),
    ),
)

LEG = Record(
    of="a leg",
    make=LegSpec,
    keys=(
        Key(name="leg", form=Text(longest=20), is_required=True, means="The leg's name, used once a spoke."),
        Key(
            name="turn",
            form=OneOf(values={str(turn): turn for turn in LegTurn}),
            is_required=True,
            means="Which way the leg begins.",
        ),
        Key(name="heading", form=Either(scalar=REFERENCE, mapping=HEADING), means="Where the turn ends."),
        Key(
            name="twist",
            form=OneOf(values={"outbound": "outbound", "inbound": "inbound"}),
            means="The course to set on this leg; left out, the course set before stays.",
        ),
        Key(name="tracks", form=BOOLEAN, means="true: flown to track its course, else its heading."),
        Key(
            name="clock",
            form=OneOf(values={str(clock): clock for clock in Clock}),
            means="What the pilot does with the clock as the leg begins.",
        ),
        Key(
            name="lasts",
            form=Name(of="a time setting", kind="time"),
            means="The setting that says how long it lasts.",
        ),
        Key(
            name="ends_on",
            form=OneOf(values={str(ending): ending for ending in Ending}),
            is_required=True,
            means="What ends the leg.",
        ),
        Key(name="throttle", form=WORDS, means="What the fourth T says here; left out: none."),
        Key(name="talk", form=WORDS, means="What the fifth T says here; left out: none."),
    ),
)

DERIVED = Record(
    of="a default worked out from other settings",
    make=DerivedSpec,
    keys=(
        Key(
            name="course",
            form=Name(of="a course setting", kind="course"),
            is_required=True,
            means="Where it starts.",
        ),
        Key(
            name="turned_back",
            form=Name(of="a turn setting", kind="turn"),
            is_required=True,
            means="The turn that is taken back from it.",
        ),
    ),
)

SETTING = Record(
    of="a setting",
    make=SettingSpec,
    keys=(
        Key(
            name="kind",
            form=OneOf(values={kind: kind for kind in KINDS}),
            is_required=True,
            means="What the value is.",
        ),
        Key(name="means", form=Text(longest=200), is_required=True, means="One line for the pilot."),
        Key(name="unit", form=Text(longest=20), means="The unit of the value."),
        Key(
            name="range",
            form=ListOf(form=Number(low=0, high=1_000_000), fewest=2, most=2),
            means="The lowest and the highest value.",
        ),
        Key(name="choices", form=ListOf(form=Text(longest=20)), means="The words to choose from."),
        Key(name="default", form=Name(of="a value"), means="The value where the pilot gives none."),
        Key(name="default_from", form=DERIVED, means="A default worked out from other settings."),
    ),
)

STATION = Record(
    of="a station",
    make=StationSpec,
    keys=(
        Key(name="name", form=Text(longest=40), is_required=True, means="The station's name."),
        Key(name="ident", form=Text(longest=4), is_required=True, means="Its Morse ident."),
        Key(
            name="latitude_deg",
            form=Number(low=-90, high=90, unit="deg"),
            is_required=True,
            means="Latitude, north positive.",
        ),
        Key(
            name="longitude_deg",
            form=Number(low=-180, high=180, unit="deg"),
            is_required=True,
            means="Longitude, east positive.",
        ),
        Key(
            name="declination_deg",
            form=Number(low=-180, high=180, unit="deg"),
            is_required=True,
            means="The station's own declination, east positive.",
        ),
        Key(
            name="frequency_mhz",
            form=Number(low=108.0, high=117.95, unit="MHz"),
            is_required=True,
            means="Frequency (AIM 1-1-3a: 108.0 to 117.95).",
        ),
        Key(
            name="elevation_ft",
            form=Number(low=-1500, high=30000, unit="ft"),
            means="Above sea level.",
        ),
    ),
)

DRILL = Record(
    of="a drill",
    make=DrillSpec,
    keys=(
        Key(name="title", form=Text(longest=60), is_required=True, means="What the drill is called."),
        Key(
            name="source",
            form=Text(longest=400),
            is_required=True,
            means="Where it is published, or `common practice, no source`.",
        ),
        Key(name="notes", form=ListOf(form=Text()), means="Notes for the instructor; never spoken."),
        Key(
            name="five_ts",
            form=ListOf(form=OneOf(values={str(t): t for t in T}), fewest=5, most=5, is_distinct=True),
            means="The order of the five Ts.",
        ),
        Key(name="station", form=STATION, means="A station to rehearse over."),
        Key(name="settings", form=Entries(form=SETTING), is_required=True, means="What can be set."),
        Key(
            name="spoke",
            form=ListOf(form=LEG, most=20),
            is_required=True,
            means="The legs of one out-and-back, in order, the last one ending on passage.",
        ),
    ),
)
"""The whole file."""
