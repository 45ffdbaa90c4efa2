"""What the encoder hears of the second opinion's lessons: `python -m audio_tests.opinion_hear FOLDER`.

Each utterance is laid into noise as the endpoint would cut it out, at a random level, through a random
microphone, and only what the encoder makes of it is kept. The noise is the coach's own cabin, white and pink;
never the outside generator, which is measured with.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from audio_tests.opinion_speech import Utterance, speak_all
from audio_tests.score_trials import RATE_HZ, Samples
from coach.rehearsal.cabin import LOOP_S, Powerplant, gain_for_snr, make_noise
from coach.voice.recognisers.log_mel import picture
from coach.voice.recognisers.second_opinion import FRAME_S, NOTHING, Frames
from coach.voice.recognisers.whisper import level
from coach.voice.recognisers.whisper_model import SHORTEST_COLUMNS, WhisperModel, load_model

CABINS = 12
"""So many aircraft, each a minute of noise."""

QUIET_SHARE = 0.12
"""In so many of all only hiss is heard."""

DRAWS = {"joe": 4, "ked": 2, "real": 2}
"""How often an utterance is heard, each time in other noise; else once."""

PIECES_SHARE = 0.06
"""Of so many utterances a piece is heard too, as what is none."""

HELD_WHOLE = ("station passage", "next leg", "rejoin spoke")
"""A piece of these is a phrase itself."""

NOISE_ALONE = 120
KEPT_AROUND_S = 0.3
"""Frames before and after the voice are kept: the net is taught that the voice may begin a little later."""

EACH_FILE = 500
AT_ONCE = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """One utterance as the encoder hears it."""

    frames: NDArray[np.float16]
    start: int
    """First frame of the voice."""

    end: int
    """First frame after it."""

    name: str
    speaker: str


class Mixer:
    """Lays utterances into noise."""

    def __init__(self, seed: int) -> None:
        self._draw = np.random.default_rng(seed)
        self._cabins = [
            make_noise(np.random.default_rng([seed, n]), self._pick_powerplant()) for n in range(CABINS)
        ]

    def mix(self, voice: Samples) -> tuple[Samples, float, float]:
        """A voice in noise, and when it begins and ends."""
        draw = self._draw
        lead_s, tail_s = draw.uniform(0.35, 0.7), draw.uniform(0.08, 0.3)
        padded = np.pad(self._pass_microphone(voice), (round(lead_s * RATE_HZ), round(tail_s * RATE_HZ)))
        noise, snr_db = self._draw_noise(len(padded))
        sound = padded * np.float32(gain_for_snr(padded, 1.0, snr_db)) + noise
        return sound.astype(np.float32), lead_s, lead_s + len(voice) / RATE_HZ

    def draw_piece(self, voice: Samples) -> Samples:
        """The first or the last part of a voice."""
        kept = round(len(voice) * self._draw.uniform(0.3, 0.65))
        return voice[:kept] if self._draw.random() < 0.5 else voice[-kept:]

    def draw_silence(self) -> Samples:
        """No voice: hardly more than nothing."""
        length = round(self._draw.uniform(0.2, 1.5) * RATE_HZ)
        return (1e-3 * self._draw.standard_normal(length)).astype(np.float32)

    def is_drawn(self, share: float) -> bool:
        """True so often."""
        return bool(self._draw.random() < share)

    def _pick_powerplant(self) -> Powerplant:
        draw = self._draw
        cylinders = int(draw.choice((4, 6)))
        return Powerplant(blades=int(draw.choice((2, 3))), cylinders=cylinders, tones_db=draw.uniform(-5, 4))

    def _draw_noise(self, length: int) -> tuple[Samples, float]:
        """Noise of unit RMS, and the SNR that is fair with it."""
        draw = self._draw
        kind = draw.random()
        white = draw.standard_normal(length).astype(np.float32)
        if kind < QUIET_SHARE:
            return white, draw.uniform(25, 60)
        if kind < 0.2:
            return white, draw.uniform(2, 20)
        if kind < 0.32:
            return _make_pink(white), draw.uniform(-3, 16)
        loop = self._cabins[draw.integers(CABINS)]
        start = int(draw.integers(LOOP_S * RATE_HZ - length))
        cabin = loop[start : start + length]
        if kind < 0.45:
            cabin = (cabin + np.float32(draw.uniform(0.05, 0.3)) * white).astype(np.float32)
        return cabin, draw.uniform(-8, 14)

    def _pass_microphone(self, voice: Samples) -> Samples:
        """Tilted by some decibels an octave; a quarter of all lose their lows and highs."""
        draw = self._draw
        bins = np.fft.rfft(voice)
        hz = np.fft.rfftfreq(len(voice), 1 / RATE_HZ)
        bins *= (np.maximum(hz, 100) / 1000) ** (draw.uniform(-3, 3) / 6.02)
        if draw.random() < 0.25:
            bins[(hz < draw.uniform(150, 400)) | (hz > draw.uniform(3200, 5000))] = 0
        return np.fft.irfft(bins, len(voice)).astype(np.float32)


def _make_pink(white: Samples) -> Samples:
    bins = np.fft.rfft(white)
    bins /= np.sqrt(np.maximum(np.arange(len(bins)), 1))
    pink = np.fft.irfft(bins, len(white)).astype(np.float32)
    return pink / np.float32(np.sqrt(np.mean(pink**2)))


def draw_sounds(utterances: Iterable[Utterance], mixer: Mixer) -> Iterator[Utterance]:
    """Each as often as it is heard, pieces of some, and noise alone."""
    for utterance in utterances:
        kind = utterance.speaker if utterance.speaker in DRAWS else utterance.speaker.split(":")[0]
        for _ in range(DRAWS.get(kind, 1 if kind == "espeak" else DRAWS["real"])):
            yield utterance
        if utterance.name not in HELD_WHOLE and mixer.is_drawn(PIECES_SHARE):
            piece = mixer.draw_piece(utterance.sound)
            yield Utterance(sound=piece, name=NOTHING, speaker=utterance.speaker)
    for _ in range(NOISE_ALONE):
        yield Utterance(sound=mixer.draw_silence(), name=NOTHING, speaker="noise")


def hear_all(utterances: Iterable[Utterance], seed: int) -> Iterator[Lesson]:
    """What the encoder makes of each, some at a time."""
    mixer, model = Mixer(seed), load_model(None)
    drawn = draw_sounds(utterances, mixer)
    while some := list(islice(drawn, AT_ONCE)):
        mixed = [mixer.mix(utterance.sound) for utterance in some]
        heard = _encode(model, [level(sound) for sound, _, _ in mixed])
        for utterance, (sound, start_s, end_s), frames in zip(some, mixed, heard, strict=True):
            yield _cut(utterance, frames, len(sound) / RATE_HZ, start_s, end_s)


def _encode(model: WhisperModel, sounds: list[Samples]) -> Frames:
    """All at once, in the window that every short utterance has."""
    pictures = np.stack([picture(sound, SHORTEST_COLUMNS) for sound in sounds])
    frames: Frames = np.array(model._model.encode(model._to_storage(pictures)))
    return frames


def _cut(utterance: Utterance, frames: Frames, sound_s: float, start_s: float, end_s: float) -> Lesson:
    first = round((start_s - KEPT_AROUND_S) / FRAME_S)
    last = int(min(end_s + KEPT_AROUND_S, sound_s) / FRAME_S)
    return Lesson(
        frames=frames[first:last].astype(np.float16),
        start=round(start_s / FRAME_S) - first,
        end=round(end_s / FRAME_S) - first,
        name=utterance.name,
        speaker=utterance.speaker,
    )


def write_lessons(folder: Path, lessons: Iterable[Lesson]) -> int:
    """Into files of a thousand each."""
    folder.mkdir(parents=True, exist_ok=True)
    began_s, total, held = time.monotonic(), 0, []
    for lesson in lessons:
        held.append(lesson)
        if len(held) == EACH_FILE:
            total += _write_file(folder / f"lessons_{total:06}.npz", held)
            held = []
            print(f"{total} lessons, {time.monotonic() - began_s:.0f} s", file=sys.stderr, flush=True)
    return total + _write_file(folder / f"lessons_{total:06}.npz", held)


def _write_file(path: Path, lessons: list[Lesson]) -> int:
    if lessons:
        np.savez(
            path,
            frames=np.concatenate([lesson.frames for lesson in lessons]),
            lengths=[len(lesson.frames) for lesson in lessons],
            starts=[lesson.start for lesson in lessons],
            ends=[lesson.end for lesson in lessons],
            names=[lesson.name for lesson in lessons],
            speakers=[lesson.speaker for lesson in lessons],
        )
    return len(lessons)


def read_lessons(folder: Path) -> Iterator[Lesson]:
    """What an earlier run wrote."""
    for path in sorted(folder.glob("lessons_*.npz")):
        with np.load(path) as stored:
            columns = {name: stored[name] for name in stored.files}
        at = 0
        for n, length in enumerate(columns["lengths"]):
            yield Lesson(
                frames=columns["frames"][at : at + length],
                start=int(columns["starts"][n]),
                end=int(columns["ends"][n]),
                name=str(columns["names"][n]),
                speaker=str(columns["speakers"][n]),
            )
            at += length


def main(arguments: list[str] | None = None) -> int:
    """Hear and write."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.opinion_hear", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=0)
    options = parser.parse_args(arguments)
    print(write_lessons(options.folder, hear_all(speak_all(options.seed), options.seed)), "lessons")
    return 0


if __name__ == "__main__":
    sys.exit(main())
