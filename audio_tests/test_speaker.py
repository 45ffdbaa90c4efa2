"""The speaker on the virtual sound card, in real time: when words sound, how fast they stop, what it costs.

What was heard is taken from the recorded monitor of the sink alone, dated by the arrival of its samples.
"""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from audio_tests.soundcard import CABIN, HEADSET, Monitor, SoundCard
from coach.errors import SetupError
from coach.session.actions import Say, Silence, Sound, Tone
from coach.session.events import (
    EdgeFailed,
    EdgeRecovered,
    Event,
    PromptDropped,
    PromptFinished,
    PromptStarted,
)
from coach.voice.mixer import CUE_GAP_S
from coach.voice.speaker import Speaker
from coach.voice.synthesis import Synthesiser
from coach.voice.tones import SHAPES

CALLS = 40
APART_S = 0.987
"""From one call to the next; not a multiple of a block, so that words fall anywhere in one."""

WORDS = ("Left", "Right", "Inbound", "Time", "Five")
"""Beginning with a liquid, an approximant, a vowel, a stop and a soft fricative."""

PROMPT = "Left, one niner five"
LONG_TEXT = "Left, one niner five. Time, twist, throttle, talk. Inbound, zero six zero"

MOST_OFF_S = 0.030
USUAL_OFF_S = 0.015
USUAL_PART = 0.99
TRIES = 2
"""99 % of the words' onsets within 15 ms of their due time, none over 30. A machine too
busy with other things to keep the card fed is tried once more."""

SILENT_WITHIN_S = 0.100
FIRST_WORD_WITHIN_S = 1.5

CUE_S = SHAPES[Tone.CUE].length_s


class Rig:
    """A running speaker, its events, and the session clock."""

    def __init__(self, **settings: object) -> None:
        self._began_s = time.monotonic()
        self.events: queue.Queue[Event] = queue.Queue()
        self.voice = Synthesiser()
        self.voice.prepare([*WORDS, PROMPT, LONG_TEXT])
        self.speaker = Speaker(self.voice, clock=self.clock, post=self.events.put, **settings)  # type: ignore[arg-type]

    def clock(self) -> float:
        return time.monotonic() - self._began_s

    def monitor_times_s(self, monitor: Monitor) -> NDArray[np.float64]:
        return monitor.times_s() - self._began_s

    def next_event(self, *kinds: type[Event], within_s: float = 10.0) -> Event:
        """Return the next event of one of these kinds, leaving out others."""
        give_up_s = time.monotonic() + within_s
        while True:
            event = self.events.get(timeout=max(0.0, give_up_s - time.monotonic()))
            if isinstance(event, kinds):
                return event

    def say(self, prompt: int, text: str, due_s: float | None = None, *, is_time_call: bool = True) -> None:
        stale_s = (self.clock() if due_s is None else due_s) + 5.0
        say = Say(prompt=prompt, text=text, due_s=due_s, stale_s=stale_s, is_time_call=is_time_call)
        self.speaker.do(say)

    def wait_until(self, at_s: float) -> None:
        time.sleep(max(0.0, at_s - self.clock()))


@pytest.fixture
def monitor(card: SoundCard) -> Iterator[Monitor]:
    """Records the headset; keeps the sink running, as a card in use is."""
    with Monitor(HEADSET) as monitor:
        yield monitor


@pytest.fixture
def rig(card: SoundCard) -> Iterator[Rig]:
    try:
        rig = Rig()
    except SetupError as exc:
        pytest.skip(str(exc))
    yield rig
    rig.speaker.close()


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """One call as it was heard in the monitor."""

    due_s: float
    cue_s: float
    word_s: float

    @property
    def off_s(self) -> float:
        return self.word_s - self.due_s


def find_call(sound: NDArray[np.int16], times_s: NDArray[np.float64], due_s: float) -> Heard:
    """Find the cue tone, the silence after it and the onset of the word around a due time."""
    window = slice(*np.searchsorted(times_s, [due_s - CUE_S - CUE_GAP_S - 0.05, due_s + 0.4]))
    level, at_s = np.abs(sound[window].astype(int)), times_s[window]
    loud = np.flatnonzero(level > 0.002 * level.max())
    pauses = np.flatnonzero(np.diff(loud) > CUE_GAP_S / 2 * 48_000)
    assert pauses.size, f"no silence between the cue tone and the word due at {due_s:.3f}"
    word = level[loud[pauses[0] + 1] :]
    onset = loud[pauses[0] + 1] + int(np.argmax(word >= 0.01 * word.max()))
    return Heard(due_s=due_s, cue_s=float(at_s[loud[0]]), word_s=float(at_s[onset]))


