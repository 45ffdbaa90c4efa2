"""The feed measured: `python -m audio_tests.bench_feed [--only NAME] [--json]`.

Strict decoding beside bare pynmea2 on the same sentences, in turns; bytes in to event out over a real socket
on loopback; an hour of fixes at 100 a second on a simulated clock through decoder, watch and the flight's
queue; mutated bytes with the size of all that the decoders keep. Exit 1 where a bound is not held.

On a machine that is busy the delays are the scheduler's: `chrt -r 5` before the command takes them out.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import queue
import random
import socket
import statistics
import sys
import threading
import time
import tracemalloc
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import pynmea2

from coach.cockpit import QUEUE_SIZE, Inbox
from coach.feed.address import parse_feed_address
from coach.feed.worker import FeedWorker
from coach.fixes.continuity import FeedWatch
from coach.fixes.decoder import Decoder, make_decoder
from coach.fixes.fix import Fix
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.nmea_encoder import encode_gga, encode_hdg, encode_nmea, encode_rmc, encode_vhw
from coach.fixes.nmea_fields import BadSentenceError
from coach.fixes.reports import parse_sentence
from coach.fixes.sentences import SentenceCutter
from coach.session.events import FixReceived, Woken
from tests.fixes.mutated_bytes import DECODERS, held_bytes, mutate
from tests.fixes.samples import flight

LEAST_RATIO = 0.3
"""Of bare pynmea2's speed (the customer's figure)."""

LEAST_RATIO_TO_FIXES = 0.2
"""With fixes made of them; our own choice, to notice when it gets slow."""

MOST_LATENCY_MS = 5.0
"""At the 99th percentile (the customer's figure), beyond what a bare thread and queue take beside it."""

ROUNDS = 9
"""Each kind of decoding is timed so often, in turns; the median counts: the machine does other things too."""

MOST_GROWN_BYTES = 10_000
"""Between a tenth and all of the mutated bytes; our own choice."""

MEASURES = ("decoding", "latency_ms", "hour", "mutated")

Encode = Callable[[Fix], bytes]


def main(argv: Sequence[str] | None = None) -> int:
    """Measure, print, judge."""
    options = _parser().parse_args(argv)
    measures: dict[str, Callable[[], dict[str, Any]]] = {
        "decoding": measure_decoding,
        "latency_ms": lambda: {form: measure_latency(form, FORMS[form], options.seconds) for form in FORMS},
        "hour": lambda: {form: measure_hour(form, FORMS[form], options.fixes) for form in FORMS},
        "mutated": lambda: {name: measure_mutated(name, options.bytes) for name in DECODERS},
    }
    figures = {name: run() if options.only in (None, name) else {} for name, run in measures.items()}
    print(json.dumps(figures, indent=None if options.json else 1))
    problems = find_problems(figures)
    for problem in problems:
        print(problem, file=sys.stderr)
    return 1 if problems else 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="bench_feed", description="Measure the feed.")
    parser.add_argument("--json", action="store_true", help="on one line")
    parser.add_argument("--only", choices=MEASURES, help="one of the four")
    parser.add_argument("--seconds", type=float, default=20.0, help="of sending over the socket (20)")
    parser.add_argument(
        "--bytes", type=int, default=1_000_000, help="mutated bytes for each decoder (1,000,000)"
    )
    parser.add_argument("--fixes", type=int, default=360_000, help="at 100 a second (360,000)")
    return parser


FORMS: dict[str, Encode] = {"nmea": encode_nmea, "gdl90": encode_gdl90}


def measure_decoding() -> dict[str, Any]:
    """Microseconds of a sentence, bare and strict, and their ratio, for made streams and real logs."""
    return {name: _compare(parts) for name, parts in _streams().items()}


def _streams() -> dict[str, list[bytes]]:
    fixes = list(flight(3000, 0.1))
    streams = {
        "RMC alone": [encode_rmc(fix) for fix in fixes],
        "RMC and GGA": [encode_rmc(fix) + encode_gga(fix) for fix in fixes],
        "RMC, GGA, HDG, VHW": [
            encode_rmc(fix) + encode_gga(fix) + encode_hdg(20.0, 11.0) + encode_vhw(None, None, 95.0)
            for fix in fixes
        ],
    }
    shared = os.environ.get("COACH_SHARED")
    for path in sorted(Path(shared, "data", "nmea").glob("*.log")) if shared else ():
        parts = [
            line.strip() + b"\r\n" for line in path.read_bytes().splitlines() if _is_parsed(line.strip())
        ]
        if len(parts) > 300:
            streams[path.name] = parts
    return streams


