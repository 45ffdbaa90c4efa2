"""CSV to a track: one row a fix, columns found by their names, units told by the name's last part.

Never guesses a unit or the meaning of a column: one that is not in `COLUMNS` is left alone and told. A row
that cannot be read costs itself and is told; where most of them cannot, the file is refused with the first
lines."""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from coach.errors import Problem, TrackError
from coach.fixes.nmea_fields import FT_PER_M, KT_PER_KMH, KT_PER_M_S
from coach.fixes.track import Numbers, Track
from coach.fixes.track_cleaning import MAX_FIXES, clean_track

TIME_UTC, UNIX_S = "time_utc", "unix_s"
COLUMNS: dict[str, tuple[str, float]] = {
    UNIX_S: ("posix_s", 1.0),
    "lat": ("lat_deg", 1.0),
    "lat_deg": ("lat_deg", 1.0),
    "latitude": ("lat_deg", 1.0),
    "latitude_deg": ("lat_deg", 1.0),
    "lon": ("lon_deg", 1.0),
    "lon_deg": ("lon_deg", 1.0),
    "longitude": ("lon_deg", 1.0),
    "longitude_deg": ("lon_deg", 1.0),
    "altitude_ft": ("altitude_ft", 1.0),
    "altitude_m": ("altitude_ft", FT_PER_M),
    "pressure_altitude_ft": ("pressure_altitude_ft", 1.0),
    "pressure_altitude_m": ("pressure_altitude_ft", FT_PER_M),
    "geo_altitude_ft": ("geo_altitude_ft", 1.0),
    "geo_altitude_m": ("geo_altitude_ft", FT_PER_M),
    "groundspeed_kt": ("ground_speed_kt", 1.0),
    "ground_speed_kt": ("ground_speed_kt", 1.0),
    "ground_speed_m_s": ("ground_speed_kt", KT_PER_M_S),
    "ground_speed_kmh": ("ground_speed_kt", KT_PER_KMH),
    "track_true_deg": ("track_true_deg", 1.0),
    "heading_true_deg": ("heading_true_deg", 1.0),
    "heading_mag_deg": ("heading_mag_deg", 1.0),
    "airspeed_kt": ("airspeed_kt", 1.0),
    "airspeed_m_s": ("airspeed_kt", KT_PER_M_S),
    "airspeed_kmh": ("airspeed_kt", KT_PER_KMH),
}
"""Each column's name, what it holds and what its numbers are multiplied by. Beside them `time_utc`, a date
and time such as `2018-01-12T09:14:30.5Z`; a zone other than Z may stand there, none means UTC. `unix_s`:
seconds since 1970."""

ALIASES = {"time": TIME_UTC, "utc": TIME_UTC, "timestamp": TIME_UTC}
NEEDED = ("posix_s", "lat_deg", "lon_deg")
DELIMITERS = (",", ";", "\t")
LARGEST_FIELD = 4096
MOST_PROBLEMS = 10

_NAN = float("nan")


def decode_csv(content: bytes, *, name: str) -> Track:
    """Return the track of a CSV file; `name` is for errors. Raises `TrackError`."""
    text = content.decode("utf-8-sig", errors="replace").replace("\0", "�")
    rows = csv.reader(text.splitlines(), delimiter=_delimiter(text))
    columns, unknown = _read_header(rows, name)
    reading = _Reading(columns, name)
    try:
        for row in rows:
            reading.take(row, rows.line_num)
    except csv.Error as error:
        raise TrackError(Problem(where=f"{name}:{rows.line_num}", expected="CSV", got=str(error))) from error
    return reading.finish(unknown)


def is_header(line: str) -> bool:
    """Whether a line names the columns of a track."""
    names = {_plain(field) for field in line.split(_delimiter(line))}
    held = {COLUMNS[name][0] for name in names if name in COLUMNS}
    return {"lat_deg", "lon_deg"} <= held


def _delimiter(text: str) -> str:
    first = text.lstrip().partition("\n")[0]
    return max(DELIMITERS, key=first.count)


def _plain(field: str) -> str:
    name = field.strip().strip('"').strip().lower()
    return ALIASES.get(name, name)


