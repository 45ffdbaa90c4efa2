"""A leg in the drill file's language: every key, what it means and how its value is written.

Never says what the keys ask of one another: that is `coach.drill.leg_rules`.
"""

from __future__ import annotations

from coach.drill.forms import Either, Key, ListOf, Name, Number, OneOf, Record, Text
from coach.drill.model import Clock, Ending, TimerFrom
from coach.drill.specs import AltitudeSpec, HeadingSpec, LegSpec
from coach.drill.values import ALTITUDE, DISTANCE, RATE, TURNED, LegTurn

NEVER_SAID = (
    "amend", "approved", "clear", "cleared", "climb", "contact", "current", "descend", "expect", "go around",
    "good", "legal", "maintain", "radar", "roger", "safe", "traffic", "turn left heading",
    "turn right heading", "well done",
)  # fmt: skip
"""What no drill may put into a prompt: the coach must not pass for ATC, judge safety or praise."""

PILOTS_WORDS = (
    "abeam", "affirmative", "bookmark", "course alive", "disregard", "established",
    "flight controls", "less talk", "more talk", "needle alive", "needle centered", "negative", "next",
    "passage", "position", "rejoin", "resume drill", "say again", "stand by", "talk", "terminate drill",
    "throttle", "time", "unable", "where now", "wings level",
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

FROM_COURSE = Record(
    of="a heading turned from a course",
    make=HeadingSpec,
    keys=(
        Key(name="of", form=COURSE, is_required=True, means="The course setting it is turned from."),
        Key(name="turned", form=TURNED, means="How far and to which side it is turned from that."),
    ),
)
BEARING = Either(scalar=COURSE, mapping=FROM_COURSE)
"""A heading before any leg is flown: nothing but the settings is known."""

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
        Key(
            name="intercepts",
            form=OneOf(values={"to": "to", "from": "from"}),
            means="The heading cuts the course set, to or from the station, at double the angle to it.",
        ),
        Key(
            name="by_compass",
            form=Name(of="a latitude setting", kind="latitude"),
            means="The turn is rolled out by the magnetic compass, its reading told for that latitude.",
        ),
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
            name="corrects_wind",
            form=Name(of="a choice setting", kind="choice"),
            means="A choice of off and on; on: heading and time keep the ground track as published.",
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
