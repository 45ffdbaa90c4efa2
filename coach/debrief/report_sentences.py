"""What went best, what to work on next, how alike the spokes were: three sentences out of the figures.

Never praises and never grades: each sentence names its figure, its standard and what it was made of.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.debrief.model import Consistency, Debrief
from coach.debrief.report_words import UNITS, render_plain, render_share
from coach.debrief.skills import Skill, gather_skills

NOT_RANKED = ("leg time", "intercept angle", "call to word")
"""Left out of best and next: ICAO's allowance is for design, an angle is a choice, and a word is not flying.
The leg time's finer band stands for the leg time."""

NAMES = {
    "turn begins": "the start of the turns",
    "turn rate": "the rate of turn",
    "roll-out": "rolling out on the heading",
    "leg time, finer": "the leg time",
    "overshoot": "rolling out on the course",
    "needle": "the needle on the course",
    "heading": "the heading",
    "altitude": "the altitude",
    "airspeed": "the airspeed",
    "arc": "the arc",
}
"""How a skill is called in a sentence; others by their own name."""


def tell_flight(debrief: Debrief) -> tuple[str, ...]:
    """Return the three sentences; one that says why where a track or its legs are missing."""
    ranked = _ranked(gather_skills(debrief))
    if not ranked:
        return ("Nothing was measured against a standard: see the notes.", *_tell_ts(debrief))
    told = (_tell_best(ranked[0]), *_tell_next(ranked), *(_tell_spokes(debrief) or _tell_ts(debrief)))
    return tuple(told)


def _ranked(skills: Sequence[Skill]) -> list[Skill]:
    """The best first: by the share within, then by how much of the limit was used."""
    found = [skill for skill in skills if skill.what not in NOT_RANKED]
    return sorted(found, key=lambda skill: (-skill.within_share, skill.used))


def _tell_best(skill: Skill) -> str:
    return f"Went best: {name_of(skill)}, {_tell_skill(skill)}."


def _tell_next(ranked: Sequence[Skill]) -> Iterator[str]:
    if len(ranked) < 2:
        return
    skill = max(ranked, key=lambda skill: (-skill.within_share, skill.used))
    if skill.within_share == 1.0:
        yield (
            f"Work on next: nothing was outside its standard; nearest to it came {name_of(skill)}, "
            f"{_tell_skill(skill)}."
        )
        return
    yield f"Work on next: {name_of(skill)}, {_tell_skill(skill)}."


def _tell_skill(skill: Skill) -> str:
    """`within 6 s at 20 of 24, on average +3.1 s (spread 2.2), at worst +9.0 s in leg 29`."""
    unit = UNITS.get(skill.standard.unit, skill.standard.unit)
    if skill.is_held or skill.mean is None:
        return (
            f"{skill.standard.text} for {render_share(skill.within_share)} of {skill.seconds:.0f} s, "
            f"at worst {abs(skill.worst):.1f} {unit} off in leg {skill.worst_leg_n}"
        )
    return (
        f"{skill.standard.text} at {skill.n_within} of {skill.n}, on average {render_plain(skill.mean)} "
        f"{unit} (spread {skill.spread:.1f}), at worst {skill.worst:.1f} in leg {skill.worst_leg_n}"
    )


def name_of(skill: Skill) -> str:
    """How a skill is called in a sentence."""
    return NAMES.get(skill.what, skill.what)


def _tell_spokes(debrief: Debrief) -> list[str]:
    """The most and the least alike from spoke to spoke, by the spread as a share of the limit."""
    limits = {skill.what: skill.standard.limit for skill in gather_skills(debrief)}
    found = [
        (one.spread / limits[what], one)
        for one in debrief.consistency
        if (what := one.what.partition(": ")[2]) in limits and what not in NOT_RANKED and len(one.values) > 2
    ]
    if len(found) < 2:
        return []
    most, least = min(found, key=lambda pair: pair[0]), max(found, key=lambda pair: pair[0])
    return [
        f"From one time to the next most alike: {_tell_spread(most[1])}; least alike: "
        f"{_tell_spread(least[1])}."
    ]


def _tell_spread(one: Consistency) -> str:
    leg, _, what = one.what.partition(": ")
    values = [value for _, value in one.values]
    unit = UNITS.get(one.unit, one.unit)
    return (
        f"{NAMES.get(what, what)} of the {leg} legs, {render_plain(min(values))} to "
        f"{render_plain(max(values))} {unit} (spread {one.spread:.1f}, {len(values)} times)"
    )


def _tell_ts(debrief: Debrief) -> list[str]:
    known = [change for change in debrief.workflow if change.is_in_order is not None]
    if not known:
        return []
    n_in_order = sum(change.is_in_order is True for change in known)
    return [
        f"The five Ts were run in order at {n_in_order} of {len(known)} heading changes where two or more of "
        "them left a sign."
    ]
