"""A flight in real time: the edges opened, plugged into the loop, and closed again.

Without a usable microphone or speaker the flight goes on with keys and text; each lack is one line.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Protocol

import platformdirs

from coach import __version__
from coach.broken_off import BrokenOff, clock_settings, stand_again, take_up
from coach.cockpit import Edge, Inbox, LiveWorld, SessionClock, fly
from coach.drill.plan import Plan
from coach.errors import SetupError
from coach.feed.address import FeedAddress
from coach.feed.worker import FeedWorker
from coach.learning import KNOWN, encode_known, keep_learnt
from coach.nav.station import Station, render_station
from coach.nav.wind import render_wind
from coach.own_profile import find_profile, tell_unused
from coach.session.events import Event, HeldUp
from coach.session.journal import Header
from coach.session.machine import Options, Session
from coach.session.mastery import Mastery
from coach.session.phrases import PhraseTable, render_unknown_words
from coach.session.repertoire import all_prompts, feed_prompts, taught_prompts
from coach.session.surprised import Surprises
from coach.settings import Settings, feed_use_of
from coach.sound_edges import EarEdge, SpeakerEdge
from coach.store.journal_writer import JournalWriter
from coach.store.journals import begin_journal, journals_folder, resume_journal
from coach.voice.ear_process import EarProcess
from coach.voice.ear_worker import EarWorker
from coach.voice.microphone import Microphone
from coach.voice.microphone_device import choose_input
from coach.voice.played import Played
from coach.voice.recogniser import ear_choice
from coach.voice.speaker import Speaker
from coach.voice.synthesis import Synthesiser
from coach.workers import telling_of_dead_workers

HELD_UP_TOLD_S = 2.0
"""A loop that stood still for less is journalled only: time calls go to the speaker a second early."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What a flight is flown with."""

    plan: Plan
    settings: Settings
    table: PhraseTable
    has_ear: bool = True
    has_voice: bool = True
    feed: FeedAddress | None = None
    """Where positions come from; None: no feed."""

    station: Station | None = None
    """What positions are seen from; needed with a feed."""

    known: tuple[Mastery, ...] = ()
    """What the session before left of what the pilot knows of the drill; empty: nothing is known."""

    surprises: Surprises | None = None
    """What an instructor has switched on; None: nothing."""

    asked: str = "{}"
    """The command's options as `coach.broken_off.encode_asked` writes them, for going on with the flight."""

    broken_off: BrokenOff | None = None
    """The flight to go on with; None: a new one."""


class Screen(Edge, Protocol):
    """Shows the flight and takes the keys."""

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        """Begin to show, and to post keys."""

    def heard(self, event: Event) -> None:
        """Show what was heard, lost or found again."""

    def tell(self, text: str) -> None:
        """One line that is no part of the session: a lack, a remedy."""

    def close(self) -> None:
        """Leave the terminal as it was."""


def fly_live(choice: Choice, screen: Screen, watchers: tuple[Screen, ...] = ()) -> None:
    """Fly to the end of the session, or until interrupted; `watchers` are shown all that the screen is.

    JournalError where a flight broken off cannot be gone on with.
    """
    session = Session(choice.plan, choice.table, options_of(choice))
    standing, told = (None, "") if choice.broken_off is None else stand_again(choice.broken_off, session)
    clock = SessionClock(reads_s=0.0 if standing is None else standing.at_s)
    inbox = Inbox(clock.now_s)
    with telling_of_dead_workers(screen.tell), ExitStack() as stack:
        cockpit = _Cockpit(choice, clock, inbox, screen, stack)
        cockpit.open()
        cockpit.show_to(watchers)
        header = header_of(choice) if choice.broken_off is None else choice.broken_off.journal.header
        journal = stack.enter_context(_open_journal(choice, header, clock, inbox))
        world = LiveWorld(clock, inbox, cockpit.edges, cockpit.followers)
        if standing is not None:
            screen.tell(told)
            journal.write_missing(standing.missing)
            take_up(standing, world, inbox.post)
        try:
            fly(session, world, journal, is_begun=standing is not None)
        finally:
            # However it ended; a flight gone on with later is one session.
            keep_learnt(choice.settings.mode, header, session.mastery, screen.tell)


def _open_journal(choice: Choice, header: Header, clock: SessionClock, inbox: Inbox) -> JournalWriter:
    if choice.broken_off is not None:
        return resume_journal(choice.broken_off.path, post=inbox.post, now_s=clock.now_s)[1]
    kept = (*header.session_settings, ("asked", choice.asked), *clock_settings(clock))
    header = replace(header, session_settings=kept)
    return begin_journal(journals_folder(), header, post=inbox.post, now_s=clock.now_s)


def options_of(choice: Choice) -> Options:
    """What of the choice the session needs."""
    settings, minutes = choice.settings, choice.settings.heading_check_min
    is_fed = choice.feed is not None and choice.station is not None
    return Options(
        talk=settings.talk,
        heading_check_s=minutes * 60.0 if minutes else None,
        feed=feed_use_of(settings, choice.station) if is_fed and choice.station else None,
        mode=settings.mode,
        known=choice.known,
        surprises=choice.surprises,
    )


def header_of(choice: Choice) -> Header:
    """The first line of the journal."""
    plan, settings = choice.plan, choice.settings
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
            ("mode", settings.mode),
            *(((KNOWN, encode_known(choice.known)),) if choice.known else ()),
            *_feed_settings(choice),
        ),
    )


