"""`coach feed watch` as typed."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from coach.cli import main
from coach.fixes.continuity import Back, Lost
from coach.fixes.fix import Fix
from coach.fixes.nmea_encoder import encode_nmea
from tests.fixes.samples import flight

GARBAGE = b"\x1b[2J[/red] [bold] \xff\r\n"


@pytest.fixture
def url(tmp_path: Path) -> str:
    path = tmp_path / "flight.log"
    path.write_bytes(b"".join(map(encode_nmea, flight(20))) + GARBAGE + b"$GPRMC,1*00\r\n")
    return f"nmea+file://{path}?speed=max"


def test_watch_shows_fields_rates_and_rejected_lines(url, capsys):
    assert main(["feed", "watch", url]) == 0
    out = capsys.readouterr().out
    assert "first fix with utc, altitude_ft" in out
    assert "fixes 20, gaps 0" in out
    assert "GPRMC" in out
    assert "1  checksum, the last: $GPRMC,1*00" in out
    assert "\\x1b[2J[/red] [bold] \\xff" in out
    assert "\x1b[2J" not in out


def test_watch_gives_one_json_object_and_nothing_else(url, capsys):
    assert main(["feed", "watch", url, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["fixes"], told["sentences"]["GPGGA"]) == (20, 20)
    assert told["rejected"]["checksum"]["count"] == 1


def test_watch_of_a_feed_without_a_position_fails(tmp_path, capsys):
    path = tmp_path / "binary.log"
    path.write_bytes(bytes(range(256)))
    assert main(["feed", "watch", f"nmea+file://{path}", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["position"] is None


def test_watch_names_the_remedy_for_long_sentences(tmp_path, capsys):
    path = tmp_path / "long.log"
    path.write_bytes(b"$GPGGA," + b"0" * 90 + b"*00\r\n")
    main(["feed", "watch", f"nmea+file://{path}"])
    assert "?longest=120" in capsys.readouterr().out


def test_watch_stops_after_its_seconds(capsys):
    assert main(["feed", "watch", "nmea+tcp://127.0.0.1:1", "--seconds", "0.01"]) == 1
    assert "no connection to 127.0.0.1:1" in capsys.readouterr().out


def test_watch_tells_losses_the_return_and_how_it_stands(url, capsys, monkeypatch):
    bare = Fix(at_s=7.0, lat_deg=-33.0, lon_deg=12.5, source="nmea")
    steps = [
        (1.0, (Lost(reason="no fix", since_s=0.0),)),
        (6.0, ()),
        (7.0, (Back(at_s=7.0), bare)),
        (8.0, (replace(bare, at_s=8.0, ground_speed_kt=90.0),)),
        (9.0, (Lost(reason="silent", since_s=8.0),)),
        (12.0, ()),
        (69.96, None),
    ]
    now_s = [0.0]

    def read(_: object) -> object:
        now_s[0], news = steps.pop(0)
        return news

    monkeypatch.setattr("coach.feed.reader.FeedReader.read", read)
    monkeypatch.setattr("coach.cli.feed.SessionClock.now_s", lambda _: now_s[0])
    assert main(["feed", "watch", url]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[1:9] == [
        "  0:01.0  lost: no fix, no fix so far",
        "  0:06.0  no fix yet, 0 bytes",
        "  0:07.0  back",
        "  0:07.0  first fix, a position and nothing else",
        "  0:08.0  first fix with ground_speed_kt",
        "  0:09.0  lost: silent, last good fix at 0:08.0",
        "  0:12.0  2 fixes (1.0 a second), last 33.0000 S 12.5000 E, rejected 0",
        "  1:10.0  the feed has ended",
    ]


def test_interrupted_watch_still_sums_up(url, capsys, monkeypatch):
    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("coach.feed.reader.FeedReader.read", interrupt)
    assert main(["feed", "watch", url]) == 130
    assert "Watched for" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("typed", "status"), [("nmea", 2), ("nmea+file:///no/such/file", 2), ("nmea+udp://192.0.2.1", 3)]
)
def test_bad_address_is_one_line_and_its_status(typed: str, status: int, capsys):
    assert main(["feed", "watch", typed]) == status
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1


@pytest.mark.parametrize("text", ["0", "-1", "abc", "nan", "inf"])
def test_impossible_seconds_are_told(text: str, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["feed", "watch", "nmea+udp://", f"--seconds={text}"])
    assert caught.value.code == 2
    assert f"expected seconds above 0, got '{text}'" in capsys.readouterr().err


def test_help_names_every_form_of_address(capsys):
    with pytest.raises(SystemExit):
        main(["feed", "watch", "--help"])
    out = capsys.readouterr().out
    for form in ("nmea+udp://", "nmea+tcp://", "nmea+serial://", "nmea+file://", "gdl90"):
        assert form in out
