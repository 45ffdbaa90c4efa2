"""`coach logbook`: lines for the pilot's logbook, and which of them count within six calendar months.

Never fills in what only the pilot knows: conditions, instrument time, safety pilot. The pilot's own logbook
comes first.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from datetime import date
from typing import TypeVar

from coach.cli.debrief import find_debrief
from coach.cli.output import line, print_json, table
from coach.cli.station_shown import today
from coach.debrief.logbook import (
    OPTIONS,
    Conditions,
    LogEntry,
    Standing,
    Task,
    check_entry,
    encode_entry,
    find_standing,
    render_standing,
    tasks_of,
)
from coach.drill.findings import quote
from coach.errors import Problem, SettingsError
from coach.store.database import database_path
from coach.store.logbook import add_entry, delete_entry, read_entries

HEAD = ("n", "date", "place", "aircraft", "conditions", "tasks", "sim", "actual", "safety pilot")
FIELDS = (*OPTIONS, "conditions", "day", "task", "approach", "night")
"""The options that belong to --add."""

TASKS = {"tracking": Task.TRACKING, "holding": Task.HOLDING}
"""What --task may say."""

NO_TASKS: tuple[Task, ...] = ()

Value = TypeVar("Value")


def run(options: argparse.Namespace) -> int:
    """Add a line, delete one, or list them."""
    if options.delete is not None:
        return _delete(options.delete, is_json=options.json)
    if options.add is not None:
        return _add(options)
    given = next((name for name in FIELDS if getattr(options, name)), None)
    if given is not None:
        option = OPTIONS.get(given, f"--{'date' if given == 'day' else given}")
        raise SettingsError(Problem(where=option, expected="--add with it", got="none"))
    return _list(options)


def _add(options: argparse.Namespace) -> int:
    """Add a line, from a session where one is named."""
    entry = parse_entry(options, *_flown(options.add))
    problems = check_entry(entry)
    if problems:
        raise SettingsError(*problems)
    number = add_entry(database_path(), entry)
    standing = find_standing([kept for _, kept in read_entries(database_path())], today())
    if options.json:
        print_json({"n": number, "entry": encode_entry(entry), "standing": encode_standing(standing)})
        return 0
    line(f"Line {number} is in the logbook on this machine. Enter it in your own logbook too.")
    for sentence in render_standing(standing):
        line(sentence)
    return 0


def _flown(session: str) -> tuple[date | None, tuple[Task, ...], str | None]:
    """When a session was flown, what was performed in it, and its name; nothing without one."""
    if not session:
        return None, (), None
    options = argparse.Namespace(session=session, track=None, station=None, drill=None)
    debrief, found = find_debrief(options)
    assert found is not None
    if found.is_rehearsed:
        raise SettingsError(Problem(where="--add", expected="a session that you flew", got="a rehearsal"))
    return debrief.began_utc.date(), tasks_of(debrief), found.path.stem


def parse_entry(
    options: argparse.Namespace, day: date | None, tasks: tuple[Task, ...], session: str | None
) -> LogEntry:
    """The line that the options make. `SettingsError` with one line for each that is missing or wrong."""
    problems: list[Problem | str] = []

    def read(parse: Callable[[], Value], otherwise: Value) -> Value:
        try:
            return parse()
        except SettingsError as error:
            problems.extend(error.problems)
            return otherwise

    flown = read(lambda: _parse_day("--date", options.day, day), today())
    conditions = read(lambda: _parse_conditions(options.conditions), Conditions.HOME)
    asked = read(lambda: _parse_tasks(options.task), NO_TASKS)
    hours = {
        name: read(lambda name=name: _parse_hours(name, getattr(options, name)), None)  # type: ignore[misc]
        for name in ("total_h", "actual_h", "simulated_h")
    }
    for name, what in (("place", "departure and arrival"), ("aircraft", "type and identification")):
        if getattr(options, name) is None:
            problems.append(Problem(where=OPTIONS[name], expected=f"{what} (14 CFR 61.51(b)(1))", got="none"))
    if not (tasks or options.task):
        expected = "what was performed (tracking, holding), or a session in which it was"
        problems.append(Problem(where="--task", expected=expected, got="none"))
    if problems:
        raise SettingsError(*problems)
    return LogEntry(
        day=flown,
        place=options.place,
        aircraft=options.aircraft,
        conditions=conditions,
        tasks=tuple(dict.fromkeys((*tasks, *asked))),
        safety_pilot=options.safety_pilot,
        is_night=options.night,
        approaches=tuple(options.approach),
        remarks=options.remarks or "",
        session=session,
        **hours,
    )


def _parse_day(where: str, text: str | None, otherwise: date | None) -> date:
    try:
        day = otherwise if text is None else date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day > today():
        expected = f"a day such as {today().isoformat()}, not in the future (UTC)"
        raise SettingsError(Problem(where=where, expected=expected, got=quote(text) if text else "none"))
    return day


def _parse_conditions(text: str | None) -> Conditions:
    found = next((one for one in Conditions if one.value == text), None)
    if found is None:
        expected = f"one of {', '.join(Conditions)}, as it was"
        got = "none" if text is None else quote(text)
        raise SettingsError(Problem(where="--conditions", expected=expected, got=got))
    return found


def _parse_tasks(texts: Sequence[str]) -> tuple[Task, ...]:
    unknown = next((text for text in texts if text not in TASKS), None)
    if unknown is not None:
        raise SettingsError(Problem(where="--task", expected=" or ".join(TASKS), got=quote(unknown)))
    return tuple(TASKS[text] for text in texts)


def _parse_hours(name: str, text: str | None) -> float | None:
    if text is None:
        return None
    try:
        return float(text)
    except ValueError:
        problem = Problem(where=OPTIONS[name], expected="hours such as 0.7", got=quote(text))
        raise SettingsError(problem) from None


def _list(options: argparse.Namespace) -> int:
    """The lines, and which count on a day (today)."""
    day = today() if options.on is None else _parse_on(options.on)
    entries = read_entries(database_path())
    standing = find_standing([entry for _, entry in entries], day)
    if options.json:
        lines = [{"n": n, **encode_entry(entry)} for n, entry in entries]
        print_json({"entries": lines, "standing": encode_standing(standing)})
        return 0
    if entries:
        table(HEAD, [_row(n, entry) for n, entry in entries])
        line()
    for sentence in render_standing(standing):
        line(sentence)
    for entry, why in standing.not_counted:
        line(f"- not counted: {entry.day.isoformat()}, {entry.place}: {why}")
    return 0


def _parse_on(text: str) -> date:
    """A day in the future too: until when what is there counts."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        expected = f"a day such as {today().isoformat()}"
        raise SettingsError(Problem(where="--on", expected=expected, got=quote(text))) from None


