"""The drill file's language: every key, what it means and how its value is written.

Declarative: no key holds an expression or code. Never compiles, and never says what the keys become: that is
`coach.drill.specs`.
"""

from __future__ import annotations

from coach.drill.forms import Either, Entries, Key, ListOf, Name, Number, OneOf, Record, Text
from coach.drill.model import Clock, Ending, T, TimerFrom
from coach.drill.specs import (
    AltitudeSpec,
    BeginsSpec,
    DerivedSpec,
    DrillSpec,
    EntrySpec,
    HeadingSpec,
    LegSpec,
    SettingSpec,
    StationSpec,
)
from coach.drill.values import ALTITUDE, DISTANCE, KINDS, RATE, TURNED, LegTurn

NEVER_SAID = (
    "amend", "approved", "clear", "cleared", "climb", "contact", "current", "descend", "expect", "go around",
    "good", "legal", "maintain", "radar", "roger", "safe", "traffic", "turn left heading",
    "turn right heading", "well done",
)  # fmt: skip
"""What no drill may put into a prompt: the coach must not pass for ATC, judge safety or praise."""

PILOTS_WORDS = (
    "abeam", "affirmative", "bookmark", "course alive", "disregard", "established",
    "flight controls", "less talk", "more talk", "needle alive", "needle centered", "negative", "next",
    "passage", "position", "rejoin", "resume drill", "say again", "stand by", "terminate drill", "time",
    "unable", "where now", "wings level",
)  # fmt: skip
"""What the coach listens for: its own prompts must not hold it."""

REFERENCES = ("outbound", "inbound", "previous")
"""What a heading is relative to: the spoke's outbound radial, its inbound course, the leg before."""

ITS_TURN = "turn"
"""A leg that lasts as long as its turn takes at standard rate."""

WORDS = Text(longest=60, refused=(*NEVER_SAID, *PILOTS_WORDS))
BOOLEAN = OneOf(values={"true": True, "false": False})
REFERENCE = Name(of="a course setting", kind="course", also=REFERENCES)
COURSE = Name(of="a course setting", kind="course")
DISTANCE_NM = Name(of="a distance setting", kind="distance", number=DISTANCE)

HEADING = Record(
    of="a heading",
    make=HeadingSpec,
    keys=(
        Key(name="of", form=REFERENCE, is_required=True, means="What the heading is relative to."),
        Key(name="turned", form=TURNED, means="How far and to which side it is turned from that."),
    ),
)
DIRECTION = Either(scalar=REFERENCE, mapping=HEADING)

ALTITUDE_CHANGE = Record(
    of="a change of altitude",
    make=AltitudeSpec,
    keys=(
        Key(
            name="way", form=OneOf(values={"up": "up", "down": "down"}), is_required=True, means="Up or down."
        ),
        Key(
            name="by",
            form=Name(of="an altitude setting", kind="altitude", number=ALTITUDE),
            is_required=True,
            means="By how many feet.",
        ),
        Key(
            name="rate",
            form=Name(of="a rate setting", kind="rate", number=RATE),
            is_required=True,
            means="At how many feet a minute.",
        ),
    ),
)

LEG = Record(
    of="a leg",
    make=LegSpec,
    keys=(
        Key(name="leg", form=Text(longest=20), is_required=True, means="The leg's name, used once a list."),
        Key(
            name="turn",
            form=OneOf(values={str(turn): turn for turn in LegTurn}),
            is_required=True,
            means="Which way the leg begins.",
        ),
        Key(name="heading", form=DIRECTION, means="Where the turn ends."),
        Key(name="turns_on", form=BOOLEAN, means="true: the turn goes on at standard rate to the leg's end."),
        Key(
            name="twist",
            form=DIRECTION,
            means="The course to set on this leg; left out, the last one stays.",
        ),
        Key(name="tracks", form=BOOLEAN, means="true: flown to track its course, else its heading."),
        Key(name="arcs", form=DISTANCE_NM, means="The DME distance in NM that the leg keeps: an arc."),
        Key(
            name="drift",
            form=OneOf(values={"single": 1, "triple": 3}),
            means="The inbound wind correction is flown the other way, once or three times.",
        ),
        Key(
            name="clock",
            form=OneOf(values={str(clock): clock for clock in Clock}),
            means="What the pilot does with the clock as the leg begins.",
        ),
        Key(
            name="timed_from",
            form=OneOf(values={str(timer): timer for timer in TimerFrom}),
            means="Where this leg's time is counted from; left out, as the setting timer_from says.",
        ),
        Key(
            name="lasts",
            form=Name(of="a time setting", kind="time", also=(ITS_TURN,)),
            means="The setting that says how long it lasts; turn: as long as its turn at standard rate.",
        ),
        Key(
            name="corrects_for",
            form=Name(of="a leg of the same list", kind="leg"),
            means="The leg that is to last as long as this one: each lap corrects this one's time for it.",
        ),
        Key(name="altitude", form=ALTITUDE_CHANGE, means="The change of altitude that ends it."),
        Key(name="distance", form=DISTANCE_NM, means="The DME distance in NM that ends it."),
        Key(
            name="ends_on",
            form=OneOf(values={str(ending): ending for ending in Ending}),
            is_required=True,
            means="What ends the leg.",
        ),
        Key(name="says", form=WORDS, means="What is said as it begins, in place of turn and heading."),
        Key(name="reminds", form=WORDS, means="What is said once on the leg, with the wings level."),
        Key(
            name="tone_every_s",
            form=Number(low=5, high=120, unit="s", is_whole=True),
            means="A tone sounds again and again after so long.",
        ),
        Key(name="throttle", form=WORDS, means="What the fourth T says here; left out: none."),
        Key(name="talk", form=WORDS, means="What the fifth T says here; left out: none."),
    ),
)
LEGS = ListOf(form=LEG, most=20)

BEGINS = Record(
    of="how the drill begins",
    make=BeginsSpec,
    keys=(
        Key(
            name="on",
            form=OneOf(values={"passage": Ending.PASSAGE, "word": Ending.WORD}),
            is_required=True,
            means="Passage of the station, or the pilot's word on the heading he has.",
        ),
        Key(name="heading", form=COURSE, is_required=True, means="What is flown before the first leg."),
        Key(name="radial", form=COURSE, means="The radial on which it begins, on the pilot's word."),
        Key(name="distance", form=DISTANCE_NM, means="How many NM from the station it begins."),
    ),
)

ENTRY = Record(
    of="a holding entry",
    make=EntrySpec,
    keys=(
        Key(name="arriving", form=COURSE, is_required=True, means="The course flown to the fix."),
        Key(name="inbound", form=COURSE, is_required=True, means="The holding course inbound."),
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
