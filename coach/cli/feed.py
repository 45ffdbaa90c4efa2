"""`coach feed watch`: what a feed brings, as it comes and summed up at the end.

Exit 0 where a position came, 1 where none did, 130 where it was interrupted.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from rich.markup import escape

from coach.cli.output import line, print_json, table
from coach.cockpit import SessionClock
from coach.feed.address import parse_feed_address
from coach.feed.reader import FeedReader, News
from coach.feed.sightings import Sightings, encode_sightings
from coach.fixes.continuity import Back, Lost
from coach.fixes.fix import Fix
from coach.fixes.tally import Rejected

STATUS_EVERY_S = 5.0
"""A line about rates and the latest position so often."""

INTERRUPTED = 130
TOO_LONG_HINT = "Some receivers send longer sentences than the standard allows: add ?longest=120 to the URL."


def run(options: argparse.Namespace) -> int:
    """Watch a feed until it ends, the time is over, or interrupted."""
    watching = _Watching(options)
    watching.reader.open()
    is_interrupted = False
    try:
        watching.watch(options.seconds)
    except KeyboardInterrupt:
        is_interrupted = True
    finally:
        watching.reader.close()
    watching.sum_up()
    if is_interrupted:
        return INTERRUPTED
    return 0 if watching.seen.n_fixes else 1


class _Watching:
    """One feed, looked at."""

    def __init__(self, options: argparse.Namespace) -> None:
        self._is_quiet = options.json
        self._url = options.url
        self._clock = SessionClock()
        self._shown: set[str] = set()
        self._status_s = STATUS_EVERY_S
        address = parse_feed_address(options.url, where="URL")
        self.seen = Sightings(is_replay=address.transport == "file")
        self.reader = FeedReader(address, self._tell, self._clock.now_s)

    def watch(self, seconds: float | None) -> None:
        """Read until the feed has ended or the seconds are over."""
        while seconds is None or self._clock.now_s() < seconds:
            news = self.reader.read()
            now_s = self._clock.now_s()
            if news is None:
                self._tell("the feed has ended")
                return
            self.seen.take(news, now_s)
            for text in self._texts(news):
                self._tell(text)
            if now_s >= self._status_s:
                self._status_s = now_s + STATUS_EVERY_S
                self._tell(self._status())

    def sum_up(self) -> None:
        """Show the counts."""
        seconds = self._clock.now_s()
        tally = self.reader.decoder.tally
        if self._is_quiet:
            summed = encode_sightings(self.seen, tally, self.reader.watch.dropped, seconds)
            print_json({"feed": self._url} | summed)
            return
        line()
        line(_total(self.seen, tally.n_bytes, seconds))
        for columns, rows in self._tables(seconds):
            if rows:
                line()
                table(columns, rows)
        self._refusals()
        if any(reason.startswith("longer than") for reason in tally.rejected):
            line(TOO_LONG_HINT)

    def _refusals(self) -> None:
        tally = self.reader.decoder.tally
        if tally.rejected:
            line()
            line("rejected")
        for reason, n in tally.rejected.items():
            line(f"{n:8d}  {reason}, the last: {tally.examples[reason]}")

    def _tell(self, text: str) -> None:
        if not self._is_quiet:
            line(f"{_stamp(self._clock.now_s())}  {text}")

    def _texts(self, news: tuple[News, ...]) -> Iterator[str]:
        """What of the news is worth a line: each kind of refusal and each field once, every loss."""
        for thing in news:
            if isinstance(thing, Lost):
                last = f"last good fix at {_stamp(thing.since_s).strip()}"
                yield f"lost: {thing.reason}, {last if self.seen.n_fixes else 'no fix so far'}"
            elif isinstance(thing, Back):
                yield "back"
            elif isinstance(thing, Rejected) and thing.reason not in self._shown:
                self._shown.add(thing.reason)
                yield f"rejected, {thing.reason}: {thing.text}"
            elif isinstance(thing, Fix):
                yield from self._new_fields(thing)

    def _new_fields(self, fix: Fix) -> Iterator[str]:
        new = [name for name in self.seen.given if name not in self._shown and getattr(fix, name) is not None]
        if new:
            self._shown.update(new)
            yield f"first fix with {', '.join(new)}"
        elif self.seen.n_fixes == 1:
            yield "first fix, a position and nothing else"

    def _status(self) -> str:
        last, rate = self.seen.last, self.seen.fixes_per_s
        if last is None:
            return f"no fix yet, {self.reader.decoder.tally.n_bytes} bytes"
        many = sum(self.reader.decoder.tally.rejected.values())
        place = f"{_side(last.lat_deg, 'NS')} {_side(last.lon_deg, 'EW')}"
        often = "" if rate is None else f" ({rate:.1f} a second)"
        return f"{self.seen.n_fixes} fixes{often}, last {place}, rejected {many}"

    def _tables(self, seconds: float) -> Iterator[tuple[tuple[str, ...], list[tuple[str, ...]]]]:
        tally = self.reader.decoder.tally
        yield (
            ("sentence", "count", "a second"),
            [(escape(kind), str(n), f"{n / seconds:.2f}") for kind, n in sorted(tally.kinds.items())],
        )
        yield (
            ("field", "fixes", "last"),
            [(name, str(n), _value(value)) for name, (n, value) in self.seen.given.items()],
        )
        yield ("not believed", "fixes"), [(why, str(n)) for why, n in self.reader.watch.dropped.items()]


def _total(seen: Sightings, n_bytes: int, seconds: float) -> str:
    longest = "" if seen.longest_gap_s is None else f" (longest {seen.longest_gap_s:.1f} s)"
    counts = f"fixes {seen.n_fixes}, gaps {seen.n_gaps}{longest}, lost {seen.n_losses}"
    return f"Watched for {seconds:.1f} s: bytes {n_bytes}, {counts}"


def _stamp(at_s: float) -> str:
    minutes, seconds = divmod(int(at_s * 10 + 0.5) / 10, 60)
    return f"{int(minutes):3d}:{seconds:04.1f}"


def _side(angle_deg: float, letters: str) -> str:
    return f"{abs(angle_deg):.4f} {letters[0] if angle_deg >= 0 else letters[1]}"


def _value(value: object) -> str:
    return f"{value:.1f}" if isinstance(value, float) else str(value)
