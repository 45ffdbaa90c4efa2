"""`coach rehearse`: builds the simulated cockpit around the real loop and flies one drill in it.

Never prints and never reads settings from disk: lines go to a callback, the outcome is a value.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import cast

import numpy as np

from coach.cockpit import Journal, fly
from coach.drill.plan import Plan
from coach.rehearsal.cabin import RATE_HZ, Cabin, Samples
from coach.rehearsal.card import print_card
from coach.rehearsal.flight import Flight, FlownLeg, arriving
from coach.rehearsal.happened import Called, Happened, Heard, Said
from coach.rehearsal.headset import Headset, Words, unvoiced
from coach.rehearsal.microphone import Microphone
from coach.rehearsal.pilot import Pilot
from coach.rehearsal.recording import Recording
from coach.rehearsal.world import RehearsalWorld
from coach.session.actions import Action
from coach.session.events import Event
from coach.session.machine import Options, Session
from coach.session.phrases import PhraseTable
from coach.session.prompts import Talk
from coach.session.repertoire import all_prompts
from coach.settings import Settings
from coach.voice.ear_process import EarProcess
from coach.voice.pcm import RATE_HZ as COACH_RATE_HZ
from coach.voice.pcm import resample
from coach.voice.recogniser import EarChoice, Engine
from coach.voice.synthesis import Synthesiser, default_voices

LONGER_THAN_PLANNED = 1.5
AND_S = 900.0
"""A drill that is not over by then has come to a stop: half as long again, and a quarter of an hour."""

PILOT_WORDS = ("station passage", "needle alive", "established", "wings level")
"""All that the simulated pilot ever says."""


class NoJournal:
    """Keeps nothing."""

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        """Forget it."""


def _ignore(_line: str) -> None:
    return


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What a rehearsal is flown under, beside the plan."""

    settings: Settings = field(default_factory=Settings)
    table: PhraseTable
    seed: int = 1
    cabin_snr_db: float | None = 20.0
    """The pilot's voice above the cabin's noise; None: no noise."""

    typed: bool = False
    """The pilot presses keys: no voice, no ear, no sound."""

    audio_path: Path | None = None
    """Where the cockpit's sound goes as a WAV file; None: nowhere. Nothing is recorded of a typed flight."""

    cache_dir: Path | None = None
    """Where rendered speech is kept; None: nowhere."""

    journal: Journal = field(default_factory=NoJournal)
    tell: Callable[[str], None] = _ignore
    """Takes the flight line by line as it goes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """One drill as it was flown."""

    plan: Plan
    legs: tuple[FlownLeg, ...]
    """Every leg of the drill that was begun, in order; the way to the station left out."""

    said: tuple[Said, ...]
    heard: tuple[Heard, ...]
    calls: tuple[Called, ...]
    simulated_s: float
    """From the start of the session, a minute before the station, to its end."""

    wall_s: float
    talk: Talk
    typed: bool
    ear: str
    """The recogniser; empty where there was none."""

    snr_db: float | None
    """As asked for: the full band."""

    band_snr_db: float | None
    """The same voice and noise within 300-3400 Hz, mean over the pilot's words."""


def rehearse(plan: Plan, conditions: Conditions) -> Rehearsal:
    """Fly a plan from a minute before the station to "Drill complete".

    The same plan, conditions and machine give the same flight. SetupError where a voice or an ear is missing,
    DrillError for a drill this pilot cannot fly, CoachError where it does not come to an end.
    """
    began_s = time.monotonic()
    happened = Happened(tell=conditions.tell)
    flight = _put_pilot_in_aircraft(plan, conditions)
    limit_s = plan.total_s * LONGER_THAN_PLANNED + AND_S
    session = Session(plan, conditions.table, _options(conditions.settings))
    with ExitStack() as stack:
        sound = _Silent() if conditions.typed else _Sound(plan, conditions, stack)
        world = RehearsalWorld(
            flight,
            Headset(sound.words),
            happened,
            microphone=sound.microphone,
            recording=sound.recording,
            limit_s=limit_s,
        )
        fly(session, world, conditions.journal)
    happened.close()
    return Rehearsal(
        plan=plan,
        legs=flight.flown_legs()[1:],
        said=tuple(happened.said),
        heard=tuple(happened.heard),
        calls=tuple(happened.calls),
        simulated_s=world.now_s(),
        wall_s=time.monotonic() - began_s,
        talk=conditions.settings.talk,
        typed=conditions.typed,
        ear=sound.ear,
        snr_db=None if conditions.typed else conditions.cabin_snr_db,
        band_snr_db=sound.find_band_snr_db(),
    )


def _put_pilot_in_aircraft(plan: Plan, conditions: Conditions) -> Flight:
    full_scale_deg = conditions.settings.full_scale_deg
    pilot = Pilot(
        print_card(plan), seed=conditions.seed, only_keys=conditions.typed, full_scale_deg=full_scale_deg
    )
    aircraft = arriving(plan.drill.arrive_course_mag_deg, plan.tas_kt, plan.wind)
    return Flight(pilot, aircraft, full_scale_deg=full_scale_deg)


def _options(settings: Settings) -> Options:
    return Options(talk=settings.talk, heading_check_s=settings.heading_check_min * 60.0 or None)


class _Silent:
    """The sound of a flight by keys: none."""

    words: Words = staticmethod(unvoiced)
    microphone: Microphone | None = None
    recording: Recording | None = None
    ear = ""

    def find_band_snr_db(self) -> None:
        return None


class _Sound:
    """Voices, cabin and ear of a spoken flight, closed with the stack."""

    def __init__(self, plan: Plan, conditions: Conditions, stack: ExitStack) -> None:
        settings = conditions.settings
        coach_default, pilot_default = default_voices()
        pilot_voice = settings.pilot_voice or pilot_default
        cache = conditions.cache_dir
        coach = Synthesiser(settings.voice or coach_default, settings.rate_wpm, cache_dir=cache)
        pilot = Synthesiser(pilot_voice, settings.rate_wpm, cache_dir=cache)
        hearing = EarProcess(ear_choice(settings))
        stack.callback(hearing.close)
        hearing.start()
        coach.prepare(all_prompts(plan))
        self.words: Words = coach.render
        self.ear = hearing.name
        cabin = Cabin(conditions.seed)
        self.microphone: Microphone | None = Microphone(
            hearing, conditions.table, lambda text: _as_heard(pilot, text), cabin, conditions.cabin_snr_db
        )
        self.recording = _record(conditions.audio_path, stack)

    def find_band_snr_db(self) -> float | None:
        return None if self.microphone is None else self.microphone.find_band_snr_db()


def _record(path: Path | None, stack: ExitStack) -> Recording | None:
    return None if path is None else stack.enter_context(Recording(path))


def _as_heard(voice: Synthesiser, text: str) -> Samples:
    sound = resample(voice.render(text) / 32767, COACH_RATE_HZ, RATE_HZ)
    return sound.astype(np.float32)


def ear_choice(settings: Settings) -> EarChoice:
    """The recogniser that the settings ask for."""
    engine = None if settings.recogniser == "auto" else cast(Engine, settings.recogniser)
    return EarChoice(engine=engine, vosk_folder=settings.vosk_model)