def _read_header(rows: csv._reader, name: str) -> tuple[dict[int, str], tuple[str, ...]]:  # type: ignore[name-defined]
    """Return the index and name of each column that is read, and the names of the others."""
    header: Sequence[str] = ()
    try:
        header = next((row for row in rows if any(field.strip() for field in row)), ())
    except csv.Error as error:
        raise TrackError(Problem(where=f"{name}:1", expected="CSV", got=str(error))) from error
    names = [_plain(field) for field in header]
    known = {i: column for i, column in enumerate(names) if column in COLUMNS or column == TIME_UTC}
    held = [_holds(column) for column in known.values()]
    where = f"{name}:{rows.line_num or 1}"
    problems = [
        Problem(where=where, expected=f"a column {_wanted(wanted)}{_nearest(wanted, names)}", got="none")
        for wanted in NEEDED
        if wanted not in held
    ]
    problems += [
        Problem(where=where, expected=f"one column for {twice}", got="two or more")
        for twice in sorted({column for column in held if held.count(column) > 1})
    ]
    if problems:
        raise TrackError(*problems)
    return known, tuple(header[i].strip() for i in range(len(names)) if i not in known)


def _holds(column: str) -> str:
    return "posix_s" if column == TIME_UTC else COLUMNS[column][0]


def _wanted(held: str) -> str:
    return f"{TIME_UTC} or {UNIX_S}" if held == "posix_s" else held


def _nearest(held: str, names: Sequence[str]) -> str:
    found = get_close_matches(TIME_UTC if held == "posix_s" else held, [n[:40] for n in names[:64]], n=1)
    return f" (is it '{found[0]}'?)" if found else ""


class _Reading:
    """The rows while they are taken."""

    def __init__(self, columns: dict[int, str], name: str) -> None:
        self._name = name
        self._parsers: list[tuple[int, str, Callable[[str], float], float]] = [
            (i, _holds(column), *((_posix_s, 1.0) if column == TIME_UTC else (_number, COLUMNS[column][1])))
            for i, column in columns.items()
        ]
        self._columns = columns
        self._values: dict[str, list[float]] = {held: [] for _, held, _, _ in self._parsers}
        self._lines: list[int] = []
        self._problems: list[Problem] = []
        self._n_broken = 0

    def take(self, row: Sequence[str], line: int) -> None:
        """Take one row; one that is empty is none."""
        if not any(row):
            return
        try:
            values = [parse(row[i]) * factor for i, _, parse, factor in self._parsers]
        except (ValueError, IndexError, OverflowError):
            self._refuse(row, line)
            return
        for (_, held, _, _), value in zip(self._parsers, values, strict=True):
            self._values[held].append(value)
        self._lines.append(line)
        if len(self._lines) > MAX_FIXES:
            where = f"{self._name}:{line}"
            raise TrackError(Problem(where=where, expected=f"at most {MAX_FIXES} rows", got="more"))

    def finish(self, unknown: tuple[str, ...]) -> Track:
        """Return the track; raises `TrackError` where most rows are broken."""
        if self._n_broken > len(self._lines):
            raise TrackError(*self._problems)
        notes = (
            [f"Rows left out: {self._n_broken}, the first: {self._problems[0]}."] if self._n_broken else []
        )
        if unknown:
            notes.append(f"Columns not read: {', '.join(repr(name[:40])[1:-1] for name in unknown[:12])}.")
        columns: dict[str, Numbers] = {
            held: np.array(values, dtype=np.float64) for held, values in self._values.items()
        }
        lines: NDArray[np.int64] = np.array(self._lines, dtype=np.int64)
        return clean_track(
            "csv",
            name=self._name,
            posix_s=columns.pop("posix_s"),
            lat_deg=columns.pop("lat_deg"),
            lon_deg=columns.pop("lon_deg"),
            lines=lines,
            notes=tuple(notes),
            given=columns,
        )

    def _refuse(self, row: Sequence[str], line: int) -> None:
        self._n_broken += 1
        if len(self._problems) < MOST_PROBLEMS:
            self._problems.append(self._problem(row, line))

    def _problem(self, row: Sequence[str], line: int) -> Problem:
        where = f"{self._name}:{line}"
        for i, _, parse, _ in self._parsers:
            column = self._columns[i]
            if i >= len(row):
                return Problem(where=where, expected=f"a column {column}", got=f"{len(row)} columns")
            try:
                parse(row[i])
            except (ValueError, OverflowError):
                expected = "a date and time" if column == TIME_UTC else "a number"
                return Problem(where=f"{where}: {column}", expected=expected, got=f"'{row[i][:40]}'")
        return Problem(where=where, expected="a fix", got="a broken row")


def _number(text: str) -> float:
    return float(text) if text.strip() else _NAN


def _posix_s(text: str) -> float:
    """ISO 8601; without a zone it is UTC. Nothing at all is no time."""
    plain = text.strip()
    if not plain:
        return _NAN
    time = datetime.fromisoformat(plain)
    return (time if time.tzinfo is not None else time.replace(tzinfo=UTC)).timestamp()
