"""NMEA 0183 bytes to fixes: the sentences of one instant become one fix.

A receiver spreads an instant over several sentences (RMC: track and date, GGA: altitude) in an order of its
own. The decoder learns which of them belong together and gives the fix with the last of them; an instant that
lacks one is given when the next begins, or when `flush` says that the feed has paused. Heading, airspeed,
wind and VTG carry no time: they belong to the instant that is on, and without them in it the latest not older
than `HOLD_S` are taken. Never waits, never reads a clock.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from coach.fixes.fix import Fix
from coach.fixes.nmea_fields import CHECKSUM, NOT_ASCII, BadSentenceError
from coach.fixes.reports import Report, parse_sentence, sender_of
from coach.fixes.sentences import LONGEST, SentenceCutter
from coach.fixes.tally import Rejected, Tally

HOLD_S = 2.0
"""How long a value without a time of its own is believed; our own choice, two cycles of a 1 Hz sensor."""

SAME_AGAIN = "the same time again"
"""A sentence of an instant that had it already: a clock that stands still, or two senders at once."""

UNTIMED = ("VTG", "HDT", "HDG", "HDM", "VHW", "MWV true", "MWV relative")
"""Sentences without a time, the best source of a value first."""

_HALF_DAY_S = 43_200.0
_DAY = timedelta(days=1)


@dataclass(slots=True)
class _Instant:
    """One instant while its sentences arrive."""

    time_s: float
    values: dict[str, Any]
    senders: set[str]
    midnight: datetime | None
    is_blocked: bool
    """RMC says that the receiver has no fix (N12): whatever else arrives, there is none."""

    at_s: float = 0.0
    """When the last of its sentences that has a time arrived."""

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
            self._hold(report, at_s, found)
            return None
        instant = self._instant
        if instant is None or instant.time_s != report.time_s:
            instant = self._begin(report, report.time_s, found)
        elif report.sender in instant.senders:
            return SAME_AGAIN
        else:
            self._join(instant, report)
        if not instant.is_given:
            instant.at_s = at_s
        self._note(instant, report.sender, found)
        return report.problem

    def _hold(self, report: Report, at_s: float, found: list[Fix | Rejected]) -> None:
        """Keep what has no time; it belongs to the instant that is on, where that still waits."""
        kind = report.kind
        if kind == "MWV":
            kind = f"MWV {report.values.get('wind_reference', 'relative')}"
        self._held[kind] = (at_s, report.values)
        if self._instant is not None:
            self._note(self._instant, report.sender, found)

    def _begin(self, report: Report, time_s: float, found: list[Fix | Rejected]) -> _Instant:
        """A new time ends the instant before it."""
        if self._instant is not None:
            self._give(found)
            self._cycles = (self._cycles[1], self._instant.senders)
        instant = _Instant(time_s, report.values, set(), report.midnight, report.is_blocking)
        self._instant = instant
        return instant

    def _join(self, instant: _Instant, report: Report) -> None:
        instant.values = report.values | instant.values
        instant.midnight = instant.midnight or report.midnight
        instant.is_blocked |= report.is_blocking

    def _note(self, instant: _Instant, sender: str, found: list[Fix | Rejected]) -> None:
        """Note who has reported; the last one of the instant gives the fix."""
        instant.senders.add(sender)
        if not instant.is_given and self._is_complete(instant):
            self._give(found)

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
        for kind in UNTIMED if self._held else ():
            if kind in self._held and instant.at_s - self._held[kind][0] <= HOLD_S:
                values = self._held[kind][1] | values
        midnight = self._midnight_of(instant)
        utc = None if midnight is None else midnight + timedelta(0, instant.time_s)
        return Fix(at_s=instant.at_s, source="nmea", utc=utc, utc_of_day_s=instant.time_s, **values)

    def _midnight_of(self, instant: _Instant) -> datetime | None:
        """Return the date: its own, or the last one given, a day later where the clock has gone round."""
        if instant.midnight is not None:
            self._midnight = instant.midnight
        elif self._midnight is not None and instant.time_s < self._dated_s - _HALF_DAY_S:
            self._midnight += _DAY
        self._dated_s = instant.time_s
        return self._midnight
