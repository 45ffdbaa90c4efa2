"""The settings that have a part to play by their name, and what a drill without them must say instead.

Never gives a setting its value: that is `coach.drill.settle`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from coach.drill.findings import Findings, quote
from coach.drill.source import Place
from coach.drill.specs import SettingSpec

ROLES = {
    "first_outbound": "course",
    "arrive_course": "course",
    "spokes": "count",
    "rotation": "turn",
    "sides": "choice",
    "timer_from": "choice",
}
"""The settings that lay out spokes, and the kind each must have. A drill of `legs` needs none of them."""

CHOICES = {"sides": ("alternate", "left", "right"), "timer_from": ("turn", "level")}
"""What the words of those two can be; a drill may offer fewer."""

MOST_SPOKES = 16


def check_roles(fields: Mapping[str, Any], place: Place, findings: Findings) -> None:
    """Note each setting that is missing or cannot play its part; `fields` are the drill's, as read."""
    settings: Mapping[str, SettingSpec | None] = fields["settings"]
    for name, kind in ROLES.items():
        setting = settings.get(name)
        if setting is not None:
            _check_role(name, kind, setting, findings)
        elif name not in settings and "spoke" in fields:
            missing = Place(path=f"settings.{name}", line=place.line, column=place.column)
            findings.add(missing, f"the setting {name!r} (kind {kind})", "none")
    if "begins" not in fields and "spoke" not in fields and "arrive_course" not in settings:
        expected = "the key 'begins', or the setting 'arrive_course' (kind course)"
        findings.add(Place(path="begins", line=place.line, column=place.column), expected, "none")


def _check_role(name: str, kind: str, setting: SettingSpec, findings: Findings) -> None:
    if setting.kind != kind:
        return findings.add(setting.place, f"kind {kind} for {name!r}", quote(setting.kind))
    offered = CHOICES.get(name, setting.choices)
    for word in setting.choices:
        if word not in offered:
            findings.add(setting.place, f"choices out of {', '.join(offered)}", quote(word))
    if name == "spokes" and (setting.range is None or setting.range[1] > MOST_SPOKES):
        highest = "no range" if setting.range is None else f"{setting.range[1]:g}"
        findings.add(setting.place, f"a range up to {MOST_SPOKES} spokes at most", highest)
    return None
