"""`coach check --vor`: the check of a VOR receiver as a form, judged by its kind and added to the user's log.

On a terminal it asks for what the command line leaves out. Never fills in a signature or a bearing. Exit 0
where the check is within its limit, 1 where it is not.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import TypeVar

from coach.cli.output import line, print_json, table
from coach.cli.station_shown import today
from coach.drill.findings import quote, render_nearest
from coach.errors import Problem, SettingsError
from coach.nav.vor_check import (
    AIRWAY_FROM_NM,
    GOOD_DAYS,
    SOURCES,
    Kind,
    VorCheck,
    bearing_error_deg,
    encode_check,
    find_last,
    render_state,
    vot_error_deg,
)
from coach.store.vor_checks import LONGEST_TEXT, append_check, read_checks

HEAD = ("date", "place", "kind", "error", "limit", "", "signature")

OUTSIDE = 1
"""The exit status of a check outside its limit."""

QUESTIONS = {
    "kind": f"one of {', '.join(Kind)}",
    "place": "where it was checked",
    "bearing": "the bearing shown, or two of them",
    "signature": "your name",
}
"""What each field of the form is to hold, in the order they are asked for."""

BEARINGS = {
    Kind.VOT: "the selected course in degrees with the needle centred, such as 002 (or 181 with TO)",
    Kind.GROUND: "SHOWN,PUBLISHED in degrees, such as 124,122",
    Kind.AIRBORNE: "SHOWN,PUBLISHED in degrees, such as 124,122",
    Kind.AIRWAY: "SHOWN,CENTRELINE in degrees, such as 124,122",
    Kind.DUAL: "FIRST,SECOND receiver in degrees, such as 358,002",
}

Value = TypeVar("Value")
Ask = Callable[[str], str]


def check_options(options: argparse.Namespace) -> None:
    """`SettingsError` where a field of the form stands without `--vor`, or `--vor` beside `--voice`."""
    if options.vor and (options.voice or options.delete):
        raise SettingsError(
            Problem(where="--vor", expected="to stand without --voice and --delete", got="both")
        )
    given = [name for name in (*QUESTIONS, "error", "date") if getattr(options, name) is not None]
    if given and not options.vor:
        raise SettingsError(Problem(where=f"--{given[0]}", expected="--vor before it", got="none"))
    if given and options.list:
        raise SettingsError(Problem(where="--list", expected=f"to stand without --{given[0]}", got="both"))


def run(options: argparse.Namespace) -> int:
    """Record a check, or list those recorded."""
    if options.list:
        return _list(is_json=options.json)
    is_asking = sys.stdin.isatty() and sys.stdout.isatty() and not options.json
    check = parse_form(_texts(options, input if is_asking else None))
    path = append_check(check)
    if options.json:
        print_json(encode_check(check) | {"log": str(path)})
    else:
        _tell(check)
        line(f"Recorded in {path}. Enter it in the aircraft's log too (14 CFR 91.171(d)).")
    return 0 if check.is_within else OUTSIDE


def _texts(options: argparse.Namespace, ask: Ask | None) -> dict[str, str | None]:
    """What was given, and what is answered where something is left out; `ask` None: nobody answers."""
    texts: dict[str, str | None] = {name: getattr(options, name) for name in (*QUESTIONS, "error", "date")}
    if ask is None:
        return texts
    try:
        for name in QUESTIONS:
            if texts[name] is None and not (name == "bearing" and texts["error"] is not None):
                texts[name] = ask(f"{name.capitalize()} ({_question(name, texts['kind'])}): ")
    except EOFError:
        line()
    return texts


def _question(name: str, kind: str | None) -> str:
    known = {kind.value: text for kind, text in BEARINGS.items()}
    return known.get((kind or "").strip().lower(), QUESTIONS[name]) if name == "bearing" else QUESTIONS[name]


def parse_form(texts: Mapping[str, str | None]) -> VorCheck:
    """The check that a form's fields make: `QUESTIONS`, `error` in place of `bearing`, and `date` (today).

    Raises `SettingsError` with one line for each field that is missing or not understood.
    """
    problems: list[Problem | str] = []

    def read(name: str, parse: Callable[[str], Value]) -> Value | None:
        text = texts[name]
        try:
            if text is None:
                raise SettingsError(Problem(where=f"--{name}", expected=QUESTIONS[name], got="none"))
            return parse(text.strip())
        except SettingsError as error:
            problems.extend(error.problems)
            return None

    kind = read("kind", _parse_kind)
    place = read("place", lambda text: _parse_text("place", text))
    signature = read("signature", lambda text: _parse_text("signature", text))
    day = today() if texts["date"] is None else read("date", _parse_day)
    if texts["error"] is not None:
        error_deg = read("error", _parse_error)
    else:
        error_deg = read("bearing", lambda text: _parse_bearing(text, kind))
    if problems or kind is None or place is None or signature is None or day is None or error_deg is None:
        raise SettingsError(*problems)
    return VorCheck(day=day, place=place, kind=kind, error_deg=error_deg, signature=signature)


def _parse_kind(text: str) -> Kind:
    kind = next((kind for kind in Kind if kind.value == text.lower()), None)
    if kind is None:
        hint = render_nearest(text.lower(), [kind.value for kind in Kind])
        raise SettingsError(Problem(where="--kind", expected=f"{QUESTIONS['kind']}{hint}", got=quote(text)))
    return kind


def _parse_text(name: str, text: str) -> str:
    if not text or not text.isprintable() or len(text) > LONGEST_TEXT:
        expected = f"{QUESTIONS[name]}, at most {LONGEST_TEXT} characters on one line"
        raise SettingsError(
            Problem(where=f"--{name}", expected=expected, got=quote(text) if text else "nothing")
        )
    return text


def _parse_day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day > today():
        expected = f"a day such as {today().isoformat()}, not in the future (UTC)"
        raise SettingsError(Problem(where="--date", expected=expected, got=quote(text)))
    return day


def _parse_error(text: str) -> float:
    error_deg = _find_number(text)
    if error_deg is None or not -180.0 <= error_deg <= 180.0:
        expected = "the bearing error in degrees, -180 to 180"
        raise SettingsError(Problem(where="--error", expected=expected, got=quote(text)))
    return error_deg


def _parse_bearing(text: str, kind: Kind | None) -> float:
    """How far off what was shown is; `kind` None: it is wrong itself, which is told by itself."""
    bearings = [_find_number(part) for part in text.split(",")]
    found = [bearing for bearing in bearings if bearing is not None and 0.0 <= bearing <= 360.0]
    wanted = 1 if kind is Kind.VOT else 2
    if len(found) != len(bearings) or (kind is not None and len(found) != wanted):
        expected = QUESTIONS["bearing"] if kind is None else BEARINGS[kind]
        raise SettingsError(Problem(where="--bearing", expected=expected, got=quote(text)))
    return vot_error_deg(found[0]) if len(found) == 1 else bearing_error_deg(found[0], found[1])


def _find_number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if number == number and "_" not in text else None


def _tell(check: VorCheck) -> None:
    verdict = "within the limit" if check.is_within else "OUTSIDE THE LIMIT"
    line(
        f"{check.error_deg:+.1f} degrees, limit {check.limit_deg:g} ({SOURCES[check.kind]}): {verdict}. "
        "Required only under IFR."
    )
    if check.kind is Kind.AIRWAY:
        line(
            f"A point on an airway is best more than {AIRWAY_FROM_NM:g} NM from the station, reasonably low."
        )
    if check.is_within:
        last = check.day + timedelta(days=GOOD_DAYS)
        line(f"It counts until {last.isoformat()}: {GOOD_DAYS} days (91.171(a)(2)).")


def _list(*, is_json: bool) -> int:
    log = read_checks()
    day, last = today(), find_last(log.checks)
    if is_json:
        left = last.days_left(day) if last is not None and last.is_within else None
        print_json(
            {
                "log": str(log.path),
                "checks": [encode_check(check) for check in log.checks],
                "days_left": left,
                "problems": list(log.problems),
            }
        )
        return 0
    if log.checks:
        table(HEAD, [_row(check) for check in log.checks])
    for problem in log.problems:
        line(problem)
    line(f"VOR check (required only under IFR, 14 CFR 91.171): {render_state(last, day)}")
    return 0


def _row(check: VorCheck) -> tuple[str, ...]:
    return (
        check.day.isoformat(),
        check.place,
        check.kind.value,
        f"{check.error_deg:+.1f}",
        f"{check.limit_deg:g}",
        "within" if check.is_within else "outside",
        check.signature,
    )
