"""`coach debrief --report` and `--csv` from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.cli import main
from tests.cli.test_debrief import track_file  # noqa: F401 (a fixture)

STATION = ["--station", "-31.9,115.9,-2"]


def test_a_track_alone_has_a_report_and_the_summary_is_told_all_the_same(
    track_file: Path,  # noqa: F811
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
):
    out = tmp_path / "report.html"
    assert main(["debrief", "--track", str(track_file), *STATION, "--report", str(out)]) == 0
    assert "A track, " in capsys.readouterr().out
    page = out.read_text()
    assert page.startswith("<!doctype html>")
    assert "Radials flown" in page
    assert "<svg" in page


def test_a_report_and_rows_beside_json_leave_standard_output_alone(
    track_file: Path,  # noqa: F811
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
):
    files = ["--report", str(tmp_path / "r.html"), "--csv", str(tmp_path / "r.csv")]
    assert main(["debrief", "--track", str(track_file), *STATION, *files, "--json"]) == 0
    assert capsys.readouterr().out.startswith("{")
    assert (tmp_path / "r.csv").read_bytes().startswith(b"leg_n,spoke,leg,")


@pytest.mark.parametrize(
    ("option", "name", "message"),
    [
        (
            "--report",
            "report.doc",
            "coach: --report: expected a file name ending in .html or .pdf, got '{}'\n",
        ),
        ("--report", "no/report.pdf", "coach: --report: expected a file in a folder that exists, got '{}'\n"),
        ("--csv", "no/rows.csv", "coach: --csv: expected a file in a folder that exists, got '{}'\n"),
    ],
)
def test_a_name_that_cannot_be_written_is_refused_before_the_track_is_read(
    option: str, name: str, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    path = str(tmp_path / name)
    assert main(["debrief", "--track", "none.gpx", *STATION, option, path]) == 2
    assert capsys.readouterr().err == message.format(path)
