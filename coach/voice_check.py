"""The pilot says each phrase a few times: microphone, ear and speaker opened, asked and closed again.

What comes out is a verdict for each phrase and the profile that follows from them. Records the takes and
nothing else. Prints nothing: a `Prompter` shows.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from coach.cockpit import SessionClock
from coach.errors import SetupError
from coach.flight import synthesiser_of
from coach.session.actions import Say, Sound, Tone
from coach.session.events import EdgeFailed, Event, PromptDropped, PromptFinished
from coach.session.phrases import Phrase, PhraseTable
from coach.session.voice_profile import (
    TAKES,
    Said,
    Scale,
    Shift,
    Take,
    Verdict,
    VoiceProfile,
    judge,
    listened_beside,
)
from coach.settings import Settings
from coach.store.voice_profiles import write_recording
from coach.voice.ear_process import EarProcess
from coach.voice.microphone import Microphone
from coach.voice.microphone_device import choose_input
from coach.voice.personal import fits
from coach.voice.recogniser import ear_choice
from coach.voice.scales import find_scale
from coach.voice.speaker import Speaker
from coach.voice.takes import NO_VOICE, Interrupted, TakeListener

SKIP, END = "s", "q"
"""Keys: leave this phrase out; end here and keep what was said."""

PROMPT_WITHIN_S = 6.0
"""A prompt that has not come to its end by then is not waited for."""

AFTER_PROMPT_S = 0.15
"""The coach's own voice has left a headset by then."""

TONE_S = 0.3
"""A tone and its way through the sound card."""

SILENT_PHRASES = 2
"""So many phrases in a row without a voice: nobody is there."""


class Prompter(Protocol):
    """Shows the pilot what to say, and what became of it."""

    def ask(self, way: str, *, n: int, of: int, is_other: bool) -> None:
        """This is to be said, `TAKES` times; `is_other`: another way to say a phrase that was weak."""

    def show(self, take: Take, *, n: int, is_clipped: bool) -> None:
        """What the ear made of a take."""

    def tell(self, text: str) -> None:
        """One line: a lack, a remedy."""

    def find_key(self) -> str | None:
        """The key that was pressed, if any; never waits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What a pilot's takes showed."""

    recogniser: str
    scale: Scale
    phrases: tuple[tuple[Verdict, ...], ...]
    """For each phrase said its ways that were said, the one asked for first."""

    cabin_rms: float
    """How loud it was while nobody spoke, full scale 1."""

    @property
    def shifts(self) -> tuple[Shift, ...]:
        """The thresholds that move."""
        verdicts = [verdict for ways in self.phrases for verdict in ways]
        return tuple(Shift(way=v.said.way, by=v.shift) for v in verdicts if v.shift)

    @property
    def ways(self) -> frozenset[str]:
        """Every way that was said."""
        return frozenset(verdict.said.way for ways in self.phrases for verdict in ways)


def check_voice(settings: Settings, table: PhraseTable, prompter: Prompter, folder: Path) -> Checked:
    """Have every phrase said, until the pilot ends it. `SetupError` for what is missing.

    `folder`: where the recordings go.
    """
    with ExitStack() as stack:
        room = stack.enter_context(_open_room(settings, prompter))
        return room.check(table, folder)


def make_profile(
    checked: Checked, settings: Settings, before: VoiceProfile | None, now_utc: datetime | None = None
) -> VoiceProfile:
    """The profile of what was said; thresholds of what was not are kept from the one before, if it fits."""
    kept: tuple[Shift, ...] = ()
    if before is not None and before.language == settings.language and fits(before, checked.scale):
        kept = tuple(shift for shift in before.shifts if shift.way not in checked.ways)
    return VoiceProfile(
        version=1,
        made_utc=now_utc or datetime.now(UTC),
        recogniser=checked.recogniser,
        least=checked.scale.least,
        language=settings.language,
        microphone=settings.input_device,
        shifts=tuple(sorted((*kept, *checked.shifts), key=lambda shift: shift.way)),
    )


@contextmanager
def _open_room(settings: Settings, prompter: Prompter) -> Iterator[Room]:
    clock = SessionClock()
    with ExitStack() as stack:
        ear = EarProcess(ear_choice(settings))
        stack.callback(ear.close)
        ear.start()
        listener = TakeListener(ear, find_key=prompter.find_key)
        microphone = Microphone(
            open_stream=choose_input(settings.input_device, clock.now_s),
            take=listener.take,
            post=listener.fail,
            clock=clock.now_s,
        )
        microphone.start()
        stack.callback(microphone.close)
        caller = _open_caller(settings, prompter, clock.now_s, stack)
        recogniser = ear.name.partition("; voice activity")[0]
        yield Room(listener, caller, prompter, recogniser)


def _open_caller(
    settings: Settings, prompter: Prompter, now_s: Callable[[], float], stack: ExitStack
) -> Caller:
    """The coach's voice, or one that is silent where there is none."""
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    speaker = Speaker(
        synthesiser_of(settings, settings.coach_voice),
        clock=now_s,
        post=events.put,
        device=settings.output_device,
        volume=settings.volume,
    )
    try:
        speaker.start()
    except SetupError as error:
        prompter.tell(f"No voice, the screen asks. {error}")
        return Caller(None, events, now_s)
    stack.callback(speaker.close)
    return Caller(speaker, events, now_s)


