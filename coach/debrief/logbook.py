"""The line for a pilot's logbook, and which lines count toward 14 CFR 61.57(c) on a day.

Never tells anybody that he may fly: only which entries lie within the six calendar months and were flown in
conditions that count. Never makes instrument time out of a drill's minutes: the pilot says it, or there is
none (61.51(g)(1)).
"""

from __future__ import annotations

import calendar
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date
from enum import StrEnum
from math import isfinite

from coach.debrief.model import Debrief
from coach.errors import Problem

MONTHS = 6
"""Preceding calendar months (61.57(c)(1))."""

LONGEST_TEXT = 200
MOST_HOURS = 24.0


class Conditions(StrEnum):
    """In what the tasks were performed."""

    VISUAL = "visual"
    """In an aircraft, eyes outside."""

    ACTUAL = "actual"
    """In an aircraft, actual instrument conditions."""

    VIEW_LIMITED = "view-limited"
    """In an aircraft, under a view-limiting device."""

    FFS = "ffs"
    """A full flight simulator, approved, representing the category of aircraft."""

    FTD = "ftd"
    """A flight training device, approved, the same."""

    ATD = "atd"
    """An aviation training device, approved, the same."""

    HOME = "home"
    """A simulator that nobody approved."""


COUNTING = (Conditions.ACTUAL, Conditions.VIEW_LIMITED, Conditions.FFS, Conditions.FTD, Conditions.ATD)
"""In what practice counts (61.57(c)(1) and (2))."""

SIMULATED = (Conditions.VIEW_LIMITED, Conditions.FFS, Conditions.FTD, Conditions.ATD)
"""In what there can be simulated instrument time."""

WHY_NOT = {
    Conditions.VISUAL: "eyes outside: neither actual conditions nor a view-limiting device",
    Conditions.HOME: "a simulator that is not approved counts for nothing",
}


class Task(StrEnum):
    """What was performed, in the words of 61.57(c)(1)."""

    TRACKING = "intercepting and tracking"
    HOLDING = "holding"


@dataclass(frozen=True, slots=True, kw_only=True)
class LogEntry:
    """One line: what 61.51(b) and 61.57(c) ask for, as far as a drill has to do with it."""

    day: date
    place: str
    """Departure and arrival; for a device where it stands."""

    aircraft: str
    """Type and identification; for a device its type."""

    conditions: Conditions
    tasks: tuple[Task, ...]
    safety_pilot: str | None = None
    """Required with a view-limiting device in an aircraft (91.109(c), 61.51(b)(1))."""

    total_h: float | None = None
    """Of the whole flight or lesson, hours."""

    actual_h: float | None = None
    """Actual instrument time, as the pilot says."""

    simulated_h: float | None = None
    """Simulated instrument time, as the pilot says."""

    is_night: bool = False
    approaches: tuple[str, ...] = ()
    """Location and type of each (61.51(g)(3))."""

    remarks: str = ""
    session: str | None = None
    """The journal it was taken from."""


OPTIONS = {
    "place": "--place",
    "aircraft": "--aircraft",
    "safety_pilot": "--safety-pilot",
    "total_h": "--total",
    "actual_h": "--actual",
    "simulated_h": "--simulated",
    "remarks": "--remarks",
}
"""How each field is asked for."""


def check_entry(entry: LogEntry) -> tuple[Problem, ...]:
    """Return what is wrong with an entry; nothing where it may be kept."""
    return (*_check_texts(entry), *_check_hours(entry), *_check_conditions(entry))


def _check_texts(entry: LogEntry) -> Iterator[Problem]:
    for name in ("place", "aircraft", "safety_pilot", "remarks"):
        text = getattr(entry, name)
        is_needed = name in ("place", "aircraft")
        if text is None or (not text and not is_needed):
            continue
        if not text.strip() or not text.isprintable() or len(text) > LONGEST_TEXT:
            expected = f"1 to {LONGEST_TEXT} characters on one line"
            yield Problem(where=OPTIONS[name], expected=expected, got=repr(text[:40]))


def _check_hours(entry: LogEntry) -> Iterator[Problem]:
    hours = {name: getattr(entry, name) for name in ("total_h", "actual_h", "simulated_h")}
    for name, value in hours.items():
        if value is not None and not (isfinite(value) and 0.0 <= value <= MOST_HOURS):
            yield Problem(where=OPTIONS[name], expected=f"hours, 0 to {MOST_HOURS:g}", got=f"{value:g}")
    total_h, instrument_h = hours["total_h"], (entry.actual_h or 0.0) + (entry.simulated_h or 0.0)
    if total_h is not None and instrument_h > total_h + 1e-9:
        expected = f"no more instrument time than {total_h:g} h in all"
        yield Problem(where="--total", expected=expected, got=f"{instrument_h:g}")