def test_words_of_time_calls_sound_when_they_are_due(rig: Rig, monitor: Monitor) -> None:
    rig.speaker.start()
    rig.say(1_000, WORDS[0])
    rig.next_event(PromptFinished)
    for _ in range(TRIES):
        n_gaps = rig.speaker.n_gaps
        heard = make_calls(rig, monitor)
        print_table(heard)
        if rig.speaker.n_gaps == n_gaps:
            break
        print(f"the card ran dry {rig.speaker.n_gaps - n_gaps} times")
    off_s = np.abs([call.off_s for call in heard])
    assert np.mean(off_s <= USUAL_OFF_S) >= USUAL_PART
    assert off_s.max() <= MOST_OFF_S
    gaps_s = [call.word_s - call.cue_s for call in heard]
    assert min(gaps_s) > CUE_S
    assert max(gaps_s) < CUE_S + 2 * CUE_GAP_S


def make_calls(rig: Rig, monitor: Monitor) -> list[Heard]:
    first_s = rig.clock() + 1.2
    dues_s = [first_s + APART_S * n for n in range(CALLS)]
    for n, due_s in enumerate(dues_s):
        rig.wait_until(due_s - 1.0)
        rig.say(n, WORDS[n % len(WORDS)], due_s)
    rig.wait_until(dues_s[-1] + 1.0)
    sound, times_s = monitor.sound, rig.monitor_times_s(monitor)
    heard = [find_call(sound, times_s, due_s) for due_s in dues_s]
    check_reports(rig, heard)
    return heard


def check_reports(rig: Rig, heard: list[Heard]) -> None:
    """What the speaker reports is what was heard."""
    events = [rig.events.get_nowait() for _ in range(rig.events.qsize())]
    started_s = {event.prompt: event.onset_s for event in events if isinstance(event, PromptStarted)}
    assert sorted(started_s) == list(range(CALLS))
    off_s = np.abs([started_s[n] - call.word_s for n, call in enumerate(heard)])
    assert np.median(off_s) <= USUAL_OFF_S / 2


def print_table(heard: list[Heard]) -> None:
    print("\n  due s    cue s    word s   cue to word ms   word off ms")
    for call in heard:
        gap_ms = (call.word_s - call.cue_s) * 1e3
        print(
            f"{call.due_s:8.3f} {call.cue_s:8.3f} {call.word_s:8.3f} {gap_ms:12.1f} {call.off_s * 1e3:14.2f}"
        )
    off_ms = np.array([call.off_s for call in heard]) * 1e3
    print(f"{len(heard)} calls: mean {off_ms.mean():.2f} ms, spread {off_ms.std():.2f} ms, ", end="")
    print(f"largest {np.abs(off_ms).max():.2f} ms")


@pytest.mark.parametrize("into_s", [0.4, 1.7])
def test_sound_is_gone_within_a_tenth_of_a_second_of_silence(
    rig: Rig, monitor: Monitor, into_s: float
) -> None:
    rig.speaker.start()
    rig.say(1, LONG_TEXT, is_time_call=False)
    started = rig.next_event(PromptStarted)
    rig.say(2, WORDS[0], is_time_call=False)
    rig.wait_until(started.onset_s + into_s)
    silenced_s = rig.clock()
    rig.speaker.do(Silence())
    rig.wait_until(silenced_s + 0.5)
    sound, times_s = monitor.sound, rig.monitor_times_s(monitor)
    loud = np.flatnonzero(np.abs(sound.astype(int)) > 3)
    gone_after_s = float(times_s[loud[-1]]) - silenced_s
    print(f"\nlast sound {gone_after_s * 1e3:.0f} ms after the silence")
    assert gone_after_s <= SILENT_WITHIN_S
    assert np.any(times_s[loud] > silenced_s - 0.3), "nothing was sounding"
    dropped, cut = (
        rig.next_event(PromptDropped, PromptFinished),
        rig.next_event(PromptDropped, PromptFinished),
    )
    assert {dropped.prompt, cut.prompt} == {1, 2}


