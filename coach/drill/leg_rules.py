"""What the keys of a leg ask of one another, and what each list of legs asks of them.

Never looks at a single value: that is `coach.drill.conversion`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from coach.drill.findings import Findings, quote, render_nearest
from coach.drill.leg_language import ITS_TURN
from coach.drill.model import Ending
from coach.drill.source import Place
from coach.drill.specs import BeginsSpec, HeadingSpec, LegSpec
from coach.drill.values import LegTurn, Side

LEG = "leg"
"""The kind of name that names a leg."""

OF_A_SPOKE = ("outbound", "inbound")
SIDES = (LegTurn.SIDE, LegTurn.OTHER_SIDE, Side.SIDE, Side.OTHER_SIDE)

ASKED_BY = {Ending.ALTITUDE: "altitude", Ending.DISTANCE: "distance"}
"""The key that each of these endings needs, and no other ending takes."""


def check_legs(fields: Mapping[str, Any], place: Place, findings: Findings) -> None:
    """Note what is wrong with a drill's legs; `fields` are the drill's, as read."""
    if fields and ("spoke" in fields) == ("legs" in fields):
        got = "both" if "spoke" in fields else "neither"
        findings.add(place, "one of the keys 'spoke' and 'legs'", got)
    for legs in _lists(fields):
        present = [leg for leg in legs if leg is not None]
        for leg in present:
            _check_leg(leg, findings)
            _check_corrects(leg, present, findings)
            _check_words(leg, fields, findings)
        _check_leg_names(present, findings)
    spoke = fields.get("spoke")
    last = spoke[-1] if spoke else None
    if last is not None and last.ends_on is not Ending.PASSAGE:
        findings.add(last.place, "the last leg of a spoke to end on passage", quote(last.ends_on))
    begins = fields.get("begins")
    _check_begins(begins, findings)
    if begins is None or begins.radial is None:
        cutting = [leg for legs in _lists(fields) for leg in legs if leg is not None and leg.intercepts]
        for leg in cutting:
            findings.add(leg.place, "begins.radial where a leg has 'intercepts'", "none")
    repeat = fields.get("repeat")
    if repeat is not None and "legs" not in fields:
        findings.add(repeat.place, "the key 'legs' where 'repeat' is given", "none")


def _lists(fields: Mapping[str, Any]) -> Iterator[Sequence[LegSpec | None]]:
    for key in ("begin", "spoke", "legs", "end"):
        yield fields.get(key) or ()
    entry = fields.get("entry")
    if entry is not None:
        yield from (entry.direct, entry.parallel, entry.teardrop)


def _check_begins(begins: BeginsSpec | None, findings: Findings) -> None:
    if begins is None:
        return
    has_place = begins.radial is not None, begins.distance is not None
    if has_place[0] != has_place[1]:
        findings.add(begins.place, "both of 'radial' and 'distance', or neither", "one of them")
    if begins.by is Ending.PASSAGE and any(has_place):
        findings.add(begins.place, "no 'radial' and 'distance' where it begins over the station", "them")


def _check_leg(leg: LegSpec, findings: Findings) -> None:
    if leg.lasts is None and leg.ends_on is Ending.TIME:
        findings.add(leg.place, "the key 'lasts' where ends_on is time", "none")
    if leg.lasts is not None and leg.ends_on not in (Ending.TIME, Ending.WORD):
        expected = "no 'lasts' where ends_on is neither time nor word"
        findings.add(leg.lasts.place, expected, quote(leg.lasts.name))
    for ending, key in ASKED_BY.items():
        if (leg.ends_on is ending) != (getattr(leg, key) is not None):
            is_needed = leg.ends_on is ending
            expected = f"the key {key!r}" if is_needed else f"no {key!r}"
            where = f"where ends_on is {'' if is_needed else 'not '}{ending}"
            findings.add(leg.place, f"{expected} {where}", "none" if is_needed else f"{key!r}")
    _check_turn(leg, findings)


def _check_turn(leg: LegSpec, findings: Findings) -> None:
    turns = leg.turn is not LegTurn.NONE
    if leg.turns_on:
        lasts_its_turn = leg.lasts is not None and leg.lasts.name == ITS_TURN
        is_known = leg.ends_on is Ending.ALTITUDE or (leg.ends_on is Ending.TIME and not lasts_its_turn)
        if not turns or leg.turn is LegTurn.SHORTER or leg.heading is not None or not is_known:
            expected = "a side, no heading, and ends_on altitude or a time setting where 'turns_on' is true"
            heading = "no heading" if leg.heading is None else "a heading"
            findings.add(leg.place, expected, f"turn {leg.turn}, {heading}, ends_on {leg.ends_on}")
    elif leg.intercepts is not None and leg.heading is not None:
        findings.add(leg.place, "one of 'heading' and 'intercepts'", "both")
    elif leg.heading is None and leg.intercepts is None and turns:
        findings.add(leg.place, "the key 'heading' where the leg begins with a turn", "none")
    if leg.arcs is not None and leg.tracks:
        findings.add(leg.place, "one of 'arcs' and 'tracks'", "both")


def _check_corrects(leg: LegSpec, legs: Sequence[LegSpec], findings: Findings) -> None:
    named = leg.corrects_for
    if named is None:
        return
    others = [other.leg for other in legs if other is not leg]
    if named.name not in others:
        hint = render_nearest(named.name, others)
        findings.add(named.place, f"the name of another leg of this list{hint}", quote(named.name))
    if leg.ends_on is not Ending.TIME:
        findings.add(named.place, "no 'corrects_for' where ends_on is not time", quote(named.name))


def _check_words(leg: LegSpec, fields: Mapping[str, Any], findings: Findings) -> None:
    """Words that mean something only beside other keys: a spoke's courses, the side of a lap."""
    for place, of in _references(leg):
        if "spoke" not in fields and of in OF_A_SPOKE:
            findings.add(place, "previous or the name of a course setting where there is no spoke", quote(of))
    used = leg.turn in SIDES or any(
        direction.turned is not None and direction.turned.side in SIDES
        for direction in (leg.heading, leg.twist)
        if isinstance(direction, HeadingSpec)
    )
    if used and "sides" not in (fields.get("settings") or {}):
        findings.add(leg.place, "the setting 'sides' (kind choice) where a leg names a side", "none")


def _references(leg: LegSpec) -> Iterator[tuple[Place, str]]:
    for direction in (leg.heading, leg.twist):
        named = direction.of if isinstance(direction, HeadingSpec) else direction
        if named is not None:
            yield named.place, named.name


def _check_leg_names(legs: Sequence[LegSpec], findings: Findings) -> None:
    seen: set[str] = set()
    for leg in legs:
        if leg.leg in seen:
            findings.add(leg.place, "each leg's name once", quote(leg.leg))
        seen.add(leg.leg)
