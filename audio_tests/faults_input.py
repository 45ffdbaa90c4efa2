"""Input from outside, mutated: no crash, no hang over a second, memory under 300 MB.

Each kind is read in a process of its own, as the coach reads it, and must give what it is or the one kind of
error that its reader promises. `python -m audio_tests.faults_input KIND TIMES SEED` is such a process.
"""

from __future__ import annotations

import json
import random
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from audio_tests.fault_trials import Chance, Trial
from coach.drill.compiler import compile_drill
from coach.drill.plan import plan_drill
from coach.errors import CoachError, DrillError, SettingsError
from coach.fixes.decoder import Form, make_decoder
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.nmea_encoder import encode_nmea
from coach.fixes.track_form import decode_track
from coach.page.commands import parse_command
from coach.session.actions import Listen, Say
from coach.session.events import EdgeFailed, PhraseHeard, SessionStarted
from coach.session.journal import Header, encode_line, parse_journal, split_lines
from coach.settings import check_settings
from coach.store.documents import parse_document
from coach.store.drills import drills_folder
from coach.store.navaid_csv import parse_navaids
from tests.fixes.samples import flight

LONGEST_S = 1.0
MOST_MB = 300.0
"""The issue's own limits."""

AT_MOST_S = 3000.0
"""A kind that takes longer is ended: it hangs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of input."""

    samples: tuple[bytes, ...]
    read: Callable[[bytes], object]
    promised: tuple[type[Exception], ...] = (CoachError,)
    """What the reader may raise."""


def _text(content: bytes) -> str:
    return content.decode("utf-8", "replace")


def _read_drill(content: bytes) -> object:
    source = parse_document(_text(content), DrillError, name="drill", file="drill.yaml")
    return plan_drill(compile_drill(source, {}))


def _read_settings(content: bytes) -> object:
    return check_settings(
        parse_document(_text(content), SettingsError, name="settings", file="settings.yaml"), {}
    )


class _Stream:
    """A decoder that lives on from one mutated piece to the next, as in a flight."""

    def __init__(self, form: Form) -> None:
        self._decoder = make_decoder(form)

    def read(self, content: bytes) -> object:
        return self._decoder.feed(content, 0.0)


GPX = b"""<?xml version="1.0"?>
<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>
<trkpt lat="-40.0" lon="-110.0"><ele>600.5</ele><time>2031-05-04T09:30:00Z</time></trkpt>
<trkpt lat="-40.001" lon="-110.0"><ele>601</ele><time>2031-05-04T09:30:01Z</time></trkpt>
<trkpt lat="-40.002" lon="-110.0"><time>2031-05-04T09:30:02.5Z</time></trkpt>
</trkseg></trk></gpx>
"""
IGC = b"""AXXX000
HFDTE040531
HFFXA035
B0930004000000S11000000WA0060000610
B0930014000060S11000000WA0060100611
B0930024000120S11000000WV0060200612
B0930034000180S11000000WA0060300613
"""
CSV = b"""utc,latitude,longitude,altitude_ft
2031-05-04T09:30:00Z,-40.0,-110.0,2000
2031-05-04T09:30:01Z,-40.001,-110.0,2001
"""
NAVAIDS = b"""\
id,ident,name,type,frequency_khz,latitude_deg,longitude_deg,elevation_ft,iso_country,slaved_variation_deg
1,QQQ,"Nowhere, Deep",VOR-DME,113000,-40.0,-110.0,,ZZ,12.267
2,QQR,Nowhere Deeper,VOR,114200,-45.5,-120.2,10,ZZ,19
3,QQS,Another,NDB,320,-46.5,-121.2,,ZZ,
"""
SETTINGS = b"talk: full\ntas_kt: 95\nheading_check_min: 0\ndigits: icao\nvolume: 0.8\nrecogniser: auto\n"


def _journal() -> bytes:
    header = Header(
        version=1,
        drill="eight-spoke",
        drill_settings=(("leg_s", "60"),),
        began_utc=datetime(2031, 5, 4, 9, 30, tzinfo=UTC),
        coach_version="0",
    )
    lines = (
        header,
        SessionStarted(at_s=0.5, onset_s=0.5),
        Say(prompt=1, text="Left", due_s=None, stale_s=4.5, is_time_call=False),
        Listen(phrases=("station passage", "say again")),
        PhraseHeard(at_s=60.5, onset_s=60.0, phrase="station passage", by="voice", score=0.75),
        EdgeFailed(at_s=61.0, onset_s=61.0, edge="ear", reason="gone"),
    )
    return "".join(f"{encode_line(line)}\n" for line in lines).encode()


def _read_journal(content: bytes) -> object:
    return parse_journal(split_lines(content)[0])


def _commands() -> tuple[bytes, ...]:
    commands = (("phrase", "stand by", 0.5), ("bookmark", "late", 0), ("note", "Nose high \u2026", 12.5))
    return tuple(
        json.dumps({"number": f"{n}", "do": do, "what": what, "age_s": age_s}).encode()
        for n, (do, what, age_s) in enumerate(commands)
    )