def _feed_settings(choice: Choice) -> Iterator[tuple[str, str]]:
    """What a replay and the debrief need of the station and the feed."""
    if choice.station is not None:
        yield "station", render_station(choice.station)
    if choice.feed is not None:
        yield "feed", str(choice.feed)
        yield "feed_role", choice.settings.feed_role
        yield "dots", str(choice.settings.dots)


def synthesiser_of(settings: Settings, voice: str | None) -> Synthesiser:
    """A voice, its prompts cached on disk."""
    cache = platformdirs.user_cache_path("drill-coach", appauthor=False) / "prompts"
    return Synthesiser(voice, settings.rate_wpm, cache_dir=cache)


def tell_unknown_words(ear: EarProcess, table: PhraseTable, tell: Callable[[str], None]) -> None:
    """Tell which words the ear can never hear; an ear that has gone meanwhile tells of that itself."""
    with suppress(SetupError):
        text = render_unknown_words(table, ear.find_unknown_words(table.all_ways))
        if text is not None:
            tell(text)


class _Cockpit:
    """The edges of one flight; each closes with the stack."""

    def __init__(
        self, choice: Choice, clock: SessionClock, inbox: Inbox, screen: Screen, stack: ExitStack
    ) -> None:
        self._choice = choice
        self._clock = clock
        self._inbox = inbox
        self._screen = screen
        self._stack = stack
        self._played: Played | None = None
        self.edges: list[Edge] = []
        self.followers: list[Callable[[Event], None]] = []

    def open(self) -> None:
        """Open what there is; each lack is one line on the screen."""
        self._screen.open(post=self._inbox.post, clock=self._clock.now_s)
        self._stack.callback(self._screen.close)
        self.edges.append(self._screen)
        self.followers += [self._screen.heard, self._tell_held_up]
        wanted: tuple[tuple[bool, Callable[[], None], str], ...] = (
            (self._choice.has_voice, self._open_voice, "No voice, text only"),
            (self._choice.has_ear, self._open_ear, "No ear, keys only"),
            (self._choice.feed is not None, self._open_feed, "No feed, by voice and clock"),
        )
        for is_wanted, open_edge, without in wanted:
            if is_wanted:
                self._try(open_edge, without)

    def show_to(self, watchers: tuple[Screen, ...]) -> None:
        """Let others follow the flight beside the screen, such as an instructor's page."""
        for watcher in watchers:
            watcher.open(post=self._inbox.post, clock=self._clock.now_s)
            self._stack.callback(watcher.close)
            self.edges.append(watcher)
            self.followers.append(watcher.heard)

    def _tell_held_up(self, event: Event) -> None:
        """A coach that stood still may have missed a call; a second it makes good by itself."""
        if not isinstance(event, HeldUp):
            return
        if event.at_s - event.onset_s >= HELD_UP_TOLD_S:
            self._screen.tell(f"Stood still for {event.at_s - event.onset_s:.0f} s")
        if event.lost:
            self._screen.tell(f"Too busy: {event.lost} facts lost")

    def _try(self, open_edge: Callable[[], None], without: str) -> None:
        try:
            open_edge()
        except SetupError as error:
            self._screen.tell(f"{without}. {error}")

    def _open_voice(self) -> None:
        settings = self._choice.settings
        synthesiser = synthesiser_of(settings, settings.coach_voice)
        speaker = Speaker(
            synthesiser,
            clock=self._clock.now_s,
            post=self._inbox.post,
            device=settings.output_device,
            volume=settings.volume,
        )
        speaker.start()
        self._stack.callback(speaker.close)
        self._played = speaker.played
        self.edges.append(SpeakerEdge(speaker))
        self._prepare(synthesiser)

    def _prepare(self, synthesiser: Synthesiser) -> None:
        """Render what the drill will say, beside the first minute; the speaker tells of a failure."""
        texts = all_prompts(self._choice.plan)
        texts += taught_prompts(self._choice.plan, self._choice.settings.mode)
        if self._choice.feed is not None:
            texts += feed_prompts(self._choice.settings.dots)

        def prepare() -> None:
            with suppress(SetupError):
                synthesiser.prepare(texts)

        threading.Thread(target=prepare, name="prepare", daemon=True).start()

    def _open_ear(self) -> None:
        settings = self._choice.settings
        profile = find_profile(settings, self._screen.tell)
        process = EarProcess(ear_choice(settings, profile))

        def ready(name: str) -> None:
            tell_unknown_words(process, self._choice.table, self._screen.tell)
            tell_unused(profile, name, self._screen.tell)

        worker = EarWorker(process, post=self._inbox.post, ready=ready)
        ear = EarEdge(worker, self._choice.table, push_to_talk=settings.push_to_talk, played=self._played)
        microphone = Microphone(
            open_stream=choose_input(settings.input_device, self._clock.now_s),
            take=ear.take,
            post=self._inbox.post,
            clock=self._clock.now_s,
        )
        for edge in (worker, microphone):
            edge.start()
            self._stack.callback(edge.close)
        self.edges.append(ear)
        self.followers.append(ear.follow)

    def _open_feed(self) -> None:
        address = self._choice.feed
        if address is None:
            return
        worker = FeedWorker(
            address,
            post=self._inbox.post,
            now_s=self._clock.now_s,
            tell=lambda text: self._screen.tell(f"Feed: {text}"),
        )
        self._stack.callback(worker.close)
        worker.start()
