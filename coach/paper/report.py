"""Writes a report to a file, whole or not at all: HTML or PDF by the name's ending."""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from coach.debrief.report import Report
from coach.errors import Problem, SettingsError
from coach.paper.report_html import render_html
from coach.paper.report_pdf import write_pdf

SUFFIXES = (".html", ".pdf")
PRIVATE_FILE = 0o600


def check_report_path(path: Path) -> None:
    """Raise SettingsError where a report cannot be written under that name."""
    if path.suffix.lower() not in SUFFIXES:
        expected = "a file name ending in .html or .pdf"
        raise SettingsError(Problem(where="--report", expected=expected, got=f"'{path}'"))
    check_folder("--report", path)


def check_folder(option: str, path: Path) -> None:
    """Raise SettingsError where a file has no folder to be in."""
    if not path.parent.is_dir():
        raise SettingsError(Problem(where=option, expected="a file in a folder that exists", got=f"'{path}'"))


def write_report(report: Report, path: Path) -> None:
    """Write it. Raises SettingsError where the file cannot be written; what was there is then kept."""
    check_report_path(path)
    if path.suffix.lower() == ".pdf":
        write_whole("--report", path, lambda part: write_pdf(report, part))
        return
    content = render_html(report).encode("utf-8")
    write_whole("--report", path, lambda part: part.write_bytes(content))


def write_whole(option: str, path: Path, write: Callable[[Path], object]) -> None:
    """Write a file beside its place, for its owner only, then put it there."""
    part = path.with_name(f".{path.name}.part")
    try:
        part.unlink(missing_ok=True)
        os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE))
        write(part)
        part.replace(path)
    except OSError as exc:
        got = f"'{path}' ({exc.strerror or exc})"
        raise SettingsError(Problem(where=option, expected="a file that can be written", got=got)) from exc
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
