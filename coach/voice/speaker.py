"""The live speaker: carries out Say, Silence and Sound on a sound card and reports what became of them.

Words start at their due time by sample. Rendering, opening and closing run beside the caller, who is never
held up; a device that goes is noticed, told and opened again. Never decides what is said.
"""

from __future__ import annotations

import queue
import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Protocol

from coach.errors import CoachError
from coach.session.actions import Say, Silence, Sound
from coach.session.events import EdgeFailed, EdgeRecovered, Event
from coach.voice.lasting import LastingThread
from coach.voice.mixer import Dropped, Fact, Mixer, event_of
from coach.voice.output_device import OutputDevice, check_output_device, open_output
from coach.voice.output_line import Open, OutputLine
from coach.voice.pcm import Samples, seconds_at
from coach.voice.played import Played
from coach.voice.sound_server import SoundServer

LOOK_S = 0.25
"""How often the line's signs of life are looked at."""

WAITING_TEXTS = 64
"""Most prompts that wait to be rendered; one more is dropped."""

NO_SPEAKER = "no speaker"
NO_VOICE = "no voice"


class Voice(Protocol):
    """What the speaker needs of a synthesiser."""

    def find_ready(self, text: str) -> Samples | None:
        """Return a text's sound at once, or None."""

    def render(self, text: str) -> Samples:
        """Return a text's sound; may block; CoachError if there is no voice."""


