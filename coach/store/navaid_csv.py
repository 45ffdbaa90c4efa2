"""Reads and writes VORs in the open navaid CSV format: one line a navaid, the columns named in the first.

Never guesses: a row that cannot be used is left out and told. Of the declination only the whole number means
anything; the file's old magnetic variation (degrees and minutes) is not read, today's is worked out.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from coach.drill.findings import quote
from coach.errors import Problem, SettingsError
from coach.nav.frequency import find_frequency_fault
from coach.nav.navaid import Navaid, is_ident

KINDS = ("VOR", "VOR-DME", "VORTAC")
"""What a VOR receiver can use. A TACAN has no azimuth for it."""

OTHER_KINDS = ("NDB", "NDB-DME", "DME", "TACAN")
"""What else the format knows."""

COLUMNS = (
    "ident",
    "name",
    "type",
    "frequency_khz",
    "latitude_deg",
    "longitude_deg",
    "elevation_ft",
    "iso_country",
    "slaved_variation_deg",
)
"""The columns used; others may be there."""

LONGEST_NAME = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class NavaidFile:
    """What a file holds."""

    navaids: tuple[Navaid, ...]
    """Every usable VOR, in the file's order."""

    left_out: tuple[Problem, ...]
    """One for each thing that is wrong with a VOR's row."""

    others: dict[str, int]
    """How many rows of each type of `OTHER_KINDS` there are, and of `another type`."""


def parse_navaids(content: bytes, file: str) -> NavaidFile:
    """The VORs of a file; `file` is what problems call it.

    Raises `SettingsError` where it is no such file: not UTF-8, not CSV, a column missing.
    """
    rows = _read_rows(content, file)
    navaids: list[Navaid] = []
    left_out: list[Problem] = []
    others: Counter[str] = Counter()
    for line, row in rows:
        if row.get("type") in KINDS or None in row.values() or None in row:
            taken = _Row(where=f"{file}:{line}", row=row, problems=[])
            navaid = taken.read()
            left_out += taken.problems
            navaids += [navaid] if navaid is not None else []
        else:
            others[row["type"] if row["type"] in OTHER_KINDS else "another type"] += 1
    return NavaidFile(navaids=tuple(navaids), left_out=tuple(left_out), others=dict(others))


def render_navaids(navaids: Iterable[Navaid]) -> str:
    """The same format again, the columns used and no others."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(_render_row(navaid) for navaid in navaids)
    return text.getvalue()


def _render_row(navaid: Navaid) -> tuple[object, ...]:
    return (
        navaid.ident,
        navaid.name,
        navaid.kind,
        navaid.frequency_khz,
        repr(navaid.latitude_deg),
        repr(navaid.longitude_deg),
        "" if navaid.elevation_ft is None else repr(navaid.elevation_ft),
        navaid.country,
        "" if navaid.declination_deg is None else navaid.declination_deg,
    )


def _read_rows(content: bytes, file: str) -> list[tuple[int, dict[str, str]]]:
    try:
        reader = csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True)
        _check_columns(reader.fieldnames or (), file)
        return [(reader.line_num, row) for row in reader]
    except UnicodeDecodeError as exc:
        line = content[: exc.start].count(b"\n") + 1
        got = f"the byte 0x{content[exc.start]:02x}"
        raise SettingsError(Problem(where=f"{file}:{line}", expected="UTF-8", got=got)) from exc
    except csv.Error as exc:
        raise SettingsError(
            Problem(where=f"{file}:{reader.reader.line_num}", expected="CSV", got=f"a fault here ({exc})")
        ) from exc


def _check_columns(names: Iterable[str], file: str) -> None:
    found = list(names)
    missing = [column for column in COLUMNS if column not in found]
    if missing:
        got = ", ".join(map(quote, found[:3])) or "nothing"
        problems = (
            Problem(where=f"{file}:1", expected=f"the column {column!r}", got=f"columns that begin {got}")
            for column in missing
        )
        raise SettingsError(*problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One VOR's row, and what is wrong with it."""

    where: str
    row: dict[str, str]
    problems: list[Problem]

    def read(self) -> Navaid | None:
        """The navaid; None where there is a problem."""
        if None in self.row or None in self.row.values():
            self._note("", "a value for each column", "fewer or more")
            return None
        values = dict(self._values())
        return None if self.problems else Navaid(**values)

    def _values(self) -> Iterator[tuple[str, Any]]:
        yield "ident", self._ident()
        yield "name", self._printable("name", LONGEST_NAME)
        yield "kind", self.row["type"]
        yield "country", self._printable("iso_country", 2)
        yield "frequency_khz", self._frequency_khz()
        yield "latitude_deg", self._number("latitude_deg", -90.0, 90.0)
        yield "longitude_deg", self._number("longitude_deg", -180.0, 180.0)
        yield "elevation_ft", self._if_given("elevation_ft", -1_500.0, 30_000.0)
        declination_deg = self._if_given("slaved_variation_deg", -180.0, 180.0)
        # 19.011 is 19: what stands behind the point means nothing in this format.
        yield "declination_deg", None if declination_deg is None else math.trunc(declination_deg)

    def _ident(self) -> str:
        ident = self.row["ident"].strip().upper()
        if not is_ident(ident):
            self._note("ident", "1 to 4 letters and digits", quote(self.row["ident"]))
        return ident

    def _printable(self, column: str, longest: int) -> str:
        text = self.row[column].strip()
        if len(text) > longest or not text.isprintable():
            self._note(column, f"at most {longest} printable characters", quote(text))
        return text

    def _frequency_khz(self) -> int:
        text = self.row["frequency_khz"].strip()
        frequency_khz = int(text) if re.fullmatch(r"-?[0-9]{1,9}", text) else None
        expected = "whole kHz" if frequency_khz is None else find_frequency_fault(frequency_khz)
        if expected is not None:
            self._note("frequency_khz", expected, quote(text))
        return frequency_khz or 0

    def _if_given(self, column: str, low: float, high: float) -> float | None:
        return self._number(column, low, high) if self.row[column].strip() else None

    def _number(self, column: str, low: float, high: float) -> float:
        number = _parse_number(self.row[column])
        if number is None or not low <= number <= high:
            self._note(column, f"{low:g} to {high:g}", quote(self.row[column]))
            return 0.0
        return number

    def _note(self, column: str, expected: str, got: str) -> None:
        where = f"{self.where}: {column}" if column else self.where
        self.problems.append(Problem(where=where, expected=expected, got=got))


def _parse_number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
