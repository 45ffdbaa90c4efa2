"""`coach history`: how each drill and each skill goes from session to session.

Everything stays on this machine: shown, exported or deleted here, never sent.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path

from coach.cli.output import line, print_json, table
from coach.debrief.history import SessionFigures, Trend, drill_of, find_trends
from coach.debrief.history_words import COLUMNS, encode_sessions, encode_trends, trend_rows
from coach.drill.findings import render_nearest
from coach.errors import Problem, SettingsError
from coach.paper.history import check_picture_path, draw_history
from coach.paper.report import check_folder, write_whole
from coach.store.database import database_path
from coach.store.history import delete_sessions, read_sessions

SAID = (
    "Shares are of marks, or of seconds, within their standard; spread is the standard deviation over the "
    "sessions. A debrief is no proof of recency: your instructor and the rules in force come first."
)


def run(options: argparse.Namespace) -> int:
    """Show, export or delete the history."""
    if options.delete is not None:
        return _delete(options.delete, is_json=options.json)
    for option, check in (("picture", check_picture_path), ("export", _check_export)):
        if getattr(options, option) is not None:
            check(Path(getattr(options, option)))
    sessions = read_sessions(database_path())
    if options.export is not None:
        _export(sessions, Path(options.export))
    trends = _chosen(find_trends(sessions), options)
    if options.picture is not None:
        _draw(trends, Path(options.picture))
    if options.json:
        print_json({"sessions": encode_sessions(sessions), "trends": encode_trends(trends)})
    else:
        _show(sessions, trends)
    return 0


def _check_export(path: Path) -> None:
    check_folder("--export", path)


def _chosen(trends: tuple[Trend, ...], options: argparse.Namespace) -> tuple[Trend, ...]:
    """The trends of the drill and the skill that are asked for. `SettingsError` where there is none."""
    for option, name in (("drill", "DRILL"), ("skill", "--skill")):
        asked = getattr(options, option)
        if asked is None:
            continue
        known = list(dict.fromkeys(getattr(trend, option) for trend in trends))
        if asked not in known:
            expected = f"a {option} that is in the history{render_nearest(asked, known)}"
            raise SettingsError(Problem(where=name, expected=expected, got=f"'{asked}'"))
        trends = tuple(trend for trend in trends if getattr(trend, option) == asked)
    return trends


def _show(sessions: Sequence[SessionFigures], trends: Sequence[Trend]) -> None:
    if not sessions:
        line("No session is in the history. `coach debrief` keeps each session that it debriefs.")
        return
    for drill in dict.fromkeys(trend.drill for trend in trends):
        found = [trend for trend in trends if trend.drill == drill]
        flown = [session for session in sessions if drill_of(session) == drill]
        count = f"{len(flown)} session{'' if len(flown) == 1 else 's'}"
        days = f", {count}, last {flown[-1].began_utc:%Y-%m-%d}" if flown else ""
        line(f"{drill}{days}")
        table(COLUMNS, trend_rows(found))
        line()
    line(SAID)


def _draw(trends: tuple[Trend, ...], path: Path) -> None:
    if not trends:
        raise SettingsError(Problem(where="--picture", expected="a session in the history", got="none"))
    draw_history(trends, path)


def _export(sessions: Sequence[SessionFigures], path: Path) -> None:
    content = json.dumps({"version": 1, "sessions": encode_sessions(sessions)}, indent=1) + "\n"
    write_whole("--export", path, lambda part: part.write_text(content, encoding="utf-8"))


def _delete(which: str, *, is_json: bool) -> int:
    """Delete a session by its name, or all; asked for by name, so nothing asks again."""
    count = delete_sessions(database_path(), None if which == "all" else which)
    if count == 0 and which != "all":
        known = [session.session for session in read_sessions(database_path())]
        expected = f"a session of the history, or all{render_nearest(which, known)}"
        raise SettingsError(Problem(where="--delete", expected=expected, got=f"'{which}'"))
    if is_json:
        print_json({"deleted": count})
    else:
        line(f"{count} session{'' if count == 1 else 's'} deleted from the history.")
    return 0
