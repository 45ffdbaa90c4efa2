"""Where to draw the line between a command and none: `python -m audio_tests.thresholds FOLDER`.

Clips of the outside speech (`COACH_SHARED`) and of synthetic voices go through the ear's endpoint in cabin
noise, and the recogniser says how well the best phrase fits, whether it accepts it or not. The line is chosen
on half the speakers and reported on the other half. Writes `readings.csv`, `curve.png` and `chosen.json`;
with `--again` the readings are not taken anew.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from audio_tests.score import LEG, find_grammar
from audio_tests.score_trials import BLOCK, GAP_S, RATE_HZ, SETTLE_S, Clip, Cockpit, Samples, read_sound
from audio_tests.score_trials import read_manifest as read_clips
from audio_tests.table_clips import OUTSIDE, OWN, find_sayings, find_shared, make_noise
from audio_tests.table_clips import is_in_first_half as is_in_first_half
from audio_tests.thresholds_fit import Row, draw_curve, report
from audio_tests.voices import RATES, SENTENCES, say, voice_names
from coach.errors import CoachError
from coach.store.phrases import read_phrases
from coach.voice.ear import Ear
from coach.voice.lengths import find_usual_s
from coach.voice.recogniser import EarChoice, Reading, Recogniser, Ways, choose_recogniser
from coach.voice.recognisers.whisper import WhisperRecogniser
from coach.voice.voice_activity import load_voice_activity

CABINS = ((OWN, None), (OUTSIDE, 10.0), (OWN, 5.0), (OUTSIDE, 0.0), (OUTSIDE, -5.0), (OWN, 0.0), (OWN, -5.0))
"""Noise and SNR in dB of the clips, in turn; None: hiss only."""

OTHER_LEG = (*LEG[:7], "next leg", "needle alive", "wings level", "abeam", "needle centered", "resume drill")
"""What a leg's words are that are not in `LEG`, with what is always listened for."""

CABINS_EACH = 2
"""A command is heard in so many cabins, what is none in one."""

SAYINGS_READ = 120

