"""The briefing in sentences for a voice, every number said as the trade says it.

For the ground only: in flight the coach says what `coach.session.prompts` has. Never works anything out and
never leaves a caution away: the plan's figures, warnings and cautions as they are.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import groupby

from coach.drill.card import MINUTES_STEP
from coach.drill.card_view import rim_nm
from coach.drill.cautions import CAUTIONS
from coach.drill.model import Drill, Ending, Turn
from coach.drill.plan import Plan, PlannedLeg
from coach.nav.angles import as_heading
from coach.session.spoken import Style, count_words, digit_words, heading_words, speed_words, wind_words

_TURNS = {Turn.LEFT: "left", Turn.RIGHT: "right", Turn.NONE: "straight on"}

_ENDINGS = {
    Ending.PASSAGE: "to the station",
    Ending.ESTABLISHED: "until established",
    Ending.ALTITUDE: "until the altitude",
    Ending.DISTANCE: "until the distance",
    Ending.RADIAL: "until the radial",
    Ending.WORD: "until you say so",
}

_UNITS = {"NM": "miles", "kt": "knots", "ft": "feet", "s": "seconds", "min": "minutes", "deg": "degrees"}
_SLASH = re.compile(r"(?<=\d)/(?=\d)")
_NUMBER = re.compile(r"(\d+(?:,\d{3})*)(?:\.(\d+))?(?: (NM|kt|ft|s|min|deg)\b)?")


def read_briefing(plan: Plan, *, style: Style = Style.FAA, station: str | None = None) -> tuple[str, ...]:
    """Return the briefing as sentences, one utterance each; `station`: its name, None where none is named."""
    return tuple(_sentences(plan, style, station))


def say_numbers(text: str) -> str:
    """Return a text for people with its numbers digit by digit and its units in words (AIM 4-2-8d).

    `0.25 NM (10 s of flight)` is `zero point two five miles (one zero seconds of flight)`.
    """
    return _NUMBER.sub(_say_number, _SLASH.sub(", ", text))


def duration_words(seconds: float) -> str:
    """Return a time to the nearest second, as it is said: `one minute`, `four five seconds`."""
    minutes, rest = divmod(round(seconds), 60)
    said = []
    if minutes:
        said.append("one minute" if minutes == 1 else f"{digit_words(str(minutes))} minutes")
    if rest or not minutes:
        said.append(f"{digit_words(str(rest))} seconds")
    return " ".join(said)


def _say_number(found: re.Match[str]) -> str:
    whole, part, unit = found.groups()
    said = digit_words(whole.replace(",", ""))
    if part:
        said += f" point {digit_words(part)}"
    return f"{said} {_UNITS[unit]}" if unit else said


def _sentences(plan: Plan, style: Style, station: str | None) -> Iterator[str]:
    yield f"Briefing. {say_numbers(plan.drill.title)}."
    if station is not None:
        yield f"Station {station}."
    yield f"True airspeed {speed_words(round(plan.tas_kt))}. {_wind(plan, style)}."
    yield _arrival(plan.drill)
    begins = "the first passage" if plan.drill.begins_on is Ending.PASSAGE else "your word"
    yield f"From {begins} to the end {duration_words(plan.total_s)}."
    yield _reach(plan)
    for (spoke, lap), legs in groupby(plan.legs, key=lambda planned: (planned.leg.spoke, planned.leg.lap)):
        if spoke is not None:
            yield f"Spoke {count_words(spoke)}."
        elif lap is not None:
            yield f"Lap {count_words(lap)}."
        for planned in legs:
            yield _leg(planned)
    yield from (f"Warning. {say_numbers(warning)}" for warning in plan.warnings)
    yield _request(plan, station)
    yield from (f"Caution. {say_numbers(caution.text)}" for caution in CAUTIONS)
    yield "End of briefing."


def _arrival(drill: Drill) -> str:
    heading = heading_words(drill.arrive_course_mag_deg)
    if drill.begins_on is Ending.PASSAGE:
        return f"Arrive on course {heading}."
    if drill.start is None:
        return f"Begin on heading {heading}."
    where = say_numbers(f"{drill.start.distance_nm:g} NM")
    return f"Begin on heading {heading}, {where} out on radial {heading_words(drill.start.radial_mag_deg)}."


def _reach(plan: Plan) -> str:
    reach = f"Reach {say_numbers(f'{plan.reach_nm:.1f} NM')}"
    if plan.drill.begins_on is not Ending.PASSAGE and plan.drill.start is None:
        return f"{reach} from where it begins."
    return f"{reach}, on radial {heading_words(plan.reach_radial_mag_deg)}."


def _wind(plan: Plan, style: Style) -> str:
    speed_kt = round(plan.wind.speed_kt)
    if not speed_kt:
        return "Wind calm"
    said = wind_words(as_heading(plan.wind.from_deg), speed_kt, style)
    return said[0].upper() + said[1:]


def _leg(planned: PlannedLeg) -> str:
    leg = planned.leg
    parts = [leg.leg.replace("_", " "), _TURNS[leg.turn]]
    if leg.heading_mag_deg is not None:
        parts.append(heading_words(leg.heading_mag_deg))
    if planned.steer_mag_deg is not None and planned.steer_mag_deg != leg.heading_mag_deg:
        parts.append(f"steer {heading_words(planned.steer_mag_deg)}")
    if leg.sets_course and leg.course_mag_deg is not None:
        parts.append(f"set {heading_words(leg.course_mag_deg)}")
    ending = _ending(planned)
    said = ", ".join(parts if ending is None else [*parts, ending])
    return f"{say_numbers(said[0].upper() + said[1:])}."


def _ending(planned: PlannedLeg) -> str | None:
    if planned.leg.climb_ft is not None:
        way = "up" if planned.leg.climb_ft > 0.0 else "down"
        return f"{way} {say_numbers(f'{abs(planned.leg.climb_ft):.0f} ft')}"
    if planned.leg.distance_nm is not None:
        return f"until {say_numbers(f'{planned.leg.distance_nm:g} NM')}"
    if planned.leg.leg_s is not None:
        return duration_words(planned.leg.leg_s)
    if planned.goes_through:
        return "through the course before roll-out"
    if planned.intercept_s is not None:
        return f"{duration_words(planned.intercept_s)} on the intercept heading"
    return _ENDINGS.get(planned.leg.ends_on)


def _request(plan: Plan, station: str | None) -> str:
    """Said by the pilot to ATC; miles and minutes as on the card."""
    miles = math.ceil(rim_nm(plan))
    minutes = math.ceil(plan.total_s / 60.0 / MINUTES_STEP) * MINUTES_STEP
    return (
        f"Your request: traffic advisories, maneuvering within {digit_words(str(miles))} miles of "
        f"{'the' if station is None else station} VOR, at your altitude, "
        f"for {digit_words(str(minutes))} minutes."
    )