def find_kinds() -> dict[str, Kind]:
    """Every kind of input from outside, by its name."""
    full = tuple(replace(fix, heading_mag_deg=20.0, airspeed_kt=95.5) for fix in flight(3))
    drills = tuple(path.read_bytes() for path in sorted(drills_folder().glob("*.yaml")))
    return {
        "drill": Kind(samples=drills, read=_read_drill),
        "settings": Kind(samples=(SETTINGS,), read=_read_settings),
        "stations": Kind(samples=(NAVAIDS,), read=lambda content: parse_navaids(content, "navaids.csv")),
        "GPX": Kind(samples=(GPX,), read=lambda content: decode_track(content, name="track.gpx")),
        "IGC": Kind(samples=(IGC,), read=lambda content: decode_track(content, name="track.igc")),
        "track CSV": Kind(samples=(CSV,), read=lambda content: decode_track(content, name="track.csv")),
        "NMEA": Kind(samples=tuple(map(encode_nmea, full)), read=_Stream("nmea").read, promised=()),
        "GDL 90": Kind(samples=tuple(map(encode_gdl90, full)), read=_Stream("gdl90").read, promised=()),
        "journal": Kind(samples=(_journal(),), read=_read_journal),
        "page message": Kind(samples=_commands(), read=parse_command, promised=(ValueError,)),
    }


TIMES = {
    "drill": 40_000,
    "settings": 60_000,
    "stations": 60_000,
    "GPX": 80_000,
    "IGC": 60_000,
    "track CSV": 50_000,
    "NMEA": 250_000,
    "GDL 90": 250_000,
    "journal": 100_000,
    "page message": 50_000,
}
"""A million in all."""

PIECES = (
    b"\x00", b"\n", b"\r\n", b"\xff", b"\xc3", b"\x7e", b"\x7d", b"$", b"*", b",", b'"', b"'", b"{", b"}",
    b"[", b"]", b"<", b">", b"&lol;", b'<!DOCTYPE x [<!ENTITY a "b">]>', b"&#x0;", b"- ", b": ", b"&a ",
    b"*a ",
    b"!!python/name:os.system ", b"---\n", b"nan", b"inf", b"-1", b"1e999", b"9" * 400, b"null", b"true",
    b"../../etc/passwd", b"\xef\xbb\xbf", b"[" * 3000, b"<a>" * 300, b'{"a":' * 500, b" " * 2000,
    b"\xe2\x80\xa8",
)  # fmt: skip


def mutate(sample: bytes, chance: random.Random) -> bytes:
    """One to six bytes or pieces changed, lost, doubled, moved or put in."""
    changed = bytearray(sample)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        at, length = chance.randrange(len(changed) + 1), chance.randrange(40)
        match chance.randrange(8):
            case 0 | 1:
                changed[at : at + 1] = bytes((chance.randrange(256),))
            case 2:
                del changed[at : at + length]
            case 3:
                changed[at:at] = changed[at : at + length]
            case 4 | 5:
                changed[at:at] = chance.choice(PIECES)
            case 6:
                to = chance.randrange(len(changed) + 1)
                changed[to:to] = changed[at : at + length]
            case 7:
                if chance.random() < 0.1:
                    del changed[at:]
                elif chance.random() < 0.02:
                    changed = changed * chance.randrange(2, 40)
    return bytes(changed)


def run_kind(name: str, times: int, seed: int) -> dict[str, object]:
    """Read so many mutated inputs of a kind; what was wrong, the longest time, the memory."""
    kind, chance = find_kinds()[name], random.Random(f"{name} {seed}")
    longest_s, wrong, taken = 0.0, {}, 0
    for _ in range(times):
        content = mutate(chance.choice(kind.samples), chance)
        # Processor time: how busy the machine is beside does not count, and nothing here ever waits.
        began_s = time.process_time()
        try:
            kind.read(content)
            taken += 1
        except kind.promised as error:
            if not str(error):
                wrong["an error without a word"] = content[:200].hex()
        except Exception as error:
            wrong[f"{type(error).__name__}: {error!s:.150}"] = content[:2000].hex()
        took_s = time.process_time() - began_s
        if took_s > LONGEST_S:
            wrong[f"took {took_s:.1f} s"] = content[:2000].hex()
        longest_s = max(longest_s, took_s)
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"wrong": wrong, "longest_s": longest_s, "memory_mb": memory_mb, "taken": taken}


def input_trials(name: str) -> Callable[[int, Chance], Iterator[Trial]]:
    """Mutated inputs of one kind, in a process of their own."""

    def tries(times: int, chance: Chance) -> Iterator[Trial]:
        command = [
            sys.executable,
            "-m",
            "audio_tests.faults_input",
            name,
            f"{times}",
            f"{chance.randrange(10**9)}",
        ]
        done = subprocess.run(command, capture_output=True, text=True, timeout=AT_MOST_S, check=False)
        if done.returncode:
            yield Trial(why=f"the process ended with {done.returncode}: {done.stderr[-300:]}", count=times)
            return
        seen = json.loads(done.stdout)
        why = [f"{what} ({content[:60]})" for what, content in seen["wrong"].items()]
        if seen["memory_mb"] > MOST_MB:
            why.append(f"memory {seen['memory_mb']:.0f} MB")
        if not seen["taken"]:
            why.append("no mutated input was ever taken: the trial tries nothing")
        for reason in why:
            yield Trial(why=reason)
        note = f"longest {seen['longest_s'] * 1e3:.0f} ms, memory {seen['memory_mb']:.0f} MB"
        yield Trial(count=times - len(why), note=f"{note}, {seen['taken']} taken")

    return tries


if __name__ == "__main__":
    print(json.dumps(run_kind(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))))
