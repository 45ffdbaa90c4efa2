"""A flight as lines of text: what happened and what the coach wanted done, exactly and in order.

One JSON object a line. The first line is the header; then each event, followed by the actions it led
to. Handled again, the events give the same actions: a journal is the flight. Never touches a file and
never asks the time: `coach.store.journals` keeps the lines.

The fields of a line are the fields of its class, so a new event or action needs nothing here. A field
that a later coach adds needs a default; anything else needs a new `VERSION` and a way to read the old.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from coach.errors import JournalError, Problem
from coach.session.actions import ACTIONS, Action
from coach.session.events import EVENTS, Event
from coach.session.fields import decode_fields, encode_fields, in_short, nearest_of, problem_at

VERSION = 1
"""The version of the lines this coach writes."""

READABLE_VERSIONS = (1,)
"""The versions this coach reads."""

MAX_LINE_CHARACTERS = 65_536
"""No line of a flight comes near it (ours stay below 1,000); a longer one is not ours."""

MAX_PROBLEMS = 10
"""A broken file is told in ten lines, not in ten thousand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What a flight was flown with: the first line of its journal."""

    version: int
    """The version of the lines, from 1."""

    drill: str
    """The drill's name."""

    drill_settings: tuple[tuple[str, str], ...]
    """Each setting of the drill and its value, as text, in file order."""

    began_utc: datetime
    """The wall clock when the session clock was 0; aware, UTC."""

    coach_version: str
    session_settings: tuple[tuple[str, str], ...] = ()
    """What else the session was set up with (amount of talk, wind, …), as text: a replay needs it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Late:
    """An event's actions were taken before its line was written: the disk was slow."""

    event_n: int
    """Which event of the journal, counted from 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """The journal was closed in good order; without it the flight was broken off."""


Mark = Late | Closed
Line = Header | Event | Action | Mark

MARKS: tuple[type[Mark], ...] = (Late, Closed)
"""What the writer notes about the writing itself; no part of the flight."""

Step = tuple[Event, tuple[Action, ...]]
"""An event and the actions it led to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Journal:
    """A flight as it was written down."""

    header: Header
    steps: tuple[Step, ...]
    """In order. Of a flight broken off, the last step may lack actions at its end."""

    late: tuple[int, ...]
    """The numbers of the events (from 1) that were acted on before they were written."""

    is_closed: bool
    """False: the flight was broken off (power, crash), or is still being flown."""


_CLASSES: dict[str, type[Line]] = {cls.__name__: cls for cls in (Header, *EVENTS, *ACTIONS, *MARKS)}


def encode_line(line: Line) -> str:
    """One line of ASCII JSON without its line end. Floats come back exactly."""
    return json.dumps({"line": type(line).__name__} | encode_fields(line), separators=(",", ":"))


def decode_line(text: str, *, where: str = "line") -> Line:
    """One line back to what it was; `where` names it in an error.

    Raises JournalError for anything `encode_line` does not write: broken JSON, unknown classes and
    fields, missing fields, values of the wrong type, a header of another version.
    """
    values = _parse_object(text, where)
    name = values.pop("line", None)
    if not isinstance(name, str):
        raise problem_at(where, "a line of a journal", in_short(text))
    if name not in _CLASSES:
        raise problem_at(where, f"a known line{nearest_of(name, _CLASSES)}", in_short(name))
    if name == Header.__name__:
        _check_version(values.get("version"), where)
    return decode_fields(_CLASSES[name], values, where)


def split_lines(content: bytes) -> tuple[tuple[str, ...], int]:
    """The lines of a journal's bytes, and how many bytes of a torn last line were left off.

    A writer that is broken off leaves a line without its end, or zeros: neither is whole JSON.
    """
    *whole, last = content.removesuffix(b"\n").split(b"\n")
    if _is_whole(last):
        return tuple(map(_decode_bytes, (*whole, last))), 0
    return tuple(map(_decode_bytes, whole)), len(content) - sum(len(line) + 1 for line in whole)


def parse_journal(lines: Iterable[str], *, name: str = "journal") -> Journal:
    """The whole flight, for a replay; `name` is the file's name for errors.

    Raises JournalError with one line for each problem, the first `MAX_PROBLEMS` of them.
    """
    numbered = enumerate(lines, start=1)
    header = _parse_header(numbered, name)
    decoded = _decode_rest(numbered, name)
    return Journal(
        header=header,
        steps=_group_steps(decoded),
        late=tuple(line.event_n for _, line in decoded if isinstance(line, Late)),
        is_closed=bool(decoded) and isinstance(decoded[-1][1], Closed),
    )


def _parse_header(numbered: Iterator[tuple[int, str]], name: str) -> Header:
    n, text = next(numbered, (1, ""))
    header = decode_line(text, where=f"{name}:{n}") if text else None
    if not isinstance(header, Header):
        raise problem_at(f"{name}:{n}", "the header of a journal", in_short(text))
    return header


def _decode_rest(numbered: Iterator[tuple[int, str]], name: str) -> list[tuple[str, Line]]:
    decoded: list[tuple[str, Line]] = []
    problems: list[Problem | str] = []
    for n, text in numbered:
        try:
            decoded.append((f"{name}:{n}", decode_line(text, where=f"{name}:{n}")))
        except JournalError as error:
            problems.extend(error.problems)
        if len(problems) >= MAX_PROBLEMS:
            break
    if problems:
        raise JournalError(*problems)
    return decoded


def _group_steps(decoded: list[tuple[str, Line]]) -> tuple[Step, ...]:
    steps: list[tuple[Event, list[Action]]] = []
    for where, line in decoded:
        if isinstance(line, EVENTS):
            steps.append((line, []))
        elif isinstance(line, ACTIONS) and steps:
            steps[-1][1].append(line)
        elif not isinstance(line, MARKS):
            raise problem_at(where, "an event, an action or a mark", type(line).__name__)
    return tuple((event, tuple(actions)) for event, actions in steps)


def _decode_bytes(line: bytes) -> str:
    # What is not ASCII is not ours, and a backslash with an x is no JSON: it fails where it stands.
    return line.decode("ascii", errors="backslashreplace")


def _is_whole(line: bytes) -> bool:
    try:
        return isinstance(json.loads(line), dict)
    except (ValueError, RecursionError):
        return False


def _parse_object(text: str, where: str) -> dict[str, Any]:
    if len(text) > MAX_LINE_CHARACTERS:
        raise problem_at(where, f"at most {MAX_LINE_CHARACTERS} characters", str(len(text)))
    try:
        values = json.loads(text, object_pairs_hook=_unique_keys, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as exc:
        raise problem_at(where, "a line of a journal", in_short(text)) from exc
    if not isinstance(values, dict):
        raise problem_at(where, "a line of a journal", in_short(text))
    return values


def _unique_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) < len(pairs):
        raise ValueError("a key twice")
    return values


def _refuse_constant(name: str) -> None:
    raise ValueError(f"{name} is no JSON")


def _check_version(version: object, where: str) -> None:
    if version not in READABLE_VERSIONS or isinstance(version, bool):
        known = ", ".join(map(str, READABLE_VERSIONS))
        raise problem_at(where, f"a journal of version {known}", f"version {version!r:.20}")
