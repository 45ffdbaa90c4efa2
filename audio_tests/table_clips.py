"""What the table is measured on: each measure's clips, grammar, noises and SNRs.

Outside speech is read where it lies (`COACH_SHARED`), synthetic voices are said into a folder once. Never
hears anything.
"""

from __future__ import annotations

import os
import random
import re
import sys
import zlib
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from audio_tests.score import LEG, find_grammar
from audio_tests.score_trials import RATE_HZ, Clip, Kind, Noise, Samples, make_cabin_noise, read_manifest
from audio_tests.voices import RATES, SENTENCES, say, voice_names
from audio_tests.vosk_speech import (
    CHOSEN_ON,
    RATES_WPM,
    VOICES,
    leg_ways,
    read_foreign,
    say_foreign,
    say_phrases,
)
from coach.errors import SettingsError
from coach.store.phrases import read_phrases
from coach.voice.pcm import RATE_HZ as SOUND_RATE_HZ
from coach.voice.pcm import encode_samples, resample, write_wav
from coach.voice.recogniser import Engine, Ways

CLEAN = "none"
OWN = "own"
"""The project's own cabin noise (`coach.rehearsal.cabin`)."""

OUTSIDE = "outside"
"""That of the outside data, a generator made by somebody else; it hides less of a voice at the same SNR."""

PROMPTS = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
"""Telephone prompts in one recorded voice, where Debian's asterisk-core-sounds-en-wav is installed."""

NOVEL = Path("/usr/share/pocketsphinx/test/data/librivox")
"""Five sentences of a novel read aloud, where Debian's pocketsphinx-testdata is installed."""

SAYINGS = Path("/usr/share/games/fortunes")
"""Texts to be read by the synthetic voices, where Debian's fortunes are installed."""

SAYING_FILES = ("art", "education", "food", "science", "sports", "travel", "work", "wisdom", "people", "pets")
SAYINGS_READ = 600
SHORTEST_SAYING, LONGEST_SAYING = 8, 70
"""Letters: a longer one is refused by its length and tries nothing."""

LOOP_S = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One kind of trial."""

    name: str
    ways: Ways
    clips: tuple[Clip, ...]
    cabins: tuple[tuple[str, float | None], ...]
    """Noise and SNR in dB, one job each; None: hiss only."""

    turns: bool = False
    """Whether each seed takes only one of the cabins, in turn."""


def is_in_first_half(speaker: str) -> bool:
    """Whether thresholds are chosen on this speaker; they are reported on the others."""
    if speaker in VOICES:  # Vosk's were chosen before there was a rule
        return speaker in CHOSEN_ON
    return zlib.crc32(speaker.encode()) % 2 == 0


def make_noise(name: str) -> Noise:
    """Noise of unit RMS by its name."""
    return make_outside_noise() if name == OUTSIDE else make_cabin_noise()


def make_outside_noise() -> Noise:
    """The outside data's generator, a loop of a minute for each seed."""
    folder = str(find_shared() / "noise")
    sys.path.insert(0, folder)
    try:
        from synth_cabin import synth
    finally:
        sys.path.remove(folder)
    loops: dict[int, Samples] = {}

    def noise(seed: int, start: int, length: int) -> Samples:
        if seed not in loops:
            loops.clear()
            loop = synth(seconds=LOOP_S, seed=seed)
            loops[seed] = (loop / np.sqrt(np.mean(loop.astype(np.float64) ** 2))).astype(np.float32)
        return np.take(loops[seed], np.arange(start, start + length), mode="wrap")

    return noise


def find_shared() -> Path:
    """The folder of the outside data; `SettingsError` where it is not named."""
    shared = os.environ.get("COACH_SHARED")
    if shared is None:
        raise SettingsError("COACH_SHARED: expected the folder of the outside data, got nothing")
    return Path(shared) / "data"


