"""NMEA 0183 bytes to fixes: the sentences of one instant become one fix.

A receiver spreads an instant over several sentences (RMC: track and date, GGA: altitude) in an order of its
own. The decoder learns which of them belong together and gives the fix with the last of them; an instant that
lacks one is given when the next begins, or when `flush` says that the feed has paused. Heading, airspeed,
wind and VTG carry no time: the latest not older than `HOLD_S` is taken. Never waits, never reads a clock.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from coach.fixes.fix import Fix
from coach.fixes.reports import CHECKSUM, NOT_ASCII, BadSentenceError, Report, parse_sentence, sender_of
from coach.fixes.sentences import LONGEST, SentenceCutter
from coach.fixes.tally import Rejected, Tally

HOLD_S = 2.0
"""How long a value without a time of its own is believed; our own choice, two cycles of a 1 Hz sensor."""

SAME_AGAIN = "the same time again"
"""A sentence of an instant that had it already: a clock that stands still, or two senders at once."""

UNTIMED = ("VTG", "HDT", "HDG", "HDM", "VHW", "MWV true", "MWV relative")
"""Sentences without a time, the best source of a value first."""

_TIMED = ("RMC", "GGA")
_HALF_DAY_S = 43_200.0
_DAY = timedelta(days=1)


@dataclass(slots=True)
class _Instant:
    """One instant while its sentences arrive."""

    time_s: float
    at_s: float
    values: dict[str, Any] = field(default_factory=dict)
    senders: set[str] = field(default_factory=set)
    midnight: datetime | None = None
    is_blocked: bool = False
    """RMC says that the receiver has no fix (N12): whatever else arrives, there is none."""

    is_given: bool = False


class NmeaDecoder:
    """Takes bytes in any division; gives the same fixes and refusals."""

    def __init__(self, *, longest: int = LONGEST) -> None:
        """`longest`: characters of a sentence besides `$` and line end; the standard allows 80."""
        self.tally = Tally()
        self._cutter = SentenceCutter(longest)
        self._instant: _Instant | None = None
        self._cycles: tuple[set[str], set[str]] = (set(), set())
        self._held: dict[str, tuple[float, dict[str, Any]]] = {}
        self._midnight: datetime | None = None
        self._dated_s = 0.0

    def feed(self, data: bytes, at_s: float) -> tuple[Fix | Rejected, ...]:
        """Take bytes that arrived at `at_s` (session clock); return what they completed, in order."""
        self.tally.n_bytes += len(data)
        found: list[Fix | Rejected] = []
        for piece, problem in self._cutter.cut(data):
            reason = problem or self._read(piece, at_s, found)
            if reason is not None:
                found.append(self.tally.reject(reason, piece, at_s))
        return tuple(found)

    def flush(self) -> tuple[Fix | Rejected, ...]:
        """The feed has paused: give the instant that is waiting for more."""
        found: list[Fix | Rejected] = []
        self._give(found)
        return tuple(found)

    def _read(self, piece: bytes, at_s: float, found: list[Fix | Rejected]) -> str | None:
        """Take one whole sentence; return why it is refused."""
        try:
            text = piece.decode("ascii")
        except UnicodeDecodeError:
            return NOT_ASCII
        try:
            report = parse_sentence(text)
        except BadSentenceError as error:
            self._count_bad(text, error.reason)
            return error.reason
        if isinstance(report, str):
            self.tally.count(report)
            return None
        self.tally.count(report.sender)
        return self._take(report, at_s, found)

    def _count_bad(self, text: str, reason: str) -> None:
        # A sentence with a wrong checksum may have a wrong name: only what is whole is counted by name.
        if reason != CHECKSUM and text[1:6].isalnum():
            self.tally.count(sender_of(text))

    def _take(self, report: Report, at_s: float, found: list[Fix | Rejected]) -> str | None:
        if report.time_s is None:
            self._hold(report, at_s)
        instant = self._instant_of(report, at_s, found)
        if instant is None:
            return report.problem
        problem = report.problem
        if report.time_s is not None and report.sender in instant.senders:
            problem = SAME_AGAIN
        elif report.kind in _TIMED:
            self._join(instant, report)
        if not instant.is_given:
            instant.at_s = at_s
        instant.senders.add(report.sender)
        if self._is_complete(instant):
            self._give(found)
        return problem

    def _hold(self, report: Report, at_s: float) -> None:
        kind = report.kind
        if kind == "MWV":
            kind = f"MWV {report.values.get('wind_reference', 'relative')}"
        self._held[kind] = (at_s, report.values)

    def _instant_of(self, report: Report, at_s: float, found: list[Fix | Rejected]) -> _Instant | None:
        """Return the instant a sentence belongs to; a new time begins a new one."""
        now = self._instant
        if report.time_s is None:
            return now if report.kind == "VTG" and now is not None else None
        if now is not None and now.time_s == report.time_s:
            return now
        self._give(found)
        if now is not None:
            self._cycles = (self._cycles[1], now.senders)
        self._instant = _Instant(report.time_s, at_s)
        return self._instant

    def _join(self, instant: _Instant, report: Report) -> None:
        if report.problem is not None:
            instant.is_blocked |= report.kind == "RMC"
            return
        instant.midnight = instant.midnight or report.midnight
        for name, value in report.values.items():
            instant.values.setdefault(name, value)

    def _is_complete(self, instant: _Instant) -> bool:
        """Whether it has all that the two instants before it had: one lost sentence changes nothing."""
        earlier, last = self._cycles
        return bool(last) and instant.senders >= last and instant.senders >= earlier

    def _give(self, found: list[Fix | Rejected]) -> None:
        instant = self._instant
        if instant is None or instant.is_given:
            return
        instant.is_given = True
        if instant.is_blocked or "lat_deg" not in instant.values:
            return
        self.tally.fixes += 1
        found.append(self._fix(instant))

    def _fix(self, instant: _Instant) -> Fix:
        values = instant.values
        for kind in UNTIMED:
            held_s, held = self._held.get(kind, (float("-inf"), {}))
            if instant.at_s - held_s <= HOLD_S:
                values = held | values
        midnight = self._midnight_of(instant)
        return Fix(
            at_s=instant.at_s,
            source="nmea",
            utc=None if midnight is None else midnight + timedelta(seconds=instant.time_s),
            utc_of_day_s=instant.time_s,
            **values,
        )

    def _midnight_of(self, instant: _Instant) -> datetime | None:
        """Return the date: its own, or the last one given, a day later where the clock has gone round."""
        if instant.midnight is not None:
            self._midnight = instant.midnight
        elif self._midnight is not None and instant.time_s < self._dated_s - _HALF_DAY_S:
            self._midnight += _DAY
        self._dated_s = instant.time_s
        return self._midnight
