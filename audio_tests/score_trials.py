"""Trials of the ear: clips laid one after another into one stretch of cabin, heard as in flight.

The ear is the child process that flies, endpoint included; nothing tells it where a clip begins. Never
judges how good a figure is.
"""

from __future__ import annotations

import csv
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coach.errors import Problem, SettingsError
from coach.rehearsal.cabin import Cabin, band_snr_db, voice_rms
from coach.session.events import NotUnderstood, PhraseHeard, SpeechStarted
from coach.voice.ear_process import EarProcess
from coach.voice.pcm import RATE_HZ as SOUND_RATE_HZ
from coach.voice.pcm import read_sound_file, resample
from coach.voice.recogniser import Ways

Samples = NDArray[np.float32]

RATE_HZ = 16_000
BLOCK = 512
"""Blocks of 32 ms, as the microphone gives them."""

VOICE_RMS = 0.08
LOUDEST_NOISE_RMS = 0.12
"""Noise peaks at five times its RMS: from here on the voice is lowered rather than the noise clipped."""

QUIET_RMS = 1e-4
"""Without cabin noise a microphone still hisses: -80 dB."""

SETTLE_S = 3.0
"""Cabin before the first clip: the ear learns its floor."""

GAP_S = 1.5
"""Cabin after each clip: longer than any endpoint."""

HOP = RATE_HZ // 50
VOICED_WITHIN_DB = 30.0
"""The last voiced frame is the last 20 ms within 30 dB of the clean clip's loudest."""

Kind = Literal["accept", "reject"]
Noise = Callable[[int, int, int], Samples]
"""Seed, first sample and length to noise of unit RMS."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """One line of a manifest."""

    path: Path
    words: str
    speaker: str
    kind: Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one clip under one seed."""

    clip: Clip
    seed: int
    heard: tuple[str, ...]
    """Every phrase that was understood; hardly ever more than one."""

    reason: str
    """Why nothing was understood; empty where something was, `no voice found` where the ear never woke."""

    score: float | None
    latency_ms: float | None
    """End of the clean clip's voice to the event, computing included; None where nothing was understood."""

    clip_s: float
    band_snr_db: float | None


def read_manifest(path: Path) -> tuple[Clip, ...]:
    """The clips of a manifest (columns path, words, speaker, kind); `SettingsError` names each problem."""
    try:
        rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    except (OSError, UnicodeDecodeError) as exc:
        raise SettingsError(f"{path}: expected a manifest in CSV, got {exc.__class__.__name__}") from exc
    problems = [problem for n, row in enumerate(rows, 2) for problem in _check_row(path, n, row)]
    if problems or not rows:
        raise SettingsError(*problems or [f"{path}: expected clips, got an empty manifest"])
    return tuple(
        Clip(path=path.parent / row["path"], words=row["words"], speaker=row["speaker"], kind=row["kind"])
        for row in rows
    )


def _check_row(path: Path, line: int, row: dict[str, str]) -> Iterator[Problem]:
    for column in ("path", "words", "speaker", "kind"):
        if row.get(column) is None:
            yield Problem(where=f"{path}:{line}: {column}", expected="a column of that name", got="none")
    if row.get("kind") not in (None, "accept", "reject"):
        yield Problem(where=f"{path}:{line}: kind", expected="accept or reject", got=f"'{row['kind']}'")
    if row.get("path") and not (path.parent / row["path"]).is_file():
        yield Problem(where=f"{path}:{line}: path", expected="a sound file", got=f"'{row['path']}'")


def read_sound(path: Path) -> Samples:
    """A clip as mono at 16 kHz; `SettingsError` where it is no sound."""
    try:
        sound = read_sound_file(path)
    except (OSError, ValueError, ImportError) as exc:
        raise SettingsError(f"{path}: expected a sound file, got {exc}") from exc
    return resample(sound / 32768, SOUND_RATE_HZ, RATE_HZ).astype(np.float32)


def make_cabin_noise() -> Noise:
    """The project's own cabin, a loop of a minute for each seed."""
    cabins: dict[int, Cabin] = {}

    def noise(seed: int, start: int, length: int) -> Samples:
        cabins.setdefault(seed, Cabin(seed))
        return cabins[seed].at(start, length)

    return noise


def read_noise(path: Path) -> Noise:
    """A recording as an endless loop, begun at a place that hangs on the seed."""
    sound = read_sound(path)
    loop = (sound / np.sqrt(np.mean(sound.astype(np.float64) ** 2))).astype(np.float32)

    def noise(seed: int, start: int, length: int) -> Samples:
        first = start + int(np.random.default_rng(seed).integers(len(loop)))
        return np.take(loop, np.arange(first, first + length), mode="wrap")

    return noise


