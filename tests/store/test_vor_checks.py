"""The log of VOR receiver checks on disk."""

from __future__ import annotations

import os
import sys
import threading
from datetime import date
from pathlib import Path

import pytest

from coach.errors import SettingsError
from coach.nav.vor_check import Kind, VorCheck
from coach.store import vor_checks
from coach.store.vor_checks import append_check, read_checks

CHECK = VorCheck(
    day=date(2026, 11, 1), place="Nowhere, the ramp", kind=Kind.GROUND, error_deg=-2.5, signature="N. N."
)


@pytest.fixture(autouse=True)
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "folder" / "vor-checks.jsonl"
    monkeypatch.setattr(vor_checks, "vor_checks_path", lambda: path)
    return path


def other(n: int) -> VorCheck:
    return VorCheck(
        day=date(2026, 11, 2), place=f"Elsewhere {n}", kind=Kind.VOT, error_deg=4.1, signature="Ü. N."
    )


def test_without_a_log_there_are_no_checks(log: Path) -> None:
    assert read_checks().checks == ()
    assert not log.exists()


def test_a_check_added_is_read_again(log: Path) -> None:
    assert append_check(CHECK) == log
    append_check(other(1))
    assert read_checks().checks == (CHECK, other(1))
    assert read_checks().problems == ()


def test_the_line_has_what_the_rule_asks_for(log: Path) -> None:
    # V26: 14 CFR 91.171(d): date, place, bearing error, signature.
    append_check(CHECK)
    assert log.read_text("utf-8") == (
        '{"date": "2026-11-01", "place": "Nowhere, the ramp", "kind": "ground", "error_deg": -2.5, '
        '"limit_deg": 4.0, "within": true, "signature": "N. N."}\n'
    )


@pytest.mark.skipif(sys.platform == "win32", reason="modes are POSIX's")
def test_only_the_user_may_read_the_log(log: Path) -> None:
    append_check(CHECK)
    assert log.stat().st_mode & 0o777 == 0o600


def test_a_torn_line_is_told_and_spoils_no_other(log: Path) -> None:
    append_check(CHECK)
    with log.open("ab") as file:
        file.write(b'{"date": "2026-11-0')
    append_check(other(1))
    found = read_checks()
    assert found.checks == (CHECK, other(1))
    assert found.problems == (f'{log}:2: expected a check, got \'{{"date": "2026-11-0\'',)


@pytest.mark.parametrize(
    "line",
    [
        b"[]",
        b"7",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"date": "2026-02-30", "place": "", "kind": "vot", "error_deg": 0, "signature": ""}',
        b'{"date": "2026-11-01", "place": "", "kind": "vor", "error_deg": 0, "signature": ""}',
        b'{"date": "2026-11-01", "place": "", "kind": "vot", "error_deg": NaN, "signature": ""}',
        b'{"date": "2026-11-01", "place": "", "kind": "vot", "error_deg": 1e999, "signature": ""}',
        b'{"date": "2026-11-01", "place": "", "kind": "vot", "signature": ""}',
    ],
)
def test_a_line_that_is_no_check_is_left_out_and_told(log: Path, line: bytes) -> None:
    append_check(CHECK)
    with log.open("ab") as file:
        file.write(line + b"\n")
    found = read_checks()
    assert found.checks == (CHECK,)
    assert len(found.problems) == 1
    assert found.problems[0].startswith(f"{log}:2: expected a check, got ")


def test_two_writers_never_mix_their_lines(log: Path) -> None:
    threads = [threading.Thread(target=lambda n=n: append_check(other(n))) for n in range(24)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    found = read_checks()
    assert sorted(check.place for check in found.checks) == sorted(f"Elsewhere {n}" for n in range(24))
    assert found.problems == ()


def test_a_place_that_cannot_be_written_to_is_one_clear_line(log: Path) -> None:
    log.parent.write_text("a file where the folder should be")
    with pytest.raises(SettingsError, match="expected a place that can be written to, got"):
        append_check(CHECK)


def test_a_folder_in_its_place_is_one_clear_line(log: Path) -> None:
    log.mkdir(parents=True)
    with pytest.raises(SettingsError, match="expected a file that can be read, got is a directory"):
        read_checks()


def test_a_disk_that_takes_half_a_line_is_told(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.write
    monkeypatch.setattr(vor_checks.os, "write", lambda fd, line: real(fd, line[:10]))
    with pytest.raises(SettingsError, match="got no space left on device"):
        append_check(CHECK)
