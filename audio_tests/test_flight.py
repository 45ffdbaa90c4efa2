"""The whole coach on the virtual sound card, in real time: two spokes flown by spoken words alone.

The coach to the loudspeaker; his sound and the pilot's words into the microphone.
What the coach said is taken from the recorded headset, what it understood from the journal of the loop.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from audio_tests.soundcard import CABIN, HEADSET, RATE_HZ, Monitor, SoundCard
from audio_tests.test_speaker import find_call, print_table
from coach.drill.plan import plan_drill
from coach.flight import Choice, fly_live
from coach.rehearsal.cabin import Cabin
from coach.session.actions import Action, Finish, Say
from coach.session.events import Event, PhraseHeard, Woken
from coach.session.repertoire import all_prompts
from coach.settings import Settings
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases
from coach.voice.synthesis import Synthesiser, default_voices

SHORT = {"spokes": "2", "leg_s": "10", "offset_leg_s": "30"}
EARLY_AGAIN_S = 2.5
"""How long the pilot waits before he says an early word again."""

SILENT_WITHIN_S = 0.100
FIRST_WORD_WITHIN_S = 1.5


class Watcher:
    """In place of the terminal: sees every action and fact, and can press keys."""

    def __init__(self) -> None:
        self.says: list[Say] = []
        self.heard_phrases: list[PhraseHeard] = []
        self.lines: list[str] = []
        self.late_s = 0.0
        """How late the loop woke at worst."""
        self.legs: list[int | None] = []
        self.is_over = threading.Event()
        self.opened = threading.Event()

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        self.post, self.clock = post, clock
        self.opened.set()

    def do(self, action: Action) -> None:
        if isinstance(action, Say):
            self.says.append(action)
        self.legs += [action.leg_n] if hasattr(action, "leg_n") else []
        if isinstance(action, Finish):
            self.is_over.set()

    def heard(self, event: Event) -> None:
        self.heard_phrases += [event] if isinstance(event, PhraseHeard) else []
        self.late_s = max(self.late_s, event.at_s - event.onset_s if isinstance(event, Woken) else 0.0)

    def tell(self, text: str) -> None:
        self.lines.append(text)

    def close(self) -> None:
        return

    def press(self, phrase: str) -> float:
        at_s = self.clock()
        self.post(PhraseHeard(at_s=at_s, onset_s=at_s, phrase=phrase, by="key"))
        return at_s

    def wait_for(self, is_so: Callable[[], bool], within_s: float, what: str) -> None:
        give_up_s = time.monotonic() + within_s
        while not is_so():
            heard = [(heard.phrase, round(heard.onset_s, 1)) for heard in self.heard_phrases[-5:]]
            told = f"told {self.lines}, legs {self.legs[-5:]}, heard {heard}"
            assert time.monotonic() < give_up_s, f"not within {within_s:g} s: {what}; {told}"
            time.sleep(0.02)


class Flight:
    """A flight on a thread, its watcher, and the pilot's mouth at the microphone."""

    def __init__(self, card: SoundCard, drill: dict[str, str], **settings: object) -> None:
        self._environment = os.environ | card.environment
        plan = plan_drill(read_drill("eight-spoke", drill))
        self.settings = Settings(**settings)  # type: ignore[arg-type]
        self.choice = Choice(plan=plan, settings=self.settings, table=read_phrases())
        self.watcher = Watcher()
        self.voice = Synthesiser(default_voices()[1])
        self._thread = threading.Thread(target=fly_live, args=(self.choice, self.watcher), daemon=True)
        self.began_s = 0.0
        self.said: list[tuple[str, float, float]] = []
        """Each word with the session times between which it sounded."""

    def start(self) -> None:
        self.began_s = time.monotonic()
        self._thread.start()
        self.watcher.opened.wait(5.0)

    def say(self, phrase: str) -> None:
        """Say it into the microphone; returns when it has been said."""
        from_s = self.watcher.clock()
        quiet = np.zeros(RATE_HZ // 10, np.int16)
        sound = np.concatenate([quiet, self.voice.render(phrase), quiet])
        subprocess.run(
            ["pacat", "--raw", f"--rate={RATE_HZ}", "--channels=1", "--format=s16le", "--device", CABIN],
            input=sound.tobytes(),
            env=self._environment,
            check=True,
        )
        self.said.append((phrase, from_s, self.watcher.clock()))

    def find_unsaid(self) -> list[PhraseHeard]:
        """What was understood where the pilot did not say it: the coach's own voice, or noise."""
        return [
            heard
            for heard in self.watcher.heard_phrases
            if not any(
                phrase == heard.phrase and from_s - 0.2 <= heard.onset_s <= to_s + 0.2
                for phrase, from_s, to_s in self.said
            )
        ]

    def say_until_understood(self, phrase: str, leg_n: int | None) -> int:
        """Say it, and again where it is early, until the drill is on that leg; how often it was said."""
        for times in range(1, 5):
            self.say(phrase)
            give_up_s = time.monotonic() + EARLY_AGAIN_S
            while time.monotonic() < give_up_s:
                if self.watcher.legs[-1] == leg_n:
                    return times
                time.sleep(0.02)
        raise AssertionError(
            f"'{phrase}' did not lead to leg {leg_n}; heard {self.watcher.heard_phrases[-4:]}"
        )


@pytest.fixture
def open_microphone(card: SoundCard) -> Iterator[None]:
    """The coach's own sound comes out of the microphone too, as loud as the pilot."""
    module = card.control(
        "load-module", "module-loopback", f"source={HEADSET}.monitor", f"sink={CABIN}", "latency_msec=20"
    ).strip()
    yield
    card.control("unload-module", module)


@pytest.fixture
def monitor(card: SoundCard) -> Iterator[Monitor]:
    with Monitor(HEADSET) as monitor:
        yield monitor


def heard_until_now(flight: Flight, monitor: Monitor) -> tuple[NDArray[np.int16], NDArray[np.float64]]:
    """What the headset played, and the session time of each sample."""
    offset_s = time.monotonic() - flight.watcher.clock()
    times_s = monitor.times_s() - offset_s
    return monitor.sound[: len(times_s)], times_s[: len(monitor.sound)]


LONG = pytest.mark.skipif(not os.environ.get("COACH_LONG"), reason="two minutes more; COACH_LONG=1 runs it")


@LONG
def test_two_spokes_are_flown_by_words_alone_beside_an_open_loudspeaker(
    card: SoundCard, monitor: Monitor, open_microphone: None
) -> None:
    """The coach's own sound in the microphone, as loud as the pilot: it is never taken for his."""
    fly_two_spokes(card, monitor)


def test_two_spokes_are_flown_by_words_alone_with_a_headset(card: SoundCard, monitor: Monitor) -> None:
    """The microphone hears the pilot alone."""
    fly_two_spokes(card, monitor)


def fly_two_spokes(card: SoundCard, monitor: Monitor) -> None:
    flight = Flight(card, SHORT)
    Synthesiser().prepare(all_prompts(flight.choice.plan))
    flight.start()
    watcher = flight.watcher
    watcher.wait_for(lambda: bool(watcher.legs), 5.0, "the session's start")
    time.sleep(4.0)
    said = flight.say_until_understood("station passage", 1)
    for spoke in (0, 4):
        watcher.wait_for(lambda n=spoke + 3: watcher.legs[-1] == n, 60.0, "the leg times")  # type: ignore[misc]
        time.sleep(4.0)
        said += flight.say_until_understood("needle alive", spoke + 4)
        time.sleep(3.5)
        said += flight.say_until_understood("station passage", None if spoke else 5)
    assert watcher.is_over.wait(20.0), "the drill did not finish"
    time.sleep(0.5)
    sound, times_s = heard_until_now(flight, monitor)
    calls = [find_call(sound, times_s, say.due_s) for say in watcher.says if say.due_s is not None]
    print_table(calls)
    phrases = [(heard.phrase, round(heard.onset_s, 2)) for heard in watcher.heard_phrases]
    print(f"words said {said}, understood {phrases}")
    said_texts = [(say.text, say.due_s) for say in watcher.says]
    assert len(calls) == 6, f"the loop was late by {watcher.late_s:.2f} s at worst; {said_texts}"
    assert max(abs(call.off_s) for call in calls) <= 0.030
    assert flight.find_unsaid() == []
    assert all(heard.by == "voice" for heard in watcher.heard_phrases)


@pytest.mark.parametrize("how", ["mute", "traffic"])
def test_sound_is_gone_within_a_tenth_of_a_second(card: SoundCard, monitor: Monitor, how: str) -> None:
    """From the key to the last sound; for the word, from the event of its understanding."""
    flight = Flight(card, {"spokes": "1"})
    Synthesiser().prepare(all_prompts(flight.choice.plan))
    flight.start()
    watcher = flight.watcher
    watcher.wait_for(lambda: bool(watcher.legs), 5.0, "the session's start")
    time.sleep(4.0)
    watcher.press("rejoin")
    time.sleep(1.2)
    pressed_s = watcher.press(how)
    time.sleep(1.5)
    sound, times_s = heard_until_now(flight, monitor)
    loud = np.flatnonzero(np.abs(sound.astype(int)) > 3)
    gone_after_s = float(times_s[loud[-1]]) - pressed_s
    print(f"\nlast sound {gone_after_s * 1e3:.0f} ms after '{how}'")
    assert np.any(times_s[loud] > pressed_s - 0.3), "nothing was sounding"
    assert gone_after_s <= SILENT_WITHIN_S
    assert watcher.legs[-1] is None


def test_first_word_sounds_soon_after_the_command(card: SoundCard, monitor: Monitor) -> None:
    """The command itself, a warm cache, the sink running: from the process's start to the first word."""
    command = [sys.executable, "-m", "coach", "fly", "eight-spoke", "--set", "spokes=1"]
    Synthesiser().prepare(all_prompts(plan_drill(read_drill("eight-spoke", {"spokes": "1"}))))
    subprocess.run([*command[:3], "brief", "eight-spoke"], capture_output=True, check=True)
    asked_s = time.monotonic()
    quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    coach = subprocess.Popen(command, **quiet)
    try:
        time.sleep(5.0)
        times_s = monitor.times_s()
        sound = monitor.sound[: len(times_s)]
    finally:
        coach.terminate()
        coach.wait(10.0)
    recent = np.flatnonzero((times_s > asked_s) & (np.abs(sound.astype(int)) > 100))
    assert recent.size, "nothing was heard"
    pauses = np.flatnonzero(np.diff(recent) > 0.02 * RATE_HZ)
    first_word_s = float(times_s[recent[pauses[0] + 1]]) - asked_s
    cue_s = float(times_s[recent[0]]) - asked_s
    print(f"\ncue tone {cue_s:.2f} s, first word {first_word_s:.2f} s after the start")
    assert first_word_s <= FIRST_WORD_WITHIN_S


IDLE_S = 60.0 if os.environ.get("COACH_LONG") else 20.0
IDLE_PART = 0.06


def test_nobody_speaking_costs_little(card: SoundCard) -> None:
    """All our processes together, the microphone in cabin noise; `COACH_LONG=1` takes the whole minute."""
    command = [sys.executable, "-m", "coach", "fly", "eight-spoke"]
    quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    noise = Cabin(1).at(0, int(16_000 * (IDLE_S + 25.0)))
    sound = (300.0 * noise).astype(np.int16).tobytes()
    player = ["pacat", "--raw", "--rate=16000", "--channels=1", "--format=s16le", "--device", CABIN]
    engine = subprocess.Popen(player, stdin=subprocess.PIPE, env=os.environ | card.environment)
    threading.Thread(target=engine.communicate, args=(sound,), daemon=True).start()
    coach = subprocess.Popen(command, **quiet)
    try:
        time.sleep(15.0)
        before_s = family_cpu_s(coach.pid)
        time.sleep(IDLE_S)
        part = (family_cpu_s(coach.pid) - before_s) / IDLE_S
    finally:
        for process in (coach, engine):
            process.terminate()
            process.wait(10.0)
    print(f"\nnobody speaking for {IDLE_S:g} s: {part * 100:.1f} % of one core")
    assert part < IDLE_PART


def family_cpu_s(pid: int) -> float:
    """Processor time of a process and of all that live below it."""
    tasks = Path(f"/proc/{pid}/task").glob("*/children")
    children = [int(child) for task in tasks for child in task.read_text().split()]
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    used_s = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    return used_s + sum(family_cpu_s(child) for child in children)