def _row(n: int, entry: LogEntry) -> tuple[str, ...]:
    return (
        str(n),
        entry.day.isoformat(),
        entry.place,
        entry.aircraft,
        f"{entry.conditions.value}{', night' if entry.is_night else ''}",
        ", ".join(entry.tasks),
        _hours(entry.simulated_h),
        _hours(entry.actual_h),
        entry.safety_pilot or "",
    )


def _hours(hours: float | None) -> str:
    return "" if hours is None else f"{hours:.1f}"


def encode_standing(standing: Standing) -> dict[str, object]:
    """Return where the pilot stands as JSON values."""
    return {
        "task": standing.task.value,
        "day": standing.day.isoformat(),
        "opens": standing.opens.isoformat(),
        "counted": len(standing.counted),
        "through": None if standing.through is None else standing.through.isoformat(),
        "not_counted": [
            {"day": entry.day.isoformat(), "place": entry.place, "why": why}
            for entry, why in standing.not_counted
        ],
        "told": list(render_standing(standing)),
    }


def _delete(number: int, *, is_json: bool) -> int:
    if not delete_entry(database_path(), number):
        expected = "the number of a line, as `coach logbook` shows it"
        raise SettingsError(Problem(where="--delete", expected=expected, got=f"{number}"))
    if is_json:
        print_json({"deleted": number})
    else:
        line(f"Line {number} is deleted.")
    return 0
