"""The drill file's language: every key, what it means and how its value is written.

Declarative: no key holds an expression or code. Never compiles, and never says what the keys become: that is
`coach.drill.specs`.
"""

from __future__ import annotations

from coach.drill.forms import Entries, Key, ListOf, Name, Number, OneOf, Record, Text
from coach.drill.leg_language import BEARING, COURSE, DISTANCE_NM, LEG, LEGS
from coach.drill.model import Ending, T
from coach.drill.specs import (
    BeginsSpec,
    DerivedSpec,
    DrillSpec,
    EntrySpec,
    SettingSpec,
    StationSpec,
)
from coach.drill.values import KINDS

BEGINS = Record(
    of="how the drill begins",
    make=BeginsSpec,
    keys=(
        Key(
            name="by",
            form=OneOf(values={"passage": Ending.PASSAGE, "word": Ending.WORD}),
            is_required=True,
            means="Passage of the station, or the pilot's word on the heading he has.",
        ),
        Key(name="heading", form=BEARING, is_required=True, means="What is flown before the first leg."),
        Key(name="radial", form=BEARING, means="The radial on which it begins, on the pilot's word."),
        Key(name="distance", form=DISTANCE_NM, means="How many NM from the station it begins."),
    ),
)

ENTRY = Record(
    of="a holding entry",
    make=EntrySpec,
    keys=(
        Key(name="arriving", form=COURSE, is_required=True, means="The course flown to the fix."),
        Key(name="inbound", form=BEARING, is_required=True, means="The holding course inbound."),
        Key(name="direct", form=ListOf(form=LEG, fewest=0, most=10), means="The legs of a direct entry."),
        Key(
            name="parallel",
            form=ListOf(form=LEG, most=10),
            is_required=True,
            means="The legs of a parallel entry.",
        ),
        Key(
            name="teardrop",
            form=ListOf(form=LEG, most=10),
            is_required=True,
            means="The legs of a teardrop entry.",
        ),
    ),
)

DERIVED = Record(
    of="a default worked out from other settings",
    make=DerivedSpec,
    keys=(
        Key(
            name="course",
            form=COURSE,
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
            name="begins",
            form=BEGINS,
            means="How it begins; left out: on passage, from the course of the setting arrive_course.",
        ),
        Key(name="entry", form=ENTRY, means="Legs flown first, chosen by the sector of a holding pattern."),
        Key(name="begin", form=LEGS, means="Legs flown once before the rest."),
        Key(
            name="spoke",
            form=LEGS,
            means="The legs of one out-and-back, in order, the last one ending on passage.",
        ),
        Key(name="legs", form=LEGS, means="The legs of a drill that has no spokes, in order."),
        Key(
            name="repeat",
            form=Name(of="a count setting", kind="count"),
            means="How often `legs` are flown; left out: once.",
        ),
        Key(name="end", form=LEGS, means="Legs flown once after the rest."),
    ),
)
"""The whole file."""
