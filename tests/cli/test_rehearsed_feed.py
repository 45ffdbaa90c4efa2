"""`coach rehearse --feed` as typed: what it prints, and one line for each thing that is wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coach.fixes.decoder import make_decoder
from coach.fixes.fix import Fix
from tests.cli.test_main import run

ONE_SPOKE = ("rehearse", "eight-spoke", "--set", "first_outbound=240", "--set", "spokes=1")


@pytest.mark.parametrize("form", ["nmea", "gdl90"])
def test_a_drill_is_rehearsed_on_a_feed(capsys: pytest.CaptureFixture[str], form: str, tmp_path: Path):
    recording = tmp_path / "feed"
    status, out, _ = run(
        capsys,
        *ONE_SPOKE,
        "--wind",
        "250/25",
        "--feed",
        f"{form}+udp",
        "--feed-out",
        str(recording),
        "--json",
    )
    feed = json.loads(out)["feed"]
    assert status == 0
    assert (feed["form"], feed["by_socket"], feed["passages_invented"]) == (form, True, 0)
    assert [passage["event_s"] is not None for passage in feed["passages"]] == [True, True]
    decoder = make_decoder(form)  # type: ignore[arg-type]
    fixes = (*decoder.feed(recording.read_bytes(), 0.0), *decoder.flush())
    assert sum(isinstance(fix, Fix) for fix in fixes) >= feed["fixes_taken"]


def test_without_json_a_person_reads_what_came_of_it(capsys: pytest.CaptureFixture[str]):
    status, out, _ = run(capsys, *ONE_SPOKE, "--feed", "nmea+udp", "--late", "0")
    lines = out.splitlines()
    assert status == 0
    assert any("feed    seen: station passage" in line for line in lines)
    assert "Passages: 2 of 2 seen, none invented" in out
    assert lines[-1] == "Pilot: nothing spoken, no key pressed"


def test_a_pilot_with_keys_and_a_feed_is_told_of_both(capsys: pytest.CaptureFixture[str]):
    status, out, _ = run(capsys, *ONE_SPOKE, "--feed", "nmea+udp://", "--typed")
    assert status == 0
    assert "keys pressed, nothing spoken" in out
    assert "Passages: 2 of 2 seen" in out


def test_without_a_feed_the_json_has_none(capsys: pytest.CaptureFixture[str]):
    status, out, _ = run(capsys, *ONE_SPOKE, "--typed", "--json")
    assert status == 0
    assert json.loads(out)["feed"] is None


@pytest.mark.parametrize(
    ("options", "line"),
    [
        (("--feed", "nmea"), "--feed: expected nmea+udp or gdl90+udp, got 'nmea'"),
        (("--feed-loss", "10"), "--feed-loss: expected only with --feed, got no --feed"),
        (("--feed-heading",), "--feed-heading: expected only with --feed, got no --feed"),
        (("--feed-out", "x"), "--feed-out: expected only with --feed, got no --feed"),
        (("--spoken",), "--spoken: expected only with --feed, got no --feed"),
        (("--feed", "nmea+udp", "--feed-loss", "91"), "--feed-loss: expected 0 to 90 percent, got 91"),
        (("--feed", "nmea+udp", "--feed-every", "0"), "--feed-every: expected 0.1 to 10 s, got 0"),
        (("--feed", "nmea+udp", "--feed-delay", "nan"), "--feed-delay: expected 0 to 5 s, got nan"),
        (("--radio", "-3"), "--radio: expected 0 or more sentences, got -3"),
        (("--overcorrect", "4"), "--overcorrect: expected 1 to 3, got 4"),
        (
            ("--feed", "nmea+udp", "--feed-role", "remind"),
            "--feed-role: expected decide, where the pilot says nothing (--spoken or --typed), got remind",
        ),
    ],
)
def test_a_wrong_option_is_one_line(capsys: pytest.CaptureFixture[str], options: tuple[str, ...], line: str):
    status, out, err = run(capsys, *ONE_SPOKE, *options)
    assert (status, out) == (2, "")
    assert err == f"coach: {line}\n"


def test_every_problem_is_told(capsys: pytest.CaptureFixture[str]):
    _, _, err = run(capsys, *ONE_SPOKE, "--feed", "nmea+udp", "--late", "11", "--wrong-turns", "-1")
    assert len(err.splitlines()) == 2


def test_a_file_that_cannot_be_written_is_one_line(capsys: pytest.CaptureFixture[str], tmp_path: Path):
    path = tmp_path / "no" / "feed"
    status, _, err = run(capsys, *ONE_SPOKE, "--feed", "nmea+udp", "--feed-out", str(path))
    assert status == 3
    assert err.count("\n") == 1
    assert "cannot be written" in err


def test_flying_on_a_feed_that_is_none_is_one_line(capsys: pytest.CaptureFixture[str]):
    status, out, err = run(capsys, "fly", "eight-spoke", "--feed", "carrier-pigeon://loft")
    assert (status, out) == (2, "")
    assert err.startswith("coach: --feed: expected ")
    assert err.count("\n") == 1


def test_flying_on_a_feed_needs_a_station(capsys: pytest.CaptureFixture[str], tmp_path: Path):
    text = Path("drills/eight-spoke.yaml").read_text(encoding="utf-8")
    head, _, rest = text.partition("# An invented station")
    drill = tmp_path / "nowhere.yaml"
    drill.write_text(head + "settings:\n" + rest.partition("settings:\n")[2], encoding="utf-8")
    status, _, err = run(capsys, "fly", str(drill), "--feed", "nmea+udp://")
    assert status == 2
    assert err.startswith("coach: --station: expected LAT,LON,DECLINATION, since the drill has no station")