@dataclass(frozen=True, slots=True, kw_only=True)
class Cockpit:
    """What the voice is mixed into."""

    noise: Noise
    snr_db: float | None
    """None: hiss only."""

    @property
    def noise_rms(self) -> float:
        """Level of the noise, full scale 1."""
        if self.snr_db is None:
            return QUIET_RMS
        return min(LOUDEST_NOISE_RMS, VOICE_RMS * 10 ** (-self.snr_db / 20))

    def scale(self, voice: Samples) -> Samples:
        """The voice at its level above the noise."""
        rms = voice_rms(voice)
        wanted = VOICE_RMS if self.snr_db is None else self.noise_rms * 10 ** (self.snr_db / 20)
        return voice * np.float32(wanted / rms) if rms > 0 else voice

    def mix(self, seed: int, start: int, voice: Samples) -> NDArray[np.int16]:
        """A stretch of cabin with a voice in it, as the microphone gives it."""
        if self.snr_db is None:
            hiss = np.random.default_rng((seed, start)).standard_normal(len(voice))
            noise = hiss.astype(np.float32)
        else:
            noise = self.noise(seed, start, len(voice))
        sound = voice + np.float32(self.noise_rms) * noise
        return (np.clip(sound, -1.0, 1.0) * 32767).astype(np.int16)


class Listening:
    """One run of the ear over a row of clips, on the clock of the sound."""

    def __init__(
        self,
        ear: EarProcess,
        cockpit: Cockpit,
        seed: int,
        clock: Callable[[], float] = time.perf_counter,
    ) -> None:
        """`clock` times the computing: `time.process_time` for an ear in this process on a busy machine."""
        self._ear = ear
        self._clock = clock
        self._cockpit = cockpit
        self._seed = seed
        self._sample = 0
        self._free_at_s = 0.0
        """When the ear has worked off what it was given, had it been given it in real time."""
        self.computing_s = 0.0

    @property
    def heard_s(self) -> float:
        """Length of the sound so far."""
        return self._sample / RATE_HZ

    def try_clip(self, clip: Clip) -> Outcome:
        """Play one clip and the cabin after it."""
        voice = self._cockpit.scale(read_sound(clip.path))
        start_s = self.heard_s
        facts = list(self.play(np.concatenate([voice, np.zeros(round(GAP_S * RATE_HZ), np.float32)])))
        heard = [(fact, told_s) for fact, told_s in facts if isinstance(fact, PhraseHeard)]
        return Outcome(
            clip=clip,
            seed=self._seed,
            heard=tuple(fact.phrase for fact, _ in heard),
            reason="" if heard else _find_reason(fact for fact, _ in facts),
            score=heard[0][0].score if heard else None,
            latency_ms=1000 * (heard[0][1] - start_s - find_voice_end_s(voice)) if heard else None,
            clip_s=len(voice) / RATE_HZ,
            band_snr_db=self._find_band_snr(voice),
        )

    def play(self, voice: Samples) -> Iterator[tuple[object, float]]:
        """Let the ear hear a stretch; each fact with the time at which it would have been told."""
        voice = np.pad(voice, (0, -len(voice) % BLOCK))
        sound = self._cockpit.mix(self._seed, self._sample, voice)
        for first in range(0, len(sound), BLOCK):
            at_s = self.heard_s
            self._sample += BLOCK
            began_s = self._clock()
            facts = self._ear.hear(sound[first : first + BLOCK], at_s)
            took_s = self._clock() - began_s
            self.computing_s += took_s
            self._free_at_s = max(self._free_at_s, self.heard_s) + took_s
            yield from ((fact, self._free_at_s) for fact in facts)

    def _find_band_snr(self, voice: Samples) -> float | None:
        if self._cockpit.snr_db is None:
            return None
        noise = self._cockpit.noise(self._seed, self._sample, max(len(voice), RATE_HZ))
        return band_snr_db(voice, np.float32(self._cockpit.noise_rms) * noise)


def run_trials(
    ear: EarProcess,
    clips: tuple[Clip, ...],
    ways: Ways,
    cockpit: Cockpit,
    seeds: int | Sequence[int],
    clock: Callable[[], float] = time.perf_counter,
) -> tuple[tuple[Outcome, ...], float]:
    """Every clip under every seed (so many, or these); the outcomes, and computing time a second of sound."""
    ear.listen_for(ways)
    outcomes: list[Outcome] = []
    heard_s = computing_s = 0.0
    for seed in range(seeds) if isinstance(seeds, int) else seeds:
        listening = Listening(ear, cockpit, seed, clock)
        for _ in listening.play(np.zeros(round(SETTLE_S * RATE_HZ), np.float32)):
            pass
        outcomes += [listening.try_clip(clip) for clip in clips]
        heard_s += listening.heard_s
        computing_s += listening.computing_s
    return tuple(outcomes), computing_s / heard_s


def find_voice_end_s(voice: Samples) -> float:
    """End of the last voiced 20 ms of a clean clip."""
    hops = np.pad(voice, (0, -len(voice) % HOP)).reshape(-1, HOP)
    power = np.mean(hops.astype(np.float64) ** 2, axis=1)
    voiced = np.flatnonzero(power >= power.max() * 10 ** (-VOICED_WITHIN_DB / 10))
    return (int(voiced[-1]) + 1) * HOP / RATE_HZ


def _find_reason(facts: Iterable[object]) -> str:
    reasons = {"no voice found": 0}
    for fact in facts:
        if isinstance(fact, SpeechStarted):
            reasons["no word found"] = 1
        if isinstance(fact, NotUnderstood):
            reasons[fact.reason] = 2
    return max(reasons, key=lambda reason: reasons[reason])
