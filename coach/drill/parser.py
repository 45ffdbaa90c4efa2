"""A drill file's tree to a `DrillSpec`, every problem at once.

Never gives a setting its value: that is `coach.drill.compiler`.
"""

from __future__ import annotations

from dataclasses import replace

from coach.drill.conversion import read_fields
from coach.drill.findings import Findings, place_of, quote
from coach.drill.language import DRILL, DrillSpec, LegSpec, SettingSpec, StationSpec
from coach.drill.model import Ending
from coach.drill.settle import check_name, check_setting
from coach.drill.source import Place, Source
from coach.drill.values import LegTurn
from coach.errors import DrillError
from coach.nav.frequency import find_frequency_fault
from coach.nav.navaid import is_ident

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
    findings = Findings.of_source(source, DrillError)
    fields = read_fields(source.root, "", DRILL, findings)
    settings = _present(fields.get("settings"))
    place = place_of(source.root, "")
    for setting in settings.values():
        check_setting(setting, settings, findings)
    if fields.get("settings") is not None:
        _check_required_settings(fields["settings"], place, findings)
        _check_names(fields["settings"], findings)
    _check_legs(fields.get("spoke"), findings)
    _check_station(fields.get("station"), findings)
    findings.raise_any()
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


def _check_names(settings: dict[str, SettingSpec | None], findings: Findings) -> None:
    """Every name used must be a setting of the right kind; one that is wrong itself is told elsewhere."""
    present = _present(settings)
    for kind, named in findings.names:
        if named.name in present or named.name not in settings:
            check_name(named, present, kind, findings)


def _check_legs(spoke: tuple[LegSpec | None, ...] | None, findings: Findings) -> None:
    legs = [leg for leg in spoke or () if leg is not None]
    for leg in legs:
        _check_leg(leg, findings)
    _check_leg_names(legs, findings)
    last = spoke[-1] if spoke else None
    if last is not None and last.ends_on is not Ending.PASSAGE:
        findings.add(last.place, "the last leg of a spoke to end on passage", quote(last.ends_on))


def _check_leg(leg: LegSpec, findings: Findings) -> None:
    if leg.lasts is None and leg.ends_on is Ending.TIME:
        findings.add(leg.place, "the key 'lasts' where ends_on is time", "none")
    if leg.lasts is not None and leg.ends_on is not Ending.TIME:
        findings.add(leg.lasts.place, "no 'lasts' where ends_on is not time", quote(leg.lasts.name))
    if leg.heading is None and leg.turn is not LegTurn.NONE:
        findings.add(leg.place, "the key 'heading' where the leg begins with a turn", "none")


def _check_station(station: StationSpec | None, findings: Findings) -> None:
    """What the rules of radio ask of a station beside the limits of each number."""
    if station is None:
        return
    if not is_ident(station.ident):
        place = replace(station.place, path="station.ident")
        findings.add(place, "1 to 4 letters and digits", quote(station.ident))
    frequency_khz = round(station.frequency_mhz * 1000.0, 3)
    expected = find_frequency_fault(frequency_khz)
    if expected is not None:
        place = replace(station.place, path="station.frequency_mhz")
        findings.add(place, expected, f"{frequency_khz:.10g} kHz")


def _check_leg_names(legs: list[LegSpec], findings: Findings) -> None:
    seen: set[str] = set()
    for leg in legs:
        if leg.leg in seen:
            findings.add(leg.place, "each leg's name once", quote(leg.leg))
        seen.add(leg.leg)
