"""Finds drill files: those that come with the coach by name, any other by its path.

Never compiles by itself, and writes only a new file that was asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from coach.drill.compiler import compile_drill
from coach.drill.findings import quote, render_nearest
from coach.drill.model import Drill
from coach.drill.parser import parse_drill
from coach.drill.source import Source
from coach.errors import DrillError, Problem
from coach.store.documents import read_document

SUFFIXES = (".yaml", ".yml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """One drill that comes with the coach."""

    name: str
    title: str
    source: str


def drills_folder() -> Path:
    """Where the drills are: inside the installed package, else beside it in a checkout."""
    package = Path(str(files("coach")))
    inside = package / "drills"
    return inside if inside.is_dir() else package.parent / "drills"


def list_drills() -> tuple[Listing, ...]:
    """The drills that come with the coach, by name. Raises `DrillError` where one is broken."""
    sources = (read_document(path, DrillError) for path in _drill_paths())
    return tuple(
        Listing(name=source.name, title=spec.title, source=spec.source)
        for source in sources
        for spec in (parse_drill(source),)
    )


def _drill_paths() -> list[Path]:
    found = (path for path in drills_folder().glob("*") if path.suffix in SUFFIXES)
    return sorted(found, key=lambda path: path.stem)


def read_source(name_or_path: str) -> Source:
    """A drill file's tree: by the name `coach list` gives, or by a path (it has a suffix or a slash).

    Raises `DrillError`; an unknown name is answered with the nearest known one.
    """
    is_path = Path(name_or_path).suffix != "" or "/" in name_or_path or "\\" in name_or_path
    if is_path:
        return read_document(Path(name_or_path), DrillError, shown=name_or_path)
    known = {path.stem: path for path in _drill_paths()}
    if name_or_path not in known:
        hint = render_nearest(name_or_path, known) or f" ({', '.join(known)})"
        expected = f"the name of a drill{hint} or a path"
        raise DrillError(Problem(where="drill", expected=expected, got=quote(name_or_path)))
    return read_document(known[name_or_path], DrillError)


def write_new_file(path: Path, text: str) -> None:
    """A file that was not there before. Raises `DrillError` where it is, or cannot be written."""
    try:
        with path.open("x", encoding="utf-8", newline="\n") as opened:
            opened.write(text)
    except FileExistsError as exc:
        raise DrillError(Problem(where=str(path), expected="no file there yet", got="one")) from exc
    except OSError as exc:
        got = (exc.strerror or "an error of the disk").lower()
        raise DrillError(Problem(where=str(path), expected="a file that can be written", got=got)) from exc


def read_drill(name_or_path: str, settings: Mapping[str, str]) -> Drill:
    """A drill by name or path, compiled with the given settings. Raises `DrillError`."""
    return compile_drill(read_source(name_or_path), settings)
