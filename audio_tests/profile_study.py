"""Whether a voice profile helps: `python -m audio_tests.profile_study FOLDER --foreign READINGS.csv`.

Speakers say each phrase three times in a cabin; the profile is chosen on two takes and reported on the third,
each in turn. How far a threshold may be lowered hangs on what is no command: `READINGS.csv` is what
`python -m audio_tests.thresholds` wrote. Every clip goes through the ear's endpoint. Writes `takes.csv` as it
goes (what is there is not read again) and `floors.json`, and prints the figures as JSON. With `--others` it
first lets what is no command be heard by the words of other legs, which those readings leave out.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
import time
from collections.abc import Iterator
from dataclasses import asdict, fields, replace
from pathlib import Path
from typing import Any

from audio_tests.profile_choice import LOWEST, HeardTake, report
from audio_tests.score import LEG, find_grammar
from audio_tests.score_trials import (
    Cockpit,
    Noise,
    Samples,
    make_cabin_noise,
    read_manifest,
    read_sound,
)
from audio_tests.table_clips import find_shared
from audio_tests.thresholds import Spoken, cut, read_all, read_readings, write_readings
from audio_tests.thresholds_fit import Row
from audio_tests.voices import RATES, say, voice_names
from coach.errors import CoachError
from coach.session.grammar import ALWAYS, REJOIN
from coach.store.phrases import read_phrases
from coach.voice.recogniser import Reading, Recogniser, Ways
from coach.voice.recognisers.phrase_limits import LIMITS
from coach.voice.recognisers.whisper import WhisperRecogniser
from coach.voice.recognisers.whisper_model import load_model

SNRS_DB = (0.0, -5.0)
"""Cabins that the takes are said in; in a quieter one hardly any is missed, and no profile is needed."""

SHARE = 5
"""Each synthetic voice says one in so many of the phrases."""

AN4_SEEDS = 3
"""AN4 has no word three times from one speaker: its takes are one clip in three stretches of noise."""


def list_takes() -> Iterator[tuple[Spoken, int, float]]:
    """Everything that is said, with the number of its take and its cabin."""
    clips = read_manifest(find_shared() / "speech" / "manifest.csv")
    table = read_phrases()
    an4 = tuple(clip for clip in clips if "an4" in str(clip.path) and " " not in clip.words)
    for clip in an4:
        said = _say(
            "an4", clip.speaker, clip.words, read_sound(clip.path), find_grammar(an4, table, beside="leg")
        )
        yield from ((said, take, snr_db) for take in range(AN4_SEEDS) for snr_db in SNRS_DB)
    leg = table.ways(LEG)
    for n, voice in enumerate(voice_names()):
        for way, _ in leg[n % SHARE :: SHARE]:
            for take, rate in enumerate(RATES):
                said = _say("voices", voice, way, say(way, voice, rate), leg)
                yield from ((said, take, snr_db) for snr_db in SNRS_DB)


def _say(source: str, speaker: str, way: str, sound: Samples, ways: Ways) -> Spoken:
    return Spoken(source=source, speaker=speaker, words=way, sound=sound, is_command=True, ways=ways)


def collect(path: Path, minutes: float) -> tuple[HeardTake, ...]:
    """Read what is not in the file yet, for so long, writing as it goes."""
    done = read_takes(path)
    known = {(take.source, take.speaker, take.way, take.take, take.snr_db) for take in done}
    # No threshold: the score and the margin alone are looked at.
    recogniser = WhisperRecogniser(load_model(None), replace(LIMITS, confidence=LOWEST, margin=LOWEST))
    noise, until_s = make_cabin_noise(), time.monotonic() + 60 * minutes
    with path.open("a", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, [field.name for field in fields(HeardTake)])
        if not done:
            writer.writeheader()
        for said, n, snr_db in list_takes():
            if time.monotonic() > until_s:
                break
            if (said.source, said.speaker, said.words, n, snr_db) not in known:
                done.append(read_one(recogniser, said, n, snr_db, noise))
                writer.writerow(asdict(done[-1]))
                file.flush()
    return tuple(done)


def read_one(recogniser: Recogniser, said: Spoken, take: int, snr_db: float, noise: Noise) -> HeardTake:
    """Put one through endpoint and recogniser; of several utterances the one that fits best counts."""
    recogniser.listen_for(said.ways)
    heard = cut(said, Cockpit(noise=noise, snr_db=snr_db), seed=take)
    nothing = Reading(phrase=None, way=None, score=LOWEST)
    best = max((recogniser.read(*each) for each in heard), key=lambda r: r.score, default=nothing)
    return HeardTake(
        source=said.source,
        speaker=said.speaker,
        way=said.words,
        take=take,
        snr_db=snr_db,
        read_way=best.way or "",
        score=best.score,
        margin=best.margin or 0.0,
    )


def read_takes(path: Path) -> list[HeardTake]:
    """What was read so far."""
    if not path.is_file():
        return []
    numbers: dict[str, Any] = {"take": int, "snr_db": float, "score": float, "margin": float}
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return [HeardTake(**{**row, **{name: make(row[name]) for name, make in numbers.items()}}) for row in rows]


def read_others() -> Iterator[Row]:
    """What is no command, heard by all the words that `audio_tests.thresholds` does not listen for."""
    table = read_phrases()
    others = [phrase.canonical for phrase in table.phrases if phrase.canonical not in LEG]
    ways = table.ways((*ALWAYS, *(phrase for phrase in others if not phrase.startswith(f"{REJOIN} "))))
    clips = read_manifest(find_shared() / "speech" / "manifest.csv")
    known = {word for way, _ in table.all_ways for word in way.lower().split()}
    foreign = [
        Spoken(
            source="other words",
            speaker=clip.speaker,
            words=clip.words,
            sound=read_sound(clip.path),
            is_command=False,
            ways=ways,
        )
        for clip in clips
        if not known & set(clip.words.lower().split())
    ]
    return read_all(WhisperRecogniser(load_model(None)), foreign)


def main(arguments: list[str] | None = None) -> int:
    """Read, choose, report."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.profile_study", description=__doc__)
    parser.add_argument("folder", type=Path, help="where the takes are kept")
    parser.add_argument("--foreign", type=Path, action="append", required=True, metavar="READINGS.csv")
    parser.add_argument("--others", type=Path, metavar="OTHERS.csv", help="first read and write these")
    parser.add_argument("--minutes", type=float, default=600.0, help="read no longer than this")
    options = parser.parse_args(arguments)
    try:
        options.folder.mkdir(parents=True, exist_ok=True)
        if options.others:
            write_readings(options.others, read_others())
            options.foreign.append(options.others)
        takes = collect(options.folder / "takes.csv", options.minutes)
        floors, figures = report(takes, [row for path in options.foreign for row in read_readings(path)])
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    (options.folder / "floors.json").write_text(json.dumps(floors, indent=1) + "\n")
    print(json.dumps(figures, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