def _is_parsed(line: bytes) -> bool:
    """Whether bare pynmea2 takes it: the sentences that it refuses are not compared."""
    try:
        pynmea2.parse(line.decode("ascii"), check=True)
    except (ValueError, UnicodeDecodeError):
        return False
    return len(line) <= 81


def _compare(parts: list[bytes]) -> dict[str, float]:
    """`ratio`: bytes to checked values, sentence by sentence; `ratio_to_fixes`: merged into fixes besides."""
    sentences = [line for part in parts for line in part.decode().split("\r\n") if line]
    bare, strict, to_fixes = [], [], []
    for _ in range(ROUNDS):
        bare.append(_timed(lambda: [pynmea2.parse(line, check=True) for line in sentences]))
        strict.append(_timed(lambda: _read_strictly(parts)))
        decoder = make_decoder("nmea")
        to_fixes.append(_timed(lambda decoder=decoder: [decoder.feed(part, 0.0) for part in parts]))
    each = 1e6 / len(sentences)
    return {
        "sentences": len(sentences),
        "bare_us": round(statistics.median(bare) * each, 2),
        "strict_us": round(statistics.median(strict) * each, 2),
        "to_fixes_us": round(statistics.median(to_fixes) * each, 2),
        "ratio": _ratio(bare, strict),
        "ratio_to_fixes": _ratio(bare, to_fixes),
    }


def _read_strictly(parts: list[bytes]) -> None:
    cutter = SentenceCutter()
    for part in parts:
        for piece, _ in cutter.cut(part):
            with suppress(BadSentenceError):
                parse_sentence(piece.decode("ascii"))


def _ratio(bare: list[float], ours: list[float]) -> float:
    return round(statistics.median(of_bare / of_ours for of_bare, of_ours in zip(bare, ours, strict=True)), 3)


def _timed(run: Callable[[], object]) -> float:
    began_s = time.process_time()
    run()
    return time.process_time() - began_s


def measure_latency(form: str, encode: Encode, seconds: float) -> dict[str, Any]:
    """From the send call to the loop having taken the event: socket, thread, decoder, watch, queue.

    In turns with it `bare`: a thread that puts the datagram into a queue as it is; what both wait for is the
    machine's, not ours.
    """
    inbox, queued = Inbox(time.monotonic), queue.Queue[bytes]()
    ours, bare = _free_port(), _free_port()
    worker = FeedWorker(parse_feed_address(f"{form}+udp://:{ours}"), post=inbox.post, now_s=time.monotonic)
    worker.start()
    threading.Thread(target=_pass_on, args=(bare, queued), daemon=True).start()
    delays: dict[str, list[float]] = {"ours": [], "bare": []}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        for fix in flight(int(seconds * 20), 0.05):
            data = encode(fix)
            delays["ours"].append(_delay_ms(sender, data, ours, lambda: _take_fix(inbox)))
            delays["bare"].append(_delay_ms(sender, data, bare, lambda: queued.get(timeout=10.0)))
            time.sleep(0.05)
    worker.close()
    return {name: _percentiles(delays_ms) for name, delays_ms in delays.items()}


def _free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _pass_on(port: int, queued: queue.Queue[bytes]) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as receiver:
        receiver.bind(("127.0.0.1", port))
        while True:
            queued.put(receiver.recv(65_536))


def _delay_ms(sender: socket.socket, data: bytes, port: int, take: Callable[[], object]) -> float:
    sender.sendto(data, ("127.0.0.1", port))
    sent_s = time.monotonic()
    take()
    return (time.monotonic() - sent_s) * 1000


def _take_fix(inbox: Inbox) -> None:
    """The next fix; one that does not come is a failure, not a delay."""
    until_s = time.monotonic() + 10.0
    while not isinstance(event := inbox.take(until_s), FixReceived):
        if isinstance(event, Woken):
            raise AssertionError("a fix that was sent did not come")


def _percentiles(delays_ms: list[float]) -> dict[str, float]:
    ordered = sorted(delays_ms)
    return {
        "fixes": len(ordered),
        "p50": round(statistics.median(ordered), 3),
        "p99": round(ordered[int(len(ordered) * 0.99)], 3),
        "max": round(ordered[-1], 3),
    }