class Speaker:
    """One output that is kept running; actions in, events out."""

    def __init__(
        self,
        synthesiser: Voice,
        *,
        clock: Callable[[], float],
        post: Callable[[Event], None],
        device: str | None = None,
        volume: float = 1.0,
        find_device: Callable[[str | None], OutputDevice] = check_output_device,
        open_stream: Open = open_output,
        server: SoundServer | None = None,
    ) -> None:
        """Make a speaker; nothing is opened yet.

        `clock`: the session's, monotonic, in seconds. `post` takes each event, from a thread of the speaker.
        `device`: a name or part of one, None the default. `volume` 0-1.
        """
        self._voice = synthesiser
        self._clock = clock
        self._post = post
        self._mixer = Mixer(gain=volume)
        self._lock = threading.Lock()
        self._line = OutputLine(
            device,
            clock=clock,
            render=self._render,
            on_change=self._wake_up,
            find_device=find_device,
            open_stream=open_stream,
            server=server,
            post=post,
        )
        self._facts: deque[Fact] = deque()
        self._texts: queue.Queue[Say | None] = queue.Queue(WAITING_TEXTS)
        self._wake = threading.Event()
        self._closing = threading.Event()
        self._trouble: str | None = None
        self._has_voice = True
        self._threads = [
            LastingThread(
                self._report,
                name="speaker-report",
                edge="speaker",
                post=post,
                closing=self._closing,
                now_s=clock,
            ),
            LastingThread(
                self._render_texts,
                name="speaker-voice",
                edge="voice",
                post=post,
                closing=self._closing,
                now_s=clock,
            ),
        ]

    @property
    def volume(self) -> float:
        """Loudness of what begins from now on, 0-1."""
        return self._mixer.gain

    @volume.setter
    def volume(self, volume: float) -> None:
        self._mixer.gain = volume

    @property
    def played(self) -> Played:
        """What sounded last, by session time: the reference of an echo canceller."""
        return self._mixer.played

    @property
    def is_running(self) -> bool:
        """True while the sound card takes blocks."""
        return self._line.is_running

    @property
    def n_gaps(self) -> int:
        """How often the sound card ran dry; words near such a gap are late."""
        return self._line.n_gaps

    def start(self) -> None:
        """Begin to open the device, beside the caller; SetupError if there is none, or none of that name."""
        self._line.start()
        for thread in self._threads:
            thread.start()

    def close(self) -> None:
        """Close the device and end all threads; returns within a few seconds whatever the device does."""
        self._closing.set()
        self._wake_up()
        self._line.close()
        self._texts.put(None)
        for thread in self._threads:
            if thread.is_alive():
                thread.join(LOOK_S)

    def do(self, action: Say | Silence | Sound) -> None:
        """Carry an action out; returns at once."""
        words = self._voice.find_ready(action.text) if isinstance(action, Say) else None
        with self._lock:
            self._mixer.do(action, words)
            if self._line.is_dead:
                self._mixer.silence(NO_SPEAKER)
        if isinstance(action, Say) and words is None:
            self._order(action)
        self._wake_up()

    def _order(self, action: Say) -> None:
        """Have a text rendered beside the caller."""
        try:
            self._texts.put_nowait(action)
        except queue.Full:
            self._drop(action, NO_VOICE)

    def _drop(self, action: Say, reason: str) -> None:
        with self._lock:
            self._mixer.drop(action.prompt, reason)
        self._wake_up()

    def _wake_up(self) -> None:
        self._wake.set()

    def _render(self, n_frames: int, at_sample: int) -> Samples:
        """Give the sound card its next block; called from its own thread."""
        with self._lock:
            block = self._mixer.render(n_frames, at_sample)
            facts = self._mixer.take_facts()
            self._facts.extend(facts)
        if facts:
            self._wake_up()
        return block

    def _render_texts(self) -> None:
        """Render what was not prepared, one text after the other."""
        while (action := self._texts.get()) is not None:
            try:
                words = self._voice.render(action.text)
            except CoachError as exc:
                self._tell_voice(str(exc).splitlines()[0])
                self._drop(action, NO_VOICE)
                continue
            self._tell_voice(None)
            with self._lock:
                self._mixer.supply(action.prompt, words)

    def _tell_voice(self, trouble: str | None) -> None:
        """Tell once that the voice is gone, and once that it is back."""
        had_voice, self._has_voice = self._has_voice, trouble is None
        now_s = self._clock()
        if trouble is not None and had_voice:
            self._post(EdgeFailed(at_s=now_s, onset_s=now_s, edge="voice", reason=trouble))
        elif trouble is None and not had_voice:
            self._post(EdgeRecovered(at_s=now_s, onset_s=now_s, edge="voice"))

    def _report(self) -> None:
        """Post what happened when it happens, and look after the line."""
        wait_s = 0.0
        while not self._closing.is_set():
            asleep_from_s = time.monotonic()
            self._wake.wait(wait_s)
            self._wake.clear()
            self._look(overslept_s=time.monotonic() - asleep_from_s - wait_s)
            self._take_facts()
            wait_s = min(LOOK_S, self._post_facts())

    def _look(self, *, overslept_s: float) -> None:
        """Tell once that the line is in trouble, and once that it is well again."""
        trouble = self._line.look(overslept_s=overslept_s)
        if self._line.is_dead:
            with self._lock:
                self._mixer.silence(NO_SPEAKER)
        now_s = self._clock()
        if trouble is not None and self._trouble is None:
            self._post(EdgeFailed(at_s=now_s, onset_s=now_s, edge="speaker", reason=trouble))
            self._trouble = trouble
        elif trouble is None and self._trouble is not None and self._line.is_running:
            self._post(EdgeRecovered(at_s=now_s, onset_s=now_s, edge="speaker"))
            self._trouble = None

    def _take_facts(self) -> None:
        """Take what happened outside the sound card's blocks: prompts dropped or silenced."""
        with self._lock:
            self._facts.extend(self._mixer.take_facts())

    def _post_facts(self) -> float:
        """Post the facts whose time has come, in order; return the seconds until the next one's."""
        while self._facts:
            now_s = self._clock()
            ahead_s = (
                0.0 if isinstance(self._facts[0], Dropped) else seconds_at(self._facts[0].sample) - now_s
            )
            if ahead_s > 0:
                return ahead_s
            self._post(event_of(self._facts.popleft(), now_s))
        return LOOK_S
