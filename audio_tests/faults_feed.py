"""Faults of a position feed in the middle of a drill: silent, garbage, too fast, time going back.

The drill is a rehearsal on the simulated clock: the pilot flies by the coach and presses keys where it does
not see for itself. What is broken is the bytes between the aircraft and the coach's own decoder.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta

import coach.rehearsal.rehearse
from audio_tests.fault_trials import Chance, Trial
from coach.drill.plan import plan_drill
from coach.fixes.fix import Fix
from coach.nav.station import Station
from coach.rehearsal.feed import RehearsalFeed
from coach.rehearsal.receiver import HandedOver
from coach.rehearsal.rehearse import Conditions, Rehearsal, rehearse
from coach.rehearsal.transmitter import FeedConditions, Transmitter
from coach.session.events import FeedBack, FeedLost
from coach.session.prompts import FEED_LOST
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases

STATION = Station(latitude_deg=-40.0, longitude_deg=-110.0, declination_deg=12.0)
"""In mid-ocean; no station is there."""

LASTS_S = 60.0
TOLD_WITHIN_S = 10.0
BACK_WITHIN_S = 10.0

Break = Callable[[list[bytes], float, random.Random], list[bytes]]


class BrokenTransmitter(Transmitter):
    """Breaks what has arrived between two times."""

    def __init__(self, breaks: Break, from_s: float, *args: object, **settings: object) -> None:
        super().__init__(*args, **settings)  # type: ignore[arg-type]
        self.breaks, self.from_s = breaks, from_s
        self.to_s = from_s + LASTS_S
        self._lot = random.Random(from_s)

    def arrived(self, at_s: float) -> list[bytes]:
        arrived = super().arrived(at_s)
        if self.from_s <= at_s < self.to_s:
            return self.breaks(arrived, at_s, self._lot)
        return arrived

    def _fix(self, at_s: float, aircraft: object) -> Fix:
        fix = super()._fix(at_s, aircraft)  # type: ignore[arg-type]
        if self.breaks is run_fast and self.from_s <= at_s < self.to_s:
            return _hurried(fix, at_s - self.from_s)
        if self.breaks is not go_back or not self.from_s <= at_s < self.to_s or fix.utc is None:
            return fix
        return replace(
            fix, utc=fix.utc - timedelta(seconds=600), utc_of_day_s=(fix.utc_of_day_s or 0.0) - 600.0
        )


def fall_silent(_arrived: list[bytes], _at_s: float, _lot: random.Random) -> list[bytes]:
    """Nothing comes."""
    return []


def send_garbage(arrived: list[bytes], _at_s: float, lot: random.Random) -> list[bytes]:
    """Noise in place of each report, and text that looks like one."""
    words = b"$GPRMC,,,,,,,,*00\r\n", b"$" * 400, b"\x7e\x00\x7e", lot.randbytes(lot.randrange(1, 3000))
    return [lot.choice(words) for _ in arrived for _ in range(20)]


def send_too_fast(arrived: list[bytes], _at_s: float, _lot: random.Random) -> list[bytes]:
    """A hundred reports where one should be: the same again and again."""
    return [datagram for datagram in arrived for _ in range(100)]


def run_fast(arrived: list[bytes], _at_s: float, _lot: random.Random) -> list[bytes]:
    """The reports run through time and space a hundred times too fast; see `BrokenTransmitter`."""
    return arrived


def _hurried(fix: Fix, since_s: float) -> Fix:
    """Where and when the aircraft would be had everything gone a hundred times as fast since then."""
    ahead_s = 99.0 * since_s
    utc = None if fix.utc is None else fix.utc + timedelta(seconds=ahead_s)
    of_day_s = None if fix.utc_of_day_s is None else (fix.utc_of_day_s + ahead_s) % 86_400.0
    return replace(fix, utc=utc, utc_of_day_s=of_day_s, lat_deg=fix.lat_deg + ahead_s * 90.0 / 3600.0 / 60.0)


def go_back(arrived: list[bytes], _at_s: float, _lot: random.Random) -> list[bytes]:
    """The reports' own time is ten minutes early; see `BrokenTransmitter`."""
    return arrived


FEED_BREAKS: dict[str, Break] = {
    "silent": fall_silent,
    "garbage": send_garbage,
    "100 times too many": send_too_fast,
    "100 times too fast": run_fast,
    "going back in time": go_back,
}


def feed_trials(breaks: Break) -> Callable[[int, Chance], Iterator[Trial]]:
    """One spoke each, the feed broken for a minute from a random moment on."""

    def tries(times: int, chance: Chance) -> Iterator[Trial]:
        for n in range(times):
            form = ("nmea", "gdl90")[n % 2] if breaks is not go_back else "nmea"
            yield _fly(breaks, chance.uniform(20.0, 300.0), form, n)

    return tries


def _fly(breaks: Break, from_s: float, form: str, seed: int) -> Trial:
    feeds: list[RehearsalFeed] = []

    @contextmanager
    def open_broken(conditions, station, settings, seed, _path):  # type: ignore[no-untyped-def]
        transmitter = BrokenTransmitter(
            breaks, from_s, conditions, station, height_ft=settings.height_ft, seed=seed
        )
        feeds.append(RehearsalFeed(conditions, transmitter, HandedOver(conditions.form)))
        yield feeds[0]

    before, coach.rehearsal.rehearse.open_feed = coach.rehearsal.rehearse.open_feed, open_broken
    try:
        flown = rehearse(
            plan_drill(read_drill("eight-spoke", {"spokes": "1"})),
            Conditions(
                table=read_phrases(),
                seed=seed,
                typed=True,
                station=STATION,
                feed=FeedConditions(form=form),  # type: ignore[arg-type]
            ),
        )
    finally:
        coach.rehearsal.rehearse.open_feed = before
    return _judge(breaks, flown, feeds[0], from_s)


def _judge(breaks: Break, flown: Rehearsal, feed: RehearsalFeed, from_s: float) -> Trial:
    lost = [event for event in feed.events if isinstance(event, FeedLost) and event.at_s >= from_s]
    # A feed that goes on in another time is believed again there, before the fault is over.
    over_s = from_s + (0.0 if breaks is go_back else LASTS_S)
    back = [event for event in feed.events if isinstance(event, FeedBack) and event.at_s >= over_s]
    told = [call for call in flown.calls if call.what == FEED_LOST and call.at_s >= from_s]
    legs = flown.legs
    is_harmless = breaks is send_too_fast  # the same again is no loss: nothing has to be told
    detected_s = lost[0].at_s - from_s if lost else None
    recovered_s = back[0].at_s - over_s if back else None
    problems = {
        "not lost in time": not is_harmless and (detected_s is None or detected_s > TOLD_WITHIN_S),
        f"told {len(told)} times": len(told) > 1 or (not told and not is_harmless),
        f"lost {len(lost)} times": len(lost) > 1,
        "not back in time": bool(lost) and (recovered_s is None or recovered_s > BACK_WITHIN_S),
        f"legs flown: {len(legs)}": len(legs) != len(flown.plan.legs),
    }
    return Trial(
        why=", ".join(why for why, is_so in problems.items() if is_so),
        detected_s=detected_s,
        recovered_s=recovered_s,
    )