def test_first_word_sounds_soon_after_the_start(rig: Rig, monitor: Monitor) -> None:
    asked_s = rig.clock()
    rig.speaker.start()
    rig.say(1, WORDS[0], is_time_call=False)
    started = rig.next_event(PromptStarted)
    times_s = rig.monitor_times_s(monitor)
    rig.next_event(PromptFinished)
    heard_s = times_s[np.argmax(np.abs(monitor.sound[: times_s.size].astype(int)) > 100)]
    print(
        f"\ncue tone heard {heard_s - asked_s:.3f} s, word {started.onset_s - asked_s:.3f} s after the start"
    )
    assert started.onset_s - asked_s <= FIRST_WORD_WITHIN_S


IDLE = """
import json, resource, time
from coach.voice.speaker import Speaker
from coach.voice.synthesis import Synthesiser

speaker = Speaker(Synthesiser(), clock=time.monotonic, post=lambda event: None)
speaker.start()
while not speaker.is_running:
    time.sleep(0.1)
time.sleep(0.5)
used, since = time.process_time(), time.monotonic()
time.sleep(4)
print(json.dumps({"cpu": (time.process_time() - used) / (time.monotonic() - since)}))
speaker.close()
"""


@pytest.mark.usefixtures("card")
def test_idle_speaker_costs_little() -> None:
    done = subprocess.run(
        [sys.executable, "-c", IDLE], capture_output=True, text=True, timeout=60, check=True
    )
    part = json.loads(done.stdout)["cpu"]
    print(f"\nidle speaker: {part * 100:.2f} % of one core")
    assert part < 0.04


class TestDeviceGone:
    """A headset pulled out in three ways, on a card of the test's own doing."""

    TOLD_WITHIN_S = 2.0
    BACK_WITHIN_S = 3.0

    def check(self, rig: Rig, lose, give_back) -> None:  # type: ignore[no-untyped-def]
        rig.speaker.start()
        rig.say(1, WORDS[0])
        assert not rig.next_event(PromptFinished).is_cut
        lost_s = rig.clock()
        lose()
        told = rig.next_event(EdgeFailed)
        back_s = rig.clock()
        give_back()
        back = rig.next_event(EdgeRecovered)
        print(
            f"\n{told.reason}: told after {told.at_s - lost_s:.2f} s, back after {back.at_s - back_s:.2f} s"
        )
        assert told.at_s - lost_s <= self.TOLD_WITHIN_S
        assert back.at_s - back_s <= self.BACK_WITHIN_S
        rig.say(2, WORDS[0])
        assert rig.next_event(PromptStarted).prompt == 2

    def test_headset_pulled_out_while_there_is_another_device(self, rig: Rig, card: SoundCard) -> None:
        self.check(rig, lambda: card.unplug(HEADSET), lambda: card.plug(HEADSET))

    def test_only_device_pulled_out(self, rig: Rig, card: SoundCard) -> None:
        def lose() -> None:
            card.unplug(CABIN)
            card.unplug(HEADSET)

        def give_back() -> None:
            card.plug(HEADSET)
            card.plug(CABIN)

        self.check(rig, lose, give_back)

    def test_sound_server_stopped(self, rig: Rig, card: SoundCard) -> None:
        self.check(rig, card.stop, card.start)

    def test_sound_server_that_hangs(self, rig: Rig, card: SoundCard) -> None:
        self.check(rig, card.freeze, card.thaw)


def test_tone_sounds_over_a_prompt(rig: Rig, monitor: Monitor) -> None:
    rig.speaker.start()
    rig.say(1, PROMPT, is_time_call=False)
    rig.next_event(PromptStarted)
    at_s = rig.clock() + 0.3
    rig.speaker.do(Sound(tone=Tone.HEARD, due_s=at_s))
    rig.next_event(PromptFinished)
    window = slice(*np.searchsorted(rig.monitor_times_s(monitor), [at_s, at_s + SHAPES[Tone.HEARD].length_s]))
    spectrum = np.abs(np.fft.rfft(monitor.sound[window])) ** 2
    hz = np.fft.rfftfreq(window.stop - window.start, 1 / 48_000)
    around = spectrum[(hz > 1_500) & (hz < 2_050)].sum()
    assert around > 5 * spectrum[(hz > 2_600) & (hz < 3_150)].sum()
