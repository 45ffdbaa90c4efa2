"""The table of VORs that the user imported: one CSV file in the user's data folder.

Never comes with the coach and never fetches: the user downloads the file and names it.
"""

from __future__ import annotations

import stat
from pathlib import Path

import platformdirs

from coach.errors import Problem, SettingsError, SetupError
from coach.nav.navaid import Navaid
from coach.store.navaid_csv import NavaidFile, parse_navaids, render_navaids

LARGEST_BYTES = 50_000_000
"""The navaids of the world take some 2,000,000."""

IMPORT = "coach station import FILE"
"""What makes the table."""


def stations_path() -> Path:
    """Where the table is kept, such as `~/.local/share/drill-coach/stations.csv`."""
    return platformdirs.user_data_path("drill-coach", appauthor=False) / "stations.csv"


def read_navaid_file(path: Path) -> NavaidFile:
    """The VORs of a file in the open navaid CSV format. Raises `SettingsError`."""
    return parse_navaids(_read_bytes(path), str(path))


def write_stations(navaids: tuple[Navaid, ...]) -> Path:
    """Put the table in the place of the one before it, if any; `SettingsError` where it cannot."""
    path = stations_path()
    beside = path.with_suffix(".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(render_navaids(navaids), "utf-8", newline="")
        beside.replace(path)
    except OSError as exc:
        raise _refuse(path, "a place that can be written to", exc) from exc
    return path


def read_stations() -> tuple[Navaid, ...]:
    """The table; `SetupError` where there is none, `SettingsError` where something is wrong with it."""
    path = stations_path()
    if not path.exists():
        raise SetupError(f"There is no table of stations on this machine: `{IMPORT}` makes it.")
    table = read_navaid_file(path)
    if table.left_out:
        remedy = f"`{IMPORT}` makes the table anew"
        raise SettingsError(*table.left_out[:20], remedy)
    return table.navaids


def _read_bytes(path: Path) -> bytes:
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise SettingsError(Problem(where=str(path), expected="a file", got="something else"))
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as exc:
        raise _refuse(path, "a file that can be read", exc) from exc
    except ValueError as exc:
        raise SettingsError(
            Problem(where=repr(str(path)), expected="a file name", got="a null character")
        ) from exc
    if len(content) > LARGEST_BYTES:
        raise SettingsError(Problem(where=str(path), expected=f"at most {LARGEST_BYTES} bytes", got="more"))
    return content


def _refuse(path: Path, expected: str, exc: OSError) -> SettingsError:
    got = (exc.strerror or "an error of the disk").lower()
    return SettingsError(Problem(where=str(path), expected=expected, got=got))
