"""The sound of a simulated cockpit: the coach's voice, the pilot's, the cabin, the ear and the recording.

Builds and closes them; never flies and never knows what is said when.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from coach.drill.plan import Plan
from coach.rehearsal.cabin import RATE_HZ, Cabin, Samples, gain_for_snr
from coach.rehearsal.headset import Headset, unvoiced
from coach.rehearsal.microphone import Loudspeaker, Microphone, loudness_at
from coach.rehearsal.recording import Recording
from coach.rehearsal.room import Room
from coach.session.phrases import PhraseTable
from coach.session.repertoire import all_prompts
from coach.settings import Settings
from coach.voice.ear_process import EarProcess
from coach.voice.echo import EchoReference
from coach.voice.pcm import RATE_HZ as COACH_RATE_HZ
from coach.voice.pcm import Samples as CoachSamples
from coach.voice.pcm import resample
from coach.voice.recogniser import ear_choice
from coach.voice.synthesis import Synthesiser, default_pilot_voice, default_voices


@dataclass(frozen=True, slots=True, kw_only=True)
class CockpitSound:
    """What a flight is heard through."""

    headset: Headset = field(default_factory=lambda: Headset(unvoiced))
    """Sounds the coach's prompts."""

    microphone: Microphone | None = None
    """None: the pilot presses keys."""

    recording: Recording | None = None
    ear: str = ""
    """The recogniser in a few words; empty where there is none."""

    unknown_words: tuple[str, ...] = ()
    """Words of the phrase table that the recogniser can never hear."""

    @property
    def band_snr_db(self) -> float | None:
        """The SNR within 300-3400 Hz, mean over the phrases said so far."""
        return None if self.microphone is None else self.microphone.find_band_snr_db()


@contextmanager
def open_sound(
    plan: Plan,
    settings: Settings,
    table: PhraseTable,
    *,
    seed: int,
    cabin_snr_db: float | None,
    has_loudspeaker: bool = False,
    audio_path: Path | None = None,
    cache_dir: Path | None = None,
) -> Iterator[CockpitSound]:
    """Start the ear, render the coach's prompts, make the cabin; SetupError where one is missing."""
    coach_voice = settings.coach_voice or default_voices()[0]
    pilot_voice = settings.pilot_voice or default_pilot_voice(table.language)
    coach = Synthesiser(coach_voice, settings.rate_wpm, settings.volume, cache_dir)
    pilot = Synthesiser(pilot_voice, settings.rate_wpm, cache_dir=cache_dir)
    with ExitStack() as stack:
        recording = None if audio_path is None else stack.enter_context(Recording(audio_path))
        ear = EarProcess(ear_choice(settings))
        stack.callback(ear.close)
        ear.start()
        coach.prepare(all_prompts(plan))
        headset = Headset(coach.render, is_open=has_loudspeaker)
        loudspeaker = None
        if has_loudspeaker:
            loudspeaker = put_up_loudspeaker(headset, coach.render(all_prompts(plan)[0]), cabin_snr_db)
        microphone = Microphone(
            ear, table, lambda text: _at_ear_rate(pilot, text), Cabin(seed), cabin_snr_db, loudspeaker
        )
        yield CockpitSound(
            headset=headset,
            microphone=microphone,
            recording=recording,
            ear=ear.name,
            unknown_words=ear.find_unknown_words(table.all_ways),
        )


def put_up_loudspeaker(
    headset: Headset,
    prompt: CoachSamples,
    snr_db: float | None,
    *,
    above_pilot_db: float = 0.0,
    seed: int = 3,
) -> Loudspeaker:
    """A loudspeaker in a room of that seed; in the microphone `prompt` is so much louder than the pilot."""
    echo = Room(seed=seed).carry(prompt, len(prompt) * RATE_HZ // COACH_RATE_HZ)
    assert echo is not None, "a prompt sounds"
    gain = gain_for_snr(echo, loudness_at(snr_db).voice_rms, above_pilot_db)
    return Loudspeaker(room=Room(gain, seed), reference=EchoReference(headset.played))


def _at_ear_rate(voice: Synthesiser, text: str) -> Samples:
    return resample(voice.render(text) / 32767, COACH_RATE_HZ, RATE_HZ).astype(np.float32)