NEVER = -99.0
"""Fit of a clip in which nothing was found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """One thing said, and where."""

    source: str
    speaker: str
    words: str
    sound: Samples
    is_command: bool
    ways: Ways


class Recorder:
    """Stands behind the endpoint instead of a recogniser and keeps what it is given."""

    name = "recorder"

    def __init__(self) -> None:
        self.utterances: list[tuple[Samples, float]] = []

    def listen_for(self, ways: Ways) -> None:
        """Nothing to prepare."""

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """None."""
        return ()

    def read(self, audio: Samples, voice_s: float) -> Reading:
        """Keep it."""
        self.utterances.append((audio, voice_s))
        return Reading(phrase=None, way=None, score=0.0, reason="only kept")


def collect() -> Iterator[Spoken]:
    """Everything that is said: outside speech, synthetic phrases, synthetic sentences."""
    table = read_phrases()
    clips = read_clips(find_shared() / "speech" / "manifest.csv")
    leg = table.ways(LEG)
    beside = find_grammar(_single(clips, "an4"), table, beside="flight")
    closed = find_grammar(_single(clips, "speech_commands"), table, beside=None)
    for clip in clips:
        yield from _collect_clip(clip, leg=leg, beside=beside, closed=closed)
    for n, voice in enumerate(voice_names()):
        yield from _say_phrases(voice, n, leg)
        yield from _say_phrases(voice, n, table.ways(OTHER_LEG))
        for words in SENTENCES:
            yield _foreign("sentences", voice, words, say(words, voice), leg)
    voices = voice_names()
    for n, words in enumerate(find_sayings()[:SAYINGS_READ]):
        voice = voices[n % len(voices)]
        yield _foreign("sayings", voice, words, say(words, voice), leg)


def _say_phrases(voice: str, n: int, ways: Ways) -> Iterator[Spoken]:
    for k, (way, phrase) in enumerate(ways):
        sound = say(way, voice, RATES[(n + k) % len(RATES)])
        yield Spoken(source="voices", speaker=voice, words=phrase, sound=sound, is_command=True, ways=ways)


def _foreign(source: str, speaker: str, words: str, sound: Samples, ways: Ways) -> Spoken:
    return Spoken(source=source, speaker=speaker, words=words, sound=sound, is_command=False, ways=ways)


def _single(clips: tuple[Clip, ...], source: str) -> tuple[Clip, ...]:
    return tuple(
        clip for clip in clips if source in str(clip.path) and " " not in clip.words and clip.kind == "accept"
    )


def _collect_clip(clip: Clip, *, leg: Ways, beside: Ways, closed: Ways) -> Iterator[Spoken]:
    """A control word is said beside the flight phrases; every other word and sentence is foreign to them."""
    sound = read_sound(clip.path)
    is_control = clip.kind == "accept" and "an4" in str(clip.path) and " " not in clip.words
    if is_control:
        yield Spoken(
            source="control words",
            speaker=clip.speaker,
            words=clip.words,
            sound=sound,
            is_command=True,
            ways=beside,
        )
    else:
        source = "foreign words" if "speech_commands" in str(clip.path) else "foreign sentences"
        yield _foreign(source, clip.speaker, clip.words, sound, leg)
    if clip.words in dict(closed) and "speech_commands" in str(clip.path):
        yield Spoken(
            source="closed set",
            speaker=clip.speaker,
            words=clip.words,
            sound=sound,
            is_command=True,
            ways=closed,
        )


def read_all(recogniser: Recogniser, spoken: Iterable[Spoken]) -> Iterator[Row]:
    """What the recogniser makes of each, the cabins in turn."""
    noises = {name: make_noise(name) for name in (OWN, OUTSIDE)}
    for n, said in enumerate(spoken):
        recogniser.listen_for(said.ways)
        times = CABINS_EACH if said.is_command and said.source != "closed set" else 1
        for k in range(times):
            name, snr_db = CABINS[0 if said.source == "closed set" else (times * n + k) % len(CABINS)]
            utterances = cut(said, Cockpit(noise=noises[name], snr_db=snr_db), seed=n % 8)
            rows = [_read(recogniser, said, name, snr_db, *utterance) for utterance in utterances]
            yield from rows or [_miss(said, name, snr_db)]


def _read(
    recogniser: Recogniser, said: Spoken, noise: str, snr_db: float | None, audio: Samples, voice_s: float
) -> Row:
    if isinstance(recogniser, WhisperRecogniser):
        measured = recogniser.measure(audio, voice_s)
        way = "" if measured is None else measured.way
        names = (*FIGURES, "opinion")
        figures = {} if measured is None else {name: getattr(measured, name) for name in names}
    else:
        reading = recogniser.read(audio, voice_s)
        way = reading.way or ""
        figures = {"fit": reading.score}
    return _miss(said, noise, snr_db) | {
        "way": way,
        "is_right": said.is_command and dict(said.ways).get(way) == said.words,
        **({"usual_s": find_usual_s(way), "voice_s": voice_s} if way else {}),
        **figures,
    }


FIGURES = ("fit", "end", "prior", "margin", "voice_s", "usual_s")
NOTHING = {"fit": NEVER, "end": 0.0, "prior": 0.0, "margin": 0.0, "voice_s": 0.5, "usual_s": 0.5}
NO_OPINION: dict[str, float | None] = {"opinion": None}


def _miss(said: Spoken, noise: str, snr_db: float | None) -> Row:
    """A clip in which nothing was found."""
    return {
        "source": said.source,
        "speaker": said.speaker,
        "words": said.words,
        "is_command": said.is_command,
        "noise": noise,
        "snr_db": "none" if snr_db is None else snr_db,
        "way": "",
        "is_right": False,
        **NOTHING,
        **NO_OPINION,
    }


def cut(said: Spoken, cockpit: Cockpit, seed: int) -> list[tuple[Samples, float]]:
    """What the endpoint gives the recogniser of one clip."""
    recorder = Recorder()
    ear = Ear(recorder, load_voice_activity())
    ear.listen_for(said.ways)
    before, after = (np.zeros(round(seconds * RATE_HZ), np.float32) for seconds in (SETTLE_S, GAP_S))
    sound = cockpit.mix(seed, seed * 7 * RATE_HZ, np.concatenate([before, cockpit.scale(said.sound), after]))
    for first in range(0, len(sound), BLOCK):
        ear.hear(sound[first : first + BLOCK], first / RATE_HZ)
    return recorder.utterances


def write_readings(path: Path, rows: Iterable[Row]) -> None:
    """Write each as soon as it is there."""
    with path.open("w", newline="") as file:
        writer = None
        for row in rows:
            if writer is None:
                writer = csv.DictWriter(file, list(row))
                writer.writeheader()
            writer.writerow(row)
            file.flush()


def read_readings(path: Path) -> list[Row]:
    """What an earlier run wrote."""
    with path.open(newline="") as file:
        return [
            {**row, **{name: float(row[name]) for name in FIGURES}}
            | {name: row[name] == "True" for name in ("is_command", "is_right")}
            | {"opinion": float(row["opinion"]) if row.get("opinion") else None}
            for row in csv.DictReader(file)
        ]


def main(arguments: list[str] | None = None) -> int:
    """Read everything, choose, report."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.thresholds", description=__doc__)
    parser.add_argument("folder", type=Path, help="where the results go")
    parser.add_argument("--engine", choices=("whisper", "pocketsphinx"), default="whisper")
    parser.add_argument("--again", action="store_true", help="only choose anew from readings.csv there")
    options = parser.parse_args(arguments)
    options.folder.mkdir(parents=True, exist_ok=True)
    readings = options.folder / "readings.csv"
    try:
        if not options.again:
            recogniser = choose_recogniser(EarChoice(engine=options.engine))
            write_readings(readings, read_all(recogniser, collect()))
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    rows = read_readings(readings)
    chosen = report(options.engine, rows)
    (options.folder / "chosen.json").write_text(json.dumps(chosen, indent=1) + "\n")
    draw_curve(options.engine, rows, options.folder / "curve.png")
    print(json.dumps(chosen, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
