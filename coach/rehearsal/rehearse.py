"""`coach rehearse`: builds the simulated cockpit around the real loop and flies one drill in it.

Never prints and never reads settings from disk: lines go to a callback, the outcome is a value.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from coach.cockpit import Journal, World, fly
from coach.drill.plan import Plan, plan_drill
from coach.nav.station import Station
from coach.rehearsal.amended import Amended
from coach.rehearsal.answering import Answering, Practice
from coach.rehearsal.card import Card, print_card
from coach.rehearsal.feed import FlownFeed, RehearsalFeed, flown_feed, open_feed
from coach.rehearsal.flight import Flight, FlownLeg, FlownPlace, arriving_for
from coach.rehearsal.habits import Habits
from coach.rehearsal.learners import Learner, LearnerKind, draw_traits
from coach.rehearsal.pilot import Pilot
from coach.rehearsal.radio import Radio
from coach.rehearsal.sound import CockpitSound, open_sound
from coach.rehearsal.transcript import TAUGHT, Called, Heard, Said, Transcript
from coach.rehearsal.transmitter import FeedConditions
from coach.rehearsal.world import RehearsalWorld
from coach.session.actions import Action
from coach.session.events import Event
from coach.session.machine import Options, Session
from coach.session.mastery import Mastery
from coach.session.phrases import PhraseTable, render_unknown_words
from coach.session.prompts import Talk
from coach.session.surprised import Surprises
from coach.session.teacher import Mode
from coach.settings import Settings, feed_use_of

LONGER_THAN_PLANNED = 1.5
AND_S = 900.0
"""A drill that is not over by then has come to a stop: half as long again, and a quarter of an hour."""


class NoJournal:
    """Keeps nothing."""

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        """Forget it."""


def _ignore(_line: str) -> None:
    return


def _as_it_is(world: World) -> World:
    return world


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What a rehearsal is flown under, beside the plan."""

    table: PhraseTable
    settings: Settings = field(default_factory=Settings)
    seed: int = 1
    cabin_snr_db: float | None = 20.0
    """The pilot's voice above the cabin's noise; None: no noise."""

    has_loudspeaker: bool = False
    """The coach sounds from an open loudspeaker and is in the microphone as loud as the pilot."""

    radio_calls: int = 0
    """How many sentences the pilot says that are not for the coach."""

    typed: bool = False
    """The pilot presses keys: no voice, no ear, no sound."""

    feed: FeedConditions | None = None
    """The aircraft sends its position; the coach is told no wind then. None: no feed."""

    feed_path: Path | None = None
    """Where the bytes of the feed go as a file; None: nowhere."""

    station: Station | None = None
    """Where the drill is flown; needed with a feed."""

    is_mute: bool = False
    """The pilot says and presses nothing: needs a feed that decides."""

    habits: Habits = field(default_factory=Habits)
    """What the pilot does worse than he should."""

    learner: Learner | None = None
    """How he answers and calls out where the mode asks him to; None: one who knows."""

    known: tuple[Mastery, ...] = ()
    """What the session before left of what he knows; empty: nothing is known."""

    surprises: Surprises | None = None
    """What an instructor has switched on; None: nothing."""

    audio_path: Path | None = None
    """Where the cockpit's sound goes as a WAV file; None: nowhere. Nothing is recorded of a typed flight."""

    cache_dir: Path | None = None
    """Where rendered speech is kept; None: nowhere."""

    journal: Journal = field(default_factory=NoJournal)
    tell: Callable[[str], None] = _ignore
    """Takes the flight line by line as it goes."""

    around: Callable[[World], World] = _as_it_is
    """What the simulated world is flown in, such as one that holds it to the pace of a clock."""


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
    is_mute: bool
    """The pilot said and pressed nothing."""

    feed: FlownFeed | None
    """What came of the feed; None: there was none."""

    ear: str
    """The recogniser; empty where there was none."""

    radio_calls: int
    """Sentences the pilot said that were not for the coach."""

    snr_db: float | None
    """As asked for: the full band. None where nothing was spoken, or in a silent cabin."""

    band_snr_db: float | None
    """The same voice and noise within 300-3400 Hz, mean over the phrases said."""

    mode: Mode
    judged: tuple[tuple[float, str], ...]
    """(when, what) of each answer and callout that the coach judged; empty in the told mode."""

    mastery: tuple[Mastery, ...]
    """What the next session would begin with."""

    places: tuple[FlownPlace, ...]
    """Where the aircraft was, once a second."""


def rehearse(plan: Plan, conditions: Conditions) -> Rehearsal:
    """Fly a plan from a minute before the station to "Drill complete".

    The same plan, conditions and machine give the same flight. SetupError where a voice or an ear is missing,
    DrillError for a drill this pilot cannot fly, CoachError where it does not come to an end.
    """
    began_s = time.monotonic()
    if conditions.typed or conditions.is_mute:
        return fly_plan(plan, conditions, CockpitSound(), began_s)
    with open_sound(
        plan,
        conditions.settings,
        conditions.table,
        seed=conditions.seed,
        cabin_snr_db=conditions.cabin_snr_db,
        has_loudspeaker=conditions.has_loudspeaker,
        audio_path=conditions.audio_path,
        cache_dir=conditions.cache_dir,
    ) as sound:
        return fly_plan(plan, conditions, sound, began_s)


