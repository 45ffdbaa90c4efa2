"""A drill file's tree to a `DrillSpec`, every problem at once.

Never gives a setting its value: that is `coach.drill.compiler`.
"""

from __future__ import annotations

from typing import Any

from coach.drill.forms import Findings, Place, place_of, quote, read_fields
from coach.drill.language import DRILL, DrillSpec, LegSpec, SettingSpec
from coach.drill.model import Ending
from coach.drill.settle import check_name, check_setting
from coach.drill.source import Source
from coach.drill.values import LegTurn
from coach.errors import DrillError

REQUIRED_SETTINGS = {
    "first_outbound": "course",
    "arrive_course": "course",
    "spokes": "count",
    "rotation": "turn",
    "sides": "choice",
    "timer_from": "choice",
}
"""The settings that lay out spokes, and the kind each must have."""

REQUIRED_CHOICES = {"sides": ("alternate", "left", "right"), "timer_from": ("turn", "level")}
"""What the words of those two can be; a drill may offer fewer."""

MOST_SPOKES = 16


def parse_drill(source: Source) -> DrillSpec:
    """The drill file as understood.

    Raises `DrillError` with every problem of the file.
    """
    findings = Findings(file=source.file)
    fields = read_fields(source.root, "", DRILL, findings)
    settings = _present(fields.get("settings"))
    place = place_of(source.root, "")
    for setting in settings.values():
        check_setting(setting, settings, findings)
    if fields.get("settings") is not None:
        _check_required_settings(fields["settings"], place, findings)
    _check_legs(fields, settings, findings)
    _check_five_ts(fields.get("five_ts"), place, findings)
    findings.raise_any(DrillError)
    return DrillSpec(place=place, **fields)


def _present(settings: dict[str, SettingSpec | None] | None) -> dict[str, SettingSpec]:
    return {name: setting for name, setting in (settings or {}).items() if setting is not None}


def _check_required_settings(
    settings: dict[str, SettingSpec | None], place: Place, findings: Findings
) -> None:
    for name, kind in REQUIRED_SETTINGS.items():
        if name not in settings:
            missing = Place(path=f"settings.{name}", line=place.line, column=place.column)
            findings.add(missing, f"the setting {name!r} (kind {kind})", "none")
            continue
        setting = settings[name]
        if setting is not None:
            _check_role(name, kind, setting, findings)


def _check_role(name: str, kind: str, setting: SettingSpec, findings: Findings) -> None:
    if setting.kind != kind:
        return findings.add(setting.place, f"kind {kind} for {name!r}", quote(setting.kind))
    offered = REQUIRED_CHOICES.get(name, setting.choices)
    for word in setting.choices:
        if word not in offered:
            findings.add(setting.place, f"choices out of {', '.join(offered)}", quote(word))
    if name == "spokes" and (setting.range is None or setting.range[1] > MOST_SPOKES):
        highest = "no range" if setting.range is None else f"{setting.range[1]:g}"
        findings.add(setting.place, f"a range up to {MOST_SPOKES} spokes at most", highest)
    return None


def _check_legs(fields: dict[str, Any], settings: dict[str, SettingSpec], findings: Findings) -> None:
    spoke = fields.get("spoke")
    if spoke is None:
        return
    legs = [leg for leg in spoke if leg is not None]
    known = fields.get("settings") or {}
    for leg in legs:
        _check_leg(leg, settings, known, findings)
    _check_leg_names(legs, findings)
    if spoke[-1] is not None and spoke[-1].ends_on is not Ending.PASSAGE:
        expected = "the last leg of a spoke to end on passage"
        findings.add(spoke[-1].place, expected, quote(spoke[-1].ends_on))


def _check_leg(
    leg: LegSpec, settings: dict[str, SettingSpec], known: dict[str, Any], findings: Findings
) -> None:
    if leg.lasts is None:
        if leg.ends_on is Ending.TIME:
            findings.add(leg.place, "the key 'lasts' where ends_on is time", "none")
    elif leg.ends_on is not Ending.TIME:
        findings.add(leg.lasts.place, "no 'lasts' where ends_on is not time", quote(leg.lasts.name))
    elif leg.lasts.name in settings or leg.lasts.name not in known:
        check_name(leg.lasts, settings, "time", findings)
    if leg.heading is None and leg.turn is not LegTurn.NONE:
        findings.add(leg.place, "the key 'heading' where the leg begins with a turn", "none")


def _check_leg_names(legs: list[LegSpec], findings: Findings) -> None:
    seen: set[str] = set()
    for leg in legs:
        if leg.leg in seen:
            findings.add(leg.place, "each leg's name once", quote(leg.leg))
        seen.add(leg.leg)


def _check_five_ts(five_ts: tuple[Any, ...] | None, place: Place, findings: Findings) -> None:
    if five_ts is not None and None not in five_ts and len(set(five_ts)) < len(five_ts):
        where = Place(path="five_ts", line=place.line, column=place.column)
        findings.add(where, "each of the five Ts once", ", ".join(five_ts))
