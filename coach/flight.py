"""A flight in real time: the edges opened, plugged into the loop, and closed again.

Without a usable microphone or speaker the flight goes on with keys and text; each lack is one line.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol

import platformdirs

from coach import __version__
from coach.cockpit import Edge, Inbox, LiveWorld, SessionClock, fly
from coach.drill.plan import Plan
from coach.errors import SetupError
from coach.nav.wind import render_wind
from coach.session.actions import Action, Listen
from coach.session.events import Event, TransmitEnded, TransmitStarted
from coach.session.journal import Header
from coach.session.machine import Options, Session
from coach.session.phrases import PhraseTable
from coach.session.repertoire import all_prompts
from coach.settings import Settings
from coach.store.journals import begin_journal, journals_folder
from coach.voice.ear import Block
from coach.voice.ear_process import EarProcess
from coach.voice.ear_worker import EarWorker
from coach.voice.microphone import Microphone
from coach.voice.microphone_device import choose_input
from coach.voice.recogniser import EarChoice
from coach.voice.speaker import Speaker
from coach.voice.synthesis import Synthesiser


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What a flight is flown with."""

    plan: Plan
    settings: Settings
    table: PhraseTable
    has_ear: bool = True
    has_voice: bool = True


class Screen(Edge, Protocol):
    """Shows the flight and takes the keys."""

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        """Begin to show, and to post keys."""

    def tell(self, text: str) -> None:
        """One line that is no part of the session: a lack, a remedy."""

    def close(self) -> None:
        """Leave the terminal as it was."""


def fly_live(choice: Choice, screen: Screen) -> None:
    """Fly to the end of the session."""
    clock = SessionClock()
    inbox = Inbox(clock.now_s)
    session = Session(choice.plan, choice.table, options_of(choice.settings))
    with ExitStack() as stack:
        screen.open(post=inbox.post, clock=clock.now_s)
        stack.callback(screen.close)
        edges: list[Edge] = [screen]
        if choice.has_voice:
            edges += _open_voice(choice, clock, inbox, screen, stack)
        if choice.has_ear:
            edges += _open_ear(choice, clock, inbox, screen, stack)
        journal = begin_journal(
            journals_folder(), header_of(choice.plan, choice.settings), post=inbox.post, now_s=clock.now_s
        )
        stack.enter_context(journal)
        fly(session, LiveWorld(clock, inbox, edges), journal)


def options_of(settings: Settings) -> Options:
    """What of the settings the session needs."""
    minutes = settings.heading_check_min
    return Options(talk=settings.talk, heading_check_s=minutes * 60.0 if minutes else None)


def header_of(plan: Plan, settings: Settings) -> Header:
    """The first line of the journal."""
    return Header(
        version=1,
        drill=plan.drill.name,
        drill_settings=plan.drill.settings,
        began_utc=datetime.now(UTC),
        coach_version=__version__,
        session_settings=(
            ("talk", settings.talk),
            ("tas_kt", f"{plan.tas_kt:g}"),
            ("wind", render_wind(plan.wind)),
            ("height_ft", f"{settings.height_ft:g}"),
            ("full_scale_deg", f"{settings.full_scale_deg:g}"),
            ("heading_check_min", f"{settings.heading_check_min:g}"),
        ),
    )


def ear_choice(settings: Settings) -> EarChoice:
    """Which recogniser the settings ask for."""
    engine = None if settings.recogniser == "auto" else settings.recogniser
    return EarChoice(engine=engine, vosk_folder=settings.vosk_model)  # type: ignore[arg-type]


def synthesiser_of(settings: Settings, voice: str | None) -> Synthesiser:
    """A voice, its prompts cached on disk."""
    cache = platformdirs.user_cache_path("drill-coach", appauthor=False) / "prompts"
    return Synthesiser(voice, settings.rate_wpm, cache_dir=cache)


def _open_voice(
    choice: Choice, clock: SessionClock, inbox: Inbox, screen: Screen, stack: ExitStack
) -> list[Edge]:
    speaker = Speaker(
        synthesiser_of(choice.settings, choice.settings.voice),
        clock=clock.now_s,
        post=inbox.post,
        device=choice.settings.output_device,
        volume=choice.settings.volume,
    )
    try:
        speaker.start()
    except SetupError as error:
        screen.tell(f"No voice, text only. {error}")
        return []
    stack.callback(speaker.close)
    speaker.prepare(all_prompts(choice.plan))
    return [speaker]


def _open_ear(
    choice: Choice, clock: SessionClock, inbox: Inbox, screen: Screen, stack: ExitStack
) -> list[Edge]:
    worker = EarWorker(EarProcess(ear_choice(choice.settings)), post=inbox.post)
    ear = EarEdge(worker, choice.table)
    try:
        opener = choose_input(choice.settings.input_device, clock.now_s)
    except SetupError as error:
        screen.tell(f"No microphone, keys only. {error}")
        return []
    microphone = Microphone(open_stream=opener, take=ear.take, post=inbox.post, clock=clock.now_s)
    worker.start()
    stack.callback(worker.close)
    microphone.start()
    stack.callback(microphone.close)
    return [ear]


class EarEdge:
    """The ear as an edge: the grammar goes in, and the microphone's sound while nobody transmits."""

    def __init__(self, worker: EarWorker, table: PhraseTable) -> None:
        self._worker = worker
        self._table = table
        self._is_closed = False

    def do(self, action: Action) -> None:
        """Understand what the session listens for."""
        if isinstance(action, Listen):
            self._worker.listen_for(self._table.ways(action.phrases))

    def follow(self, event: Event) -> None:
        """The transmit key closes the ear."""
        if isinstance(event, TransmitStarted | TransmitEnded):
            self._is_closed = isinstance(event, TransmitStarted)

    def take(self, block: Block, at_s: float) -> None:
        """A block of the microphone."""
        if not self._is_closed:
            self._worker.send(block, at_s)
