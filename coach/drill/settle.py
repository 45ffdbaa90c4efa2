"""Checks a drill's settings and gives each its value: the pilot's, else the default.

Never lays out a leg: that is `coach.drill.compiler`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from coach.drill.conversion import read_value
from coach.drill.findings import Findings, Wanted, quote, render_any, render_nearest
from coach.drill.forms import Form
from coach.drill.source import Place, ScalarNode
from coach.drill.specs import DerivedSpec, DrillSpec, SettingSpec
from coach.drill.values import KINDS, Turned, signed_deg
from coach.errors import DrillError
from coach.nav.angles import as_heading

COMMAND_LINE = "--set"


def check_setting(setting: SettingSpec, settings: Mapping[str, SettingSpec], findings: Findings) -> None:
    """Note what is wrong with one setting: unit, range, choices, default."""
    before = len(findings.found)
    _check_unit(setting, findings)
    _check_range(setting, findings)
    _check_choices(setting, findings)
    if (setting.default is None) == (setting.default_from is None):
        got = "neither" if setting.default is None else "both"
        findings.add(setting.place, "one of 'default' and 'default_from'", got)
    if len(findings.found) > before:
        return
    if setting.default is not None:
        _read(setting.default.name, setting.default.place, setting, findings)
    if setting.default_from is not None:
        _check_derived(setting, setting.default_from, settings, findings)


def _check_unit(setting: SettingSpec, findings: Findings) -> None:
    unit = KINDS[setting.kind].unit
    if setting.unit is not None and setting.unit != unit:
        expected = f"unit {unit!r}" if unit else f"no unit for kind {setting.kind}"
        findings.add(setting.place, expected, quote(setting.unit))


def _check_range(setting: SettingSpec, findings: Findings) -> None:
    if setting.range is None:
        return
    kind = KINDS[setting.kind]
    low, high = setting.range
    if kind.low == kind.high:
        findings.add(setting.place, f"no range for kind {setting.kind}", f"{low:g} to {high:g}")
    elif not kind.low <= low <= high <= kind.high:
        expected = f"a range within {kind.low:g} to {kind.high:g}, the lowest first"
        findings.add(setting.place, expected, f"{low:g} to {high:g}")


def _check_choices(setting: SettingSpec, findings: Findings) -> None:
    if setting.kind == "choice" and not setting.choices:
        findings.add(setting.place, "the key 'choices' for kind choice", "none")
    if setting.kind != "choice" and setting.choices:
        findings.add(setting.place, f"no choices for kind {setting.kind}", ", ".join(setting.choices))


def _check_derived(
    setting: SettingSpec, derived: DerivedSpec, settings: Mapping[str, SettingSpec], findings: Findings
) -> None:
    if setting.kind != "course":
        findings.add(setting.place, "kind course where 'default_from' is given", quote(setting.kind))
    course = settings.get(derived.course.name)
    if course is not None and course.default_from is not None:
        expected = "a setting with a default of its own"
        findings.add(derived.course.place, expected, quote(derived.course.name))


def check_name(wanted: Wanted, settings: Mapping[str, SettingSpec], findings: Findings) -> None:
    """Note it where a name is no setting of the kind that is wanted."""
    named, kind = wanted.named, wanted.kind
    found = settings.get(named.name)
    if found is not None and found.kind == kind:
        return
    fitting = [name for name, setting in settings.items() if setting.kind == kind]
    near = render_nearest(named.name, [*wanted.also, *fitting])
    hint = near or f" ({', '.join(fitting) or 'there is none'})"
    expected = render_any([*wanted.also, f"the name of {_article(kind)} {kind} setting{hint}"])
    findings.add(named.place, expected, quote(named.name))


def _article(word: str) -> str:
    return "an" if word[0] in "aeiou" else "a"


def settle_values(spec: DrillSpec, given: Mapping[str, str]) -> dict[str, Any]:
    """Each setting's value in file order: the given text converted, else the default.

    Raises `DrillError` with every problem of the given values.
    """
    findings = Findings(file=COMMAND_LINE, error=DrillError)
    _check_known(given, spec.settings, findings)
    values: dict[str, Any] = {}
    for name, setting in spec.settings.items():
        text = given.get(name, setting.default.name if setting.default else None)
        values[name] = None if text is None else _read(text, _given_place(name), setting, findings)
    findings.raise_any()
    return {
        name: _derive(values, spec.settings[name]) if value is None else value
        for name, value in values.items()
    }


def _check_known(given: Mapping[str, str], settings: Iterable[str], findings: Findings) -> None:
    valid = list(settings)
    for name in given:
        if name not in valid:
            hint = render_nearest(name, valid) or f" ({', '.join(valid)})"
            findings.add(_given_place(""), f"a setting of this drill{hint}", quote(name))


def _given_place(name: str) -> Place:
    return Place(path=name, line=0, column=0)


def _form(setting: SettingSpec) -> Form:
    kind = KINDS[setting.kind]
    low, high = setting.range or (kind.low, kind.high)
    return kind.form(low, high, setting.choices)


def _read(text: str, place: Place, setting: SettingSpec, findings: Findings) -> Any:
    node = ScalarNode(text=text.strip(), line=place.line, column=place.column)
    return read_value(node, place.path, _form(setting), findings)


def _derive(values: Mapping[str, Any], setting: SettingSpec) -> int:
    assert setting.default_from is not None
    course: int = values[setting.default_from.course.name]
    turned: Turned = values[setting.default_from.turned_back.name]
    return as_heading(course - signed_deg(turned))


def render_values(spec: DrillSpec, values: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """Each setting and its value as text that reads back the same, in file order."""
    return tuple((name, KINDS[spec.settings[name].kind].render(value)) for name, value in values.items())
