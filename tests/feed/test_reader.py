"""Source, decoder and watch in a row, on a source that is told what to give."""

from __future__ import annotations

import pytest

from coach.feed import reader as reader_module
from coach.feed.address import parse_feed_address
from coach.feed.reader import FeedReader
from coach.fixes.continuity import Back, Lost
from coach.fixes.fix import Fix
from coach.fixes.nmea_encoder import encode_nmea, encode_rmc
from coach.fixes.tally import Rejected
from tests.fixes.samples import flight


class Script:
    """Gives the parts of a script at their times, and nothing between them."""

    def __init__(self, parts: list[tuple[float, bytes | None]]) -> None:
        self.parts = parts
        self.now_s = 0.0

    def open(self) -> None:
        self.is_open = True

    def read(self, wait_s: float) -> bytes | None:
        if not self.parts:
            return None
        if self.parts[0][0] > self.now_s + wait_s:
            self.now_s += wait_s
            return b""
        self.now_s = max(self.now_s, self.parts[0][0])
        return self.parts.pop(0)[1]

    def close(self) -> None:
        self.is_open = False


def happened(
    parts: list[tuple[float, bytes | None]], monkeypatch: pytest.MonkeyPatch
) -> list[tuple[float, str]]:
    script = Script(parts)
    monkeypatch.setitem(reader_module.SOURCES, "udp", lambda address, tell: script)
    reader = FeedReader(parse_feed_address("nmea+udp://"), lambda _: None, lambda: script.now_s)
    reader.open()
    words = []
    while (news := reader.read()) is not None:
        words += [(round(script.now_s, 1), word(thing)) for thing in news]
    reader.close()
    assert script.is_open is False
    return words


def word(thing: Fix | Lost | Back | Rejected) -> str:
    if isinstance(thing, Lost | Rejected):
        return thing.reason
    return type(thing).__name__


def test_fixes_come_through_and_the_last_one_at_the_end(monkeypatch):
    parts = [(fix.at_s, encode_nmea(fix)) for fix in flight(3)]
    assert [what for _, what in happened(parts, monkeypatch)] == ["Fix", "Fix", "Fix"]


def test_pause_of_the_feed_gives_the_waiting_fix_within_two_tenths_of_a_second(monkeypatch):
    parts = [(0.0, encode_nmea(next(flight(1)))), (3.0, b"$rubbish\r\n")]
    assert happened(parts, monkeypatch) == [(0.1, "Fix"), (3.0, "cut off before its checksum")]


def test_silence_and_the_return_are_told_once(monkeypatch):
    fixes = list(flight(40))
    parts = [(fix.at_s, encode_rmc(fix)) for n, fix in enumerate(fixes) if not 5 <= n < 30]
    words = [item for item in happened(parts, monkeypatch) if item[1] != "Fix"]
    assert [what for _, what in words] == ["silent", "Back"]
    assert words[0][0] == pytest.approx(9.1, abs=0.2)
    assert words[1][0] == pytest.approx(30.0, abs=0.2)


def test_receiver_that_loses_its_fix_is_no_silence(monkeypatch):
    good = [(fix.at_s, encode_rmc(fix)) for fix in flight(5)]
    bad = [(5.0 + n, b"$GPRMC,09300%d,V,,,,,,,040531,,*1\r\n" % n) for n in range(8)]
    words = [what for _, what in happened(good + bad, monkeypatch)]
    assert "no fix" in words
    assert words.index("no fix") > words.index("Fix")
