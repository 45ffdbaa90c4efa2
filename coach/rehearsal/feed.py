"""The feed of a rehearsal: the aircraft transmits, the coach's own source and decoder receive.

Never passes anything but bytes from one side to the other.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from coach.errors import SetupError
from coach.fixes.continuity import Back, Lost
from coach.fixes.fix import Fix
from coach.fixes.tally import Rejected
from coach.nav.aircraft import Aircraft
from coach.nav.passage import Passage
from coach.nav.station import Station
from coach.rehearsal.flight import Flight, Moment
from coach.rehearsal.receiver import BySocket, HandedOver, Receiver
from coach.rehearsal.transcript import BY_FEED, Transcript
from coach.rehearsal.transmitter import FeedConditions, Transmitter
from coach.session.actions import Record
from coach.session.checkpoints import Seen
from coach.session.events import FeedBack, FeedLost, FixReceived
from coach.settings import Settings

FeedEvent = FixReceived | FeedLost | FeedBack

OPENING = ("Left", "Right", "Outbound", "Drill complete")
"""How what is said at a passage begins."""


class RehearsalFeed:
    """One flight's feed."""

    def __init__(
        self,
        conditions: FeedConditions,
        transmitter: Transmitter,
        receiver: Receiver,
        recording: BinaryIO | None = None,
    ) -> None:
        """`recording`: where every byte that arrives goes too."""
        self.conditions = conditions
        self._transmitter = transmitter
        self._receiver = receiver
        self._recording = recording
        self.events: list[FeedEvent] = []
        """All that reached the session."""

    @property
    def sent(self) -> int:
        """Fixes sent."""
        return self._transmitter.sent

    @property
    def lost(self) -> int:
        """Fixes that never arrived."""
        return self._transmitter.lost

    def advance(self, at_s: float, aircraft: Aircraft) -> tuple[FeedEvent, ...]:
        """Let the aircraft transmit and the coach receive up to a time."""
        self._transmitter.step(at_s, aircraft)
        arrived = self._transmitter.arrived(at_s)
        if self._recording is not None:
            self._recording.writelines(arrived)
        news = [thing for datagram in arrived for thing in self._receiver.take(datagram, at_s)]
        if not arrived:
            news += self._receiver.wait(at_s)
        found = tuple(_event_of(thing, at_s) for thing in news if not isinstance(thing, Rejected))
        self.events += found
        return found


@contextmanager
def open_feed(
    conditions: FeedConditions | None,
    station: Station | None,
    settings: Settings,
    seed: int,
    path: Path | None,
) -> Iterator[RehearsalFeed | None]:
    """A flight's feed, closed at the end; None where none is wanted. `path`: a file for its bytes.

    Raises SetupError where the file cannot be written.
    """
    if conditions is None or station is None:
        yield None
        return
    transmitter = Transmitter(conditions, station, height_ft=settings.height_ft, seed=seed)
    with ExitStack() as stack:
        recording = None if path is None else stack.enter_context(_open_recording(path))
        receiver = BySocket(conditions.form) if conditions.is_by_socket else HandedOver(conditions.form)
        stack.callback(receiver.close)
        yield RehearsalFeed(conditions, transmitter, receiver, recording)


def _open_recording(path: Path) -> BinaryIO:
    try:
        return path.open("wb")
    except OSError as exc:
        raise SetupError(f"{path}: cannot be written: {exc.strerror}") from exc


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenPassage:
    """One passage as it was, as the coach saw it, and when it spoke of it."""

    truth_s: float
    """By the flag of the pilot's own receiver, on the session clock."""

    distance_nm: float
    event_s: float | None
    """As the feed's event is dated; None: never seen."""

    spoken_s: float | None
    """When the first word of what followed sounded; None: nothing was said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackCall:
    """A call about the track, and what the aircraft was doing when it was made."""

    at_s: float
    what: str
    moment: Moment


@dataclass(frozen=True, slots=True, kw_only=True)
class FlownFeed:
    """What came of a feed."""

    conditions: FeedConditions
    sent: int
    """Fixes that were sent and arrived."""

    lost: int
    """Fixes that never arrived."""

    fixes: int
    """Fixes that reached the session."""

    passages: tuple[SeenPassage, ...]
    track_calls: tuple[TrackCall, ...]
    extra: int
    """Passages seen that were none."""

    records: tuple[Record, ...]
    """What the feed made the session keep in its journal, in order."""

    contradicted: int
    """How often the coach said what did not fit where the pilot was."""


TRACK_CALLS = ("Needle ", "Reverse sensing")
MATCHED_WITHIN_S = 20.0
SPOKEN_WITHIN_S = 10.0


def flown_feed(feed: RehearsalFeed, flight: Flight, transcript: Transcript) -> FlownFeed:
    """What came of the feed of a flight that is over."""
    records = tuple(record for _, record in transcript.records if record.what.startswith(BY_FEED))
    events_s = [record.onset_s for record in records if record.what.startswith(f"seen: {Seen.PASSAGE}")]
    passages = tuple(_seen(passage, events_s, transcript) for passage in flight.passages)
    return FlownFeed(
        conditions=feed.conditions,
        sent=feed.sent,
        lost=feed.lost,
        fixes=sum(isinstance(event, FixReceived) for event in feed.events),
        passages=passages,
        track_calls=tuple(
            TrackCall(at_s=call.at_s, what=call.what, moment=flight.moment(call.at_s))
            for call in transcript.calls
            if call.what.startswith(TRACK_CALLS)
        ),
        extra=len(events_s) - sum(passage.event_s is not None for passage in passages),
        records=records,
        contradicted=len(flight.pilot.contradicted),
    )


def _seen(passage: Passage, events_s: list[float], transcript: Transcript) -> SeenPassage:
    event_s = min(events_s, key=lambda at_s: abs(at_s - passage.at_s), default=None)
    if event_s is not None and abs(event_s - passage.at_s) > MATCHED_WITHIN_S:
        event_s = None
    opening = (call.at_s for call in transcript.calls if call.what.startswith(OPENING))
    after = (at_s - passage.at_s for at_s in opening)
    spoken = next((since_s for since_s in after if 0.0 <= since_s <= SPOKEN_WITHIN_S), None)
    return SeenPassage(
        truth_s=passage.at_s,
        distance_nm=passage.distance_nm,
        event_s=event_s,
        spoken_s=None if spoken is None else passage.at_s + spoken,
    )


def _event_of(found: Fix | Lost | Back, at_s: float) -> FeedEvent:
    if isinstance(found, Lost):
        return FeedLost(at_s=at_s, onset_s=found.since_s, reason=found.reason)
    if isinstance(found, Back):
        return FeedBack(at_s=at_s, onset_s=found.at_s)
    return FixReceived(at_s=at_s, onset_s=found.at_s, fix=found)