def find_measures(engine: Engine, folder: Path, only: Collection[str] | None = None) -> tuple[Measure, ...]:
    """The measures of an engine, or some of them; clips that are said go into the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    makers = KOREAN if engine == "vosk" else ENGLISH
    return tuple(make(folder) for name, make in makers.items() if only is None or name in only)


def _cross(noises: tuple[str, ...], snrs_db: tuple[float, ...]) -> tuple[tuple[str, float | None], ...]:
    return tuple((noise, snr_db) for noise in noises for snr_db in snrs_db)


QUIET = (CLEAN, None)
SOME = (QUIET, *_cross((OUTSIDE, OWN), (10.0, 0.0)))


def _find_control_words(_folder: Path) -> Measure:
    control = _select(_read_real(), "an4", single=True)
    return Measure(
        name="control words",
        ways=find_grammar(control, read_phrases(), beside="flight"),
        clips=control,
        cabins=(QUIET, *_cross((OUTSIDE, OWN), (10.0, 5.0, 0.0, -5.0))),
    )


def _find_closed_set(_folder: Path) -> Measure:
    closed = tuple(c for c in _select(_read_real(), "speech_commands", single=True) if c.kind == "accept")
    ways = find_grammar(closed, read_phrases(), beside=None)
    return Measure(name="closed set", ways=ways, clips=closed, cabins=(QUIET,))


def _find_flight_phrases(folder: Path) -> Measure:
    return Measure(
        name="flight phrases",
        ways=_leg(),
        clips=tuple(say_leg(folder)),
        cabins=_cross((OUTSIDE, OWN), (10.0, 0.0, -5.0)),
    )


def _find_foreign_words(_folder: Path) -> Measure:
    known = {word for way, _ in _leg() for word in way.split()}
    words = (
        clip for clip in _select(_read_real(), "speech_commands", single=True) if clip.words not in known
    )
    return Measure(
        name="foreign words", ways=_leg(), clips=tuple(replace(c, kind="reject") for c in words), cabins=SOME
    )


def _find_public_speech(_folder: Path) -> Measure:
    real = _read_real()
    talk = (*_select(real, "an4", single=False), *_select(real, "speech_to_intent", single=False))
    clips = (*(replace(c, kind="reject") for c in talk), *_find_recorded(NOVEL), *_find_recorded(PROMPTS))
    return Measure(name="public speech", ways=_leg(), clips=clips, cabins=SOME, turns=True)


def _find_readings(folder: Path) -> Measure:
    clips = tuple(read_aloud(folder))
    return Measure(name="synthetic readings", ways=_leg(), clips=clips, cabins=SOME, turns=True)


def _find_korean_phrases(folder: Path) -> Measure:
    turned = (RATES_WPM[first:] + RATES_WPM[:first] for first in range(len(RATES_WPM)))
    clips = tuple(clip for rates_wpm in turned for clip in say_phrases(folder, VOICES, rates_wpm))
    cabins = (QUIET, *_cross((OUTSIDE, OWN), (10.0, 0.0, -5.0)))
    return Measure(name="flight phrases", ways=leg_ways(), clips=clips, cabins=cabins)


def _find_korean_words(folder: Path) -> Measure:
    clips = say_foreign(folder, (text for text in read_foreign() if " " not in text), VOICES)
    return Measure(name="foreign words", ways=leg_ways(), clips=clips, cabins=SOME)


def _find_korean_sentences(folder: Path) -> Measure:
    clips = say_foreign(folder, tuple(text for text in read_foreign() if " " in text), VOICES)
    return Measure(name="synthetic readings", ways=leg_ways(), clips=clips, cabins=SOME, turns=True)


ENGLISH: dict[str, Callable[[Path], Measure]] = {
    "control words": _find_control_words,
    "closed set": _find_closed_set,
    "flight phrases": _find_flight_phrases,
    "foreign words": _find_foreign_words,
    "public speech": _find_public_speech,
    "synthetic readings": _find_readings,
}
KOREAN: dict[str, Callable[[Path], Measure]] = {
    "flight phrases": _find_korean_phrases,
    "foreign words": _find_korean_words,
    "synthetic readings": _find_korean_sentences,
}


def _leg() -> Ways:
    return read_phrases().ways(LEG)


def _read_real() -> tuple[Clip, ...]:
    return read_manifest(find_shared() / "speech" / "manifest.csv")


def _select(clips: tuple[Clip, ...], source: str, *, single: bool) -> tuple[Clip, ...]:
    """The clips of a source: single words, or what has several."""
    return tuple(c for c in clips if source in str(c.path) and (len(c.words.split()) == 1) is single)


def _find_recorded(folder: Path) -> tuple[Clip, ...]:
    """The recordings of a Debian package; none where it is not installed."""
    paths = sorted(path for path in folder.rglob("*.wav") if path.stat().st_size > RATE_HZ // 4)
    return tuple(Clip(path=p, words=p.stem, speaker=folder.name, kind="reject") for p in paths)


def say_leg(folder: Path) -> Iterator[Clip]:
    """Every way of saying of a leg in every voice at every rate."""
    for voice in voice_names():
        for rate in RATES:
            for way, _ in read_phrases().ways(LEG):
                yield say_clip(folder, way, voice, rate, kind="accept")


def read_aloud(folder: Path) -> Iterator[Clip]:
    """What a pilot says that is no command in every voice, and sayings, the voices in turn."""
    voices = voice_names()
    for voice in voices:
        for n, sentence in enumerate(SENTENCES):
            yield say_clip(folder, sentence, voice, RATES[n % len(RATES)], kind="reject")
    for n, saying in enumerate(find_sayings()):
        yield say_clip(folder, saying, voices[n % len(voices)], RATES[n % 7 % len(RATES)], kind="reject")


def find_sayings() -> tuple[str, ...]:
    """Short texts of the installed fortunes, always the same; none where there are none."""
    texts = [path.read_text(encoding="utf-8") for name in SAYING_FILES if (path := SAYINGS / name).is_file()]
    parts = (" ".join(part.split()) for text in texts for part in re.split(r"[.?!;:%]|--", text))
    plain = {part for part in parts if re.fullmatch(r"[A-Za-z][A-Za-z' ,]+", part)}
    usable = sorted(part for part in plain if SHORTEST_SAYING <= len(part) <= LONGEST_SAYING)
    return tuple(random.Random(1).sample(usable, min(SAYINGS_READ, len(usable))))


def say_clip(folder: Path, text: str, voice: str, rate: float, *, kind: Kind) -> Clip:
    """One text as a clip; said once a folder."""
    name = re.sub(r"[^a-z0-9]+", "-", f"{voice} {rate:g} {text}".lower())[:90]
    path = folder / f"{name}-{zlib.crc32(text.encode()):08x}.wav"
    if not path.is_file():
        write_wav(path, encode_samples(resample(say(text, voice, rate), RATE_HZ, SOUND_RATE_HZ)))
    return Clip(path=path, words=text, speaker=voice, kind=kind)