def _check_conditions(entry: LogEntry) -> Iterator[Problem]:
    conditions = entry.conditions
    if conditions is Conditions.VIEW_LIMITED and not entry.safety_pilot:
        expected = "the safety pilot's name with a view-limiting device (14 CFR 91.109(c), 61.51(b)(1))"
        yield Problem(where="--safety-pilot", expected=expected, got="none")
    if entry.actual_h and conditions is not Conditions.ACTUAL:
        expected = "actual instrument time in actual conditions only (14 CFR 61.51(g)(1))"
        yield Problem(where="--actual", expected=expected, got=conditions)
    if entry.simulated_h and conditions not in (*SIMULATED, Conditions.ACTUAL):
        expected = "simulated instrument time under a view-limiting device or in an approved device only"
        yield Problem(where="--simulated", expected=f"{expected} (61.51(g)(1))", got=conditions)


def tasks_of(debrief: Debrief) -> tuple[Task, ...]:
    """Return what a session performed: legs that tracked a course, and a holding pattern, that were flown."""
    flown = [leg for leg in debrief.legs if leg.how in ("flown", "repeated") and leg.ended_s is not None]
    tasks = []
    if any(leg.leg.tracks for leg in flown):
        tasks.append(Task.TRACKING)
    if flown and debrief.plan is not None and debrief.plan.drill.entry is not None:
        tasks.append(Task.HOLDING)
    return tuple(tasks)


def window_opens(day: date) -> date:
    """Return the first day whose tasks count on a day: 1 March on any day of September (61.57(c)(1))."""
    months = day.year * 12 + day.month - 1 - MONTHS
    return date(months // 12, months % 12 + 1, 1)


def counts_through(day: date) -> date:
    """Return the last day on which a task of `day` counts: the end of the sixth month after its own."""
    months = day.year * 12 + day.month - 1 + MONTHS
    year, month = months // 12, months % 12 + 1
    return date(year, month, calendar.monthrange(year, month)[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Which entries count toward one task on a day."""

    task: Task
    day: date
    opens: date
    counted: tuple[LogEntry, ...]
    """The oldest first."""

    not_counted: tuple[tuple[LogEntry, str], ...]
    """Entries of the task that do not, each with why."""

    @property
    def through(self) -> date | None:
        """Until when the latest of them counts; None: none counts."""
        return counts_through(self.counted[-1].day) if self.counted else None


def find_standing(entries: Sequence[LogEntry], day: date, task: Task = Task.TRACKING) -> Standing:
    """Return which entries count toward a task on a day, and why the others do not."""
    opens = window_opens(day)
    counted, others = [], []
    for entry in sorted(entries, key=lambda entry: entry.day):
        if task not in entry.tasks:
            continue
        why = _why_not(entry, opens, day)
        if why is None:
            counted.append(entry)
        else:
            others.append((entry, why))
    return Standing(task=task, day=day, opens=opens, counted=tuple(counted), not_counted=tuple(others))


def _why_not(entry: LogEntry, opens: date, day: date) -> str | None:
    if entry.conditions not in COUNTING:
        return WHY_NOT[entry.conditions]
    if entry.day > day:
        return f"after {day.isoformat()}"
    return f"before {opens.isoformat()}" if entry.day < opens else None


CAVEAT = "Check with your instructor and the rule in force."


def render_standing(standing: Standing) -> tuple[str, ...]:
    """Return where the pilot stands, in sentences that leave the judgement to him and his instructor."""
    count = len(standing.counted)
    counted = f"{count or 'none'} count{'s' if count == 1 else ''}"
    until = "" if standing.through is None else f", the latest through {standing.through.isoformat()}"
    return (
        f"{standing.task.value.capitalize()} (14 CFR 61.57(c)): of the entries since "
        f"{standing.opens.isoformat()} {counted} on {standing.day.isoformat()}{until}. {CAVEAT}",
        "Counted are entries in actual conditions, under a view-limiting device, or in an approved FFS, FTD "
        "or ATD of the right category. That tasks earlier in the present month count too is an "
        "interpretation, from memory.",
        "Not looked at here: the six approaches and whatever else the rule asks for. Where the experience "
        "has been lacking for more than six calendar months, 61.57(d)(1) asks for an instrument proficiency "
        "check.",
    )


def encode_entry(entry: LogEntry) -> dict[str, object]:
    """Return an entry as JSON values."""
    values = {field.name: getattr(entry, field.name) for field in fields(entry)}
    return values | {
        "day": entry.day.isoformat(),
        "conditions": entry.conditions.value,
        "tasks": [task.value for task in entry.tasks],
        "approaches": list(entry.approaches),
    }


def decode_entry(values: Mapping[str, object]) -> LogEntry:
    """Return the entry of JSON values. ValueError, KeyError or TypeError where they are none."""
    tasks, approaches = values["tasks"], values["approaches"]
    if not isinstance(tasks, list) or not isinstance(approaches, list):
        raise TypeError("tasks and approaches are lists")
    known = {
        field.name: values[field.name]
        for field in fields(LogEntry)
        if field.name not in ("day", "conditions", "tasks", "approaches")
    }
    return LogEntry(
        day=date.fromisoformat(str(values["day"])),
        conditions=Conditions(str(values["conditions"])),
        tasks=tuple(Task(task) for task in tasks),
        approaches=tuple(map(str, approaches)),
        **known,  # type: ignore[arg-type]
    )