class Mouth(Protocol):
    """What of the speaker is used here."""

    def do(self, action: Say | Sound) -> None:
        """Carry it out."""


class Caller:
    """Has the coach's voice say what is to be said; without a voice nothing happens."""

    def __init__(
        self, mouth: Mouth | None, events: queue.SimpleQueue[Event], now_s: Callable[[], float]
    ) -> None:
        self._mouth = mouth
        self._events = events
        self._now_s = now_s
        self._prompts = 0

    def say(self, text: str) -> float:
        """Say it to the end; the session time from which on the pilot may be heard."""
        if self._mouth is not None:
            self._prompts += 1
            stale_s = self._now_s() + PROMPT_WITHIN_S
            self._mouth.do(
                Say(prompt=self._prompts, text=text, due_s=None, stale_s=stale_s, is_time_call=False)
            )
            self._wait(self._prompts)
        return self._now_s() + (AFTER_PROMPT_S if self._mouth is not None else 0.0)

    def sound(self, tone: Tone) -> float:
        """Sound a tone; the session time from which on the pilot may be heard."""
        if self._mouth is None:
            return self._now_s()
        self._mouth.do(Sound(tone=tone))
        return self._now_s() + TONE_S

    def _wait(self, prompt: int) -> None:
        give_up_s = time.monotonic() + PROMPT_WITHIN_S
        while (left_s := give_up_s - time.monotonic()) > 0:
            try:
                event = self._events.get(timeout=left_s)
            except queue.Empty:
                return
            if isinstance(event, EdgeFailed):
                self._mouth = None
                return
            if isinstance(event, PromptFinished | PromptDropped) and event.prompt == prompt:
                return


class Room:
    """One pilot, one microphone, one ear: phrase after phrase."""

    def __init__(self, listener: TakeListener, caller: Caller, prompter: Prompter, recogniser: str) -> None:
        scale = find_scale(recogniser)
        if scale is None:
            raise SetupError(f"{recogniser}: nothing is known of its scores, so it takes no voice profile")
        self._scale = scale
        self._listener = listener
        self._caller = caller
        self._prompter = prompter
        self._recogniser = recogniser
        self._silent_phrases = 0

    def check(self, table: PhraseTable, folder: Path) -> Checked:
        """Have every phrase of the table said, until the pilot ends it."""
        phrases = [phrase for phrase in table.phrases if phrase.ways]
        found: list[tuple[Verdict, ...]] = []
        self._prompter.tell("Be quiet for a moment: the ear learns how loud the cabin is.")
        try:
            self._listener.settle()
            for n, phrase in enumerate(phrases, 1):
                verdicts = self._check_phrase(phrase, table, folder, n=n, of=len(phrases))
                found += [verdicts] if verdicts else []
        except Interrupted:
            pass
        except SetupError as error:
            if not found:
                raise
            self._prompter.tell(f"Ended here, what was said counts. {error}")
        return Checked(
            recogniser=self._recogniser,
            scale=self._scale,
            phrases=tuple(found),
            cabin_rms=self._listener.cabin_rms,
        )

    def _check_phrase(
        self, phrase: Phrase, table: PhraseTable, folder: Path, *, n: int, of: int
    ) -> tuple[Verdict, ...]:
        """The best way first; where it is weak, the others too. None where the pilot skips it."""
        verdicts: list[Verdict] = []
        ways = table.ways(listened_beside(phrase.canonical, table))
        for way in phrase.ways:
            if verdicts and not verdicts[0].weaknesses:
                break
            self._prompter.ask(way, n=n, of=of, is_other=bool(verdicts))
            try:
                takes = self._hear_takes(way, ways, folder)
            except Interrupted as pressed:
                if pressed.key == END:
                    raise
                break
            verdicts.append(judge(Said(way=way, phrase=phrase.canonical, takes=takes), self._scale))
        return tuple(verdicts)

    def _hear_takes(self, way: str, ways: tuple[tuple[str, str], ...], folder: Path) -> tuple[Take, ...]:
        from_s = self._caller.say(way)
        takes = []
        for n in range(1, TAKES + 1):
            heard = self._listener.listen(way, ways, from_s=from_s)
            self._prompter.show(heard.take, n=n, is_clipped=heard.is_clipped)
            if heard.sound.size:
                write_recording(folder, way, n, heard.sound)
            from_s = self._caller.sound(Tone.HEARD if heard.take.understood else Tone.LOW)
            takes.append(heard.take)
        self._look_for_voice(takes)
        return tuple(takes)

    def _look_for_voice(self, takes: list[Take]) -> None:
        """End where nobody speaks."""
        self._silent_phrases = 0 if any(t.reason != NO_VOICE for t in takes) else self._silent_phrases + 1
        if self._silent_phrases == SILENT_PHRASES:
            raise SetupError(
                "microphone: no voice in it; speak up, turn it up, or choose another by --input-device"
            )