def fly_plan(plan: Plan, conditions: Conditions, sound: CockpitSound, began_s: float) -> Rehearsal:
    """Fly a plan with the given sound; `began_s` is `time.monotonic()` when the work on it began."""
    lack = render_unknown_words(conditions.table, sound.unknown_words)
    if lack is not None:
        conditions.tell(lack)
    transcript = Transcript(tell=conditions.tell)
    amended = Amended(plan, conditions.surprises)
    flight = _put_pilot_in_aircraft(plan, conditions, amended, only_keys=sound.microphone is None)
    with open_feed(
        conditions.feed, conditions.station, conditions.settings, conditions.seed, conditions.feed_path
    ) as feed:
        flown = _fly(plan, conditions, sound, began_s, transcript=transcript, flight=flight, feed=feed)
    return replace(flown, plan=amended.plan)


def _fly(
    plan: Plan,
    conditions: Conditions,
    sound: CockpitSound,
    began_s: float,
    *,
    transcript: Transcript,
    flight: Flight,
    feed: RehearsalFeed | None,
) -> Rehearsal:
    world = RehearsalWorld(
        flight,
        sound.headset,
        transcript,
        microphone=sound.microphone,
        recording=sound.recording,
        radio=Radio(conditions.radio_calls, plan.total_s, conditions.seed),
        feed=feed,
        limit_s=plan.total_s * LONGER_THAN_PLANNED + AND_S,
    )
    session = Session(_plan_told(plan, conditions), conditions.table, _options(conditions))
    fly(session, conditions.around(world), conditions.journal)
    transcript.close()
    return Rehearsal(
        plan=plan,
        legs=flight.flown_legs()[1:],
        said=tuple(transcript.said),
        heard=tuple(transcript.heard),
        calls=tuple(transcript.calls),
        simulated_s=world.now_s(),
        wall_s=time.monotonic() - began_s,
        talk=conditions.settings.talk,
        typed=conditions.typed,
        is_mute=conditions.is_mute,
        feed=None if feed is None else flown_feed(feed, flight, transcript),
        ear=sound.ear,
        radio_calls=world.radio_calls,
        snr_db=None if sound.microphone is None else conditions.cabin_snr_db,
        band_snr_db=sound.band_snr_db,
        mode=conditions.settings.mode,
        judged=tuple(
            (at_s, record.what) for at_s, record in transcript.records if record.what.startswith(TAUGHT)
        ),
        mastery=session.mastery,
        places=tuple(flight.places),
    )


def _put_pilot_in_aircraft(
    plan: Plan, conditions: Conditions, amended: Amended, *, only_keys: bool
) -> Flight:
    full_scale_deg = conditions.settings.full_scale_deg
    card = print_card(plan)
    pilot = Pilot(
        card,
        seed=conditions.seed,
        only_keys=only_keys,
        full_scale_deg=full_scale_deg,
        has_feed=conditions.feed is not None,
        is_mute=conditions.is_mute,
        habits=conditions.habits,
        answering=_answering(plan, card, conditions, only_keys=only_keys),
        amend=amended.amend,
    )
    aircraft = arriving_for(plan.drill, plan.tas_kt, plan.wind)
    return Flight(pilot, aircraft, full_scale_deg=full_scale_deg)


def _answering(plan: Plan, card: Card, conditions: Conditions, *, only_keys: bool) -> Answering | None:
    mode = conditions.settings.mode
    if mode is Mode.TOLD:
        return None
    seed = str(conditions.seed)
    learner = conditions.learner or Learner(draw_traits(LearnerKind.KNOWS, seed), session=1, seed=seed)
    practice = Practice(mode=mode, learner=learner, order=plan.drill.five_ts)
    return Answering(card, practice, only_keys=only_keys)


def _plan_told(plan: Plan, conditions: Conditions) -> Plan:
    """What the coach plans with: on a feed it is told no wind, and finds it."""
    if conditions.feed is None:
        return plan
    settings = conditions.settings
    return plan_drill(
        plan.drill,
        tas_kt=plan.tas_kt,
        height_ft=settings.height_ft,
        full_scale_deg=settings.full_scale_deg,
    )


def _options(conditions: Conditions) -> Options:
    settings = conditions.settings
    use = None
    if conditions.feed is not None and conditions.station is not None:
        use = feed_use_of(settings, conditions.station)
    return Options(
        talk=settings.talk,
        heading_check_s=settings.heading_check_min * 60.0 or None,
        feed=use,
        mode=settings.mode,
        known=conditions.known,
        surprises=conditions.surprises,
    )