def measure_hour(form: str, encode: Encode, count: int) -> dict[str, float]:
    """Fixes at 100 a second on a simulated clock, the loop taking what there is ten times a second.

    `most_waiting`: facts that waited in the flight's queue at once.
    """
    decoder, watch, clock = make_decoder(form), FeedWatch(0.0), [0.0]
    inbox = Inbox(lambda: clock[0])
    waiting = most_waiting = taken = 0
    began_s, began_cpu_s = time.monotonic(), time.process_time()
    for n, fix in enumerate(flight(count, 0.01)):
        clock[0] = fix.at_s
        waiting += _post(decoder, watch, encode(fix), inbox)
        if n % 10 == 9:
            most_waiting = max(most_waiting, waiting)
            taken += _drain(inbox, waiting, clock[0])
            waiting = 0
    taken += _drain(inbox, waiting, clock[0])
    return {
        "fixes_in": count,
        "events_out": taken,
        "lost_in_queue": inbox.lost,
        "most_waiting": most_waiting,
        "queue": QUEUE_SIZE,
        "simulated_s": count / 100,
        "wall_s": round(time.monotonic() - began_s, 1),
        "cpu_s": round(time.process_time() - began_cpu_s, 1),
    }


def _post(decoder: Decoder, watch: FeedWatch, data: bytes, inbox: Inbox) -> int:
    posted = 0
    for found in decoder.feed(data, inbox._now_s()):
        for thing in watch.take(found) if isinstance(found, Fix) else ():
            if isinstance(thing, Fix):
                inbox.post(FixReceived(at_s=thing.at_s, onset_s=thing.at_s, fix=thing))
                posted += 1
    return posted


def _drain(inbox: Inbox, count: int, now_s: float) -> int:
    return sum(isinstance(inbox.take(now_s), FixReceived) for _ in range(count))


def measure_mutated(name: str, count: int) -> dict[str, Any]:
    """Mutated bytes: what came of them, and how much the decoder and the whole process kept."""
    make, stream = DECODERS[name]
    decoder, chance = make(), random.Random(1)
    most_held = 0
    tracemalloc.start()
    early = 0
    while decoder.tally.n_bytes < count:
        decoder.feed(mutate(stream, chance), 0.0)
        most_held = max(most_held, held_bytes(decoder))
        if not early and decoder.tally.n_bytes >= count / 10:
            early = _kept_bytes()
    late = _kept_bytes()
    tracemalloc.stop()
    return {
        "bytes": decoder.tally.n_bytes,
        "fixes": decoder.tally.fixes,
        "rejected": sum(decoder.tally.rejected.values()),
        "most_held_bytes": most_held,
        "memory_grown_bytes": late - early,
    }


def _kept_bytes() -> int:
    """What is allocated after a collection, which empties the interpreter's stores of freed objects too."""
    gc.collect()
    return tracemalloc.get_traced_memory()[0]


def find_problems(figures: dict[str, Any]) -> list[str]:
    """Which bounds are not held."""
    rows = figures["decoding"].items()
    slow = [f"{name}: ratio {row['ratio']}" for name, row in rows if row["ratio"] < LEAST_RATIO]
    slow += [f"{name}: to fixes" for name, row in rows if row["ratio_to_fixes"] < LEAST_RATIO_TO_FIXES]
    late = [
        f"{form}: p99 {row['ours']['p99']} ms, bare {row['bare']['p99']} ms"
        for form, row in figures["latency_ms"].items()
        if row["ours"]["p99"] > MOST_LATENCY_MS + row["bare"]["p99"]
    ]
    behind = [
        f"{form}: {row['fixes_in'] - row['events_out']} fixes missing, {row['wall_s']} s"
        for form, row in figures["hour"].items()
        if row["events_out"] < row["fixes_in"] - 1
        or row["lost_in_queue"]
        or row["wall_s"] > row["simulated_s"]
    ]
    grown = [
        f"{name}: grown by {row['memory_grown_bytes']}"
        for name, row in figures["mutated"].items()
        if row["memory_grown_bytes"] > MOST_GROWN_BYTES
    ]
    return slow + late + behind + grown


if __name__ == "__main__":
    sys.exit(main())
