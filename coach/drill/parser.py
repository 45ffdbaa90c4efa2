"""A drill file's tree to a `DrillSpec`, every problem at once.

Never gives a setting its value: that is `coach.drill.compiler`.
"""

from __future__ import annotations

from dataclasses import replace

from coach.drill.conversion import read_fields
from coach.drill.findings import Findings, place_of, quote
from coach.drill.language import DRILL
from coach.drill.leg_rules import LEG, check_legs
from coach.drill.roles import check_roles
from coach.drill.settle import check_name, check_setting
from coach.drill.source import Source
from coach.drill.specs import DrillSpec, SettingSpec, StationSpec
from coach.errors import DrillError
from coach.nav.frequency import find_frequency_fault
from coach.nav.navaid import is_ident


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
        check_roles(fields, place, findings)
        _check_names(fields["settings"], findings)
    check_legs(fields, place, findings)
    _check_station(fields.get("station"), findings)
    findings.raise_any()
    return DrillSpec(place=place, **{key: value for key, value in fields.items() if value is not None})


def _present(settings: dict[str, SettingSpec | None] | None) -> dict[str, SettingSpec]:
    return {name: setting for name, setting in (settings or {}).items() if setting is not None}


def _check_names(settings: dict[str, SettingSpec | None], findings: Findings) -> None:
    """Every name used must be a setting of the right kind; one that is wrong itself is told elsewhere."""
    present = _present(settings)
    for wanted in findings.names:
        name = wanted.named.name
        if wanted.kind != LEG and (name in present or name not in settings):
            check_name(wanted, present, findings)


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
