"""The microphone or the speaker removed and given back, on the virtual sound card in real time.

In all three ways: the stream moved, the only device gone, the sound server stopped.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

from audio_tests.fault_flight import LEG_S, LiveFlight
from audio_tests.fault_trials import Chance, Trial
from audio_tests.soundcard import CABIN, HEADSET, SoundCard
from coach.session.events import EdgeFailed, EdgeRecovered

TOLD_WITHIN_S = 2.0
BACK_WITHIN_S = 3.0

SPARE = "spare"
"""A third sink, so that a stream has somewhere to go."""


def device_trials(card_of: Callable[[], SoundCard], edge: str) -> Callable[[int, Chance], Iterator[Trial]]:
    """The microphone or the speaker removed and given back, in three ways by turns, beside timed legs."""

    def tries(times: int, chance: Chance) -> Iterator[Trial]:
        card = card_of()
        ways = (_Moved(card, edge), _OnlyOne(card, edge), _ServerStopped(card))
        with LiveFlight(has_ear=edge == "microphone", has_voice=True) as flight:
            flight.wait_for(lambda: flight.find(EdgeFailed, 0.0) is None, 1.0, "a quiet start")
            time.sleep(5.0)
            for n in range(times):
                yield _remove(flight, edge, ways[n % len(ways)], chance)

    return tries


def _remove(flight: LiveFlight, edge: str, way: _Way, chance: Chance) -> Trial:
    way.prepare()
    time.sleep(0.5)
    passage_s = flight.begin_leg()
    time.sleep(chance.uniform(0.2, 3.5))
    gone_s = flight.clock()
    way.take()
    told_s = flight.wait_fact(EdgeFailed, gone_s, edge, TOLD_WITHIN_S + 1.5)
    time.sleep(chance.uniform(0.2, 1.0))
    given_s = flight.clock()
    way.give_back()
    back_s = flight.wait_fact(EdgeRecovered, given_s, edge, BACK_WITHIN_S + 3.0)
    time.sleep(max(0.0, passage_s + LEG_S + 0.5 - flight.clock()))
    call = flight.find_call(passage_s)
    way.tidy()
    detected_s = None if told_s is None else told_s - gone_s
    recovered_s = None if back_s is None else back_s - given_s
    problems = {
        f"{way.name}: not told in time": detected_s is None or detected_s > TOLD_WITHIN_S,
        f"{way.name}: not back in time": recovered_s is None or recovered_s > BACK_WITHIN_S,
        f"{way.name}: no time call on the screen": call is None,
        f"{way.name}: told more than once": flight.count(EdgeFailed, gone_s, edge) > 1,
        f"{way.name}: the loop was late by {flight.late_s(gone_s) * 1e3:.0f} ms": flight.late_s(gone_s) > 0.2,
    }
    return Trial(
        why=", ".join(why for why, is_so in problems.items() if is_so),
        lost=call is None,
        detected_s=detected_s,
        recovered_s=recovered_s,
    )


class _Way:
    """A way for a device to go."""

    name = ""

    def __init__(self, card: SoundCard, edge: str = "") -> None:
        self.card = card
        self.sink = CABIN if edge == "microphone" else HEADSET
        self.edge = edge

    def prepare(self) -> None:
        """Before the leg."""

    def take(self) -> None:
        raise NotImplementedError

    def give_back(self) -> None:
        raise NotImplementedError

    def tidy(self) -> None:
        """After the leg."""


class _Moved(_Way):
    """Its sink is pulled out while others exist: the stream is moved without any sign."""

    name = "moved"

    def prepare(self) -> None:
        self.card.plug(SPARE)

    def take(self) -> None:
        self.card.unplug(self.sink)

    def give_back(self) -> None:
        self.card.plug(self.sink)
        self._make_default()

    def tidy(self) -> None:
        self.card.unplug(SPARE)

    def _make_default(self) -> None:
        if self.sink == CABIN:
            self.card.control("set-default-source", f"{CABIN}.monitor")
        else:
            self.card.control("set-default-sink", HEADSET)


class _OnlyOne(_Moved):
    """Every sink is pulled out: nothing is left to play on or to listen to."""

    name = "only one"

    def prepare(self) -> None:
        return

    def take(self) -> None:
        for sink in (HEADSET, CABIN) if self.sink == CABIN else (CABIN, HEADSET):
            self.card.unplug(sink)

    def give_back(self) -> None:
        for sink in (HEADSET, CABIN):
            self.card.plug(sink)
        self.card.control("set-default-sink", HEADSET)
        self.card.control("set-default-source", f"{CABIN}.monitor")

    def tidy(self) -> None:
        return


class _ServerStopped(_Way):
    """The sound server ends: the stream stays active for ever, and closing it blocks."""

    name = "server stopped"

    def take(self) -> None:
        self.card.stop()

    def give_back(self) -> None:
        self.card.start()
