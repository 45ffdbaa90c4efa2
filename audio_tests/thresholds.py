"""Where to draw the line between a command and none: `python -m audio_tests.thresholds FOLDER`.

Clips of the outside speech (`COACH_SHARED`) and of synthetic voices go through the ear's endpoint in cabin
noise, and the recogniser says how well the best phrase fits, whether it accepts it or not. The line is chosen
on half the speakers and reported on the other half. Writes `readings.csv`, `curve.png` and `chosen.json`.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import sys
import zlib
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from audio_tests.score import LEG, find_bounds, find_grammar
from audio_tests.score_trials import (
    BLOCK,
    GAP_S,
    RATE_HZ,
    SETTLE_S,
    Clip,
    Cockpit,
    Samples,
    make_cabin_noise,
    read_manifest,
    read_sound,
)
from audio_tests.voices import RATES, SENTENCES, say, voice_names
from coach.errors import CoachError, SettingsError
from coach.store.phrases import read_phrases
from coach.voice.ear import Ear
from coach.voice.recogniser import EarChoice, Reading, Recogniser, Ways, choose_recogniser
from coach.voice.voice_activity import load_voice_activity

CONDITIONS: tuple[float | None, ...] = (None, 10.0, 5.0, 0.0, -5.0)
"""SNR in dB of the clips, in turn; None: no cabin noise."""

FALSE_ACCEPT_SHARE = 0.01
"""The line lets this share of foreign words and sentences through, on the speakers it is chosen on."""

NEVER = -99.0
"""Score of a clip in which nothing was found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """One thing said, and where."""

    source: str
    speaker: str
    words: str
    sound: Samples
    is_command: bool
    ways: Ways


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """How well the best phrase fitted it."""

    source: str
    speaker: str
    words: str
    is_command: bool
    snr_db: float | None
    way: str
    is_right: bool
    score: float


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


def collect(folder: Path) -> Iterator[Spoken]:
    """Everything that is said: outside speech, synthetic phrases, synthetic sentences."""
    table = read_phrases()
    clips = read_manifest(folder / "manifest.csv")
    leg = table.ways(LEG)
    beside = find_grammar(_single(clips, "an4"), table, beside="flight")
    closed = find_grammar(_single(clips, "speech_commands"), table, beside=None)
    for clip in clips:
        yield from _collect_clip(clip, leg=leg, beside=beside, closed=closed)
    for n, voice in enumerate(voice_names()):
        for k, (way, phrase) in enumerate(leg):
            sound = say(way, voice, RATES[(n + k) % len(RATES)])
            yield Spoken(source="voices", speaker=voice, words=phrase, sound=sound, is_command=True, ways=leg)
        for words in SENTENCES:
            yield Spoken(
                source="sentences",
                speaker=voice,
                words=words,
                sound=say(words, voice),
                is_command=False,
                ways=leg,
            )


def _single(clips: tuple[Clip, ...], source: str) -> tuple[Clip, ...]:
    return tuple(clip for clip in clips if source in str(clip.path) and " " not in clip.words)


def _collect_clip(clip: Clip, *, leg: Ways, beside: Ways, closed: Ways) -> Iterator[Spoken]:
    """A control word is said beside the flight phrases; every other word and sentence is foreign to them."""
    sound = read_sound(clip.path)
    is_control = clip.kind == "accept" and "an4" in str(clip.path) and " " not in clip.words
    yield Spoken(
        source="control words" if is_control else "foreign",
        speaker=clip.speaker,
        words=clip.words,
        sound=sound,
        is_command=is_control,
        ways=beside if is_control else leg,
    )
    if clip.words in dict(closed) and "speech_commands" in str(clip.path):
        yield Spoken(
            source="closed set",
            speaker=clip.speaker,
            words=clip.words,
            sound=sound,
            is_command=True,
            ways=closed,
        )


def read_all(recogniser: Recogniser, spoken: Iterator[Spoken]) -> Iterator[Read]:
    """What the recogniser makes of each, one condition after the other."""
    noise = make_cabin_noise()
    for n, said in enumerate(spoken):
        snr_db = CONDITIONS[n % len(CONDITIONS)]
        recogniser.listen_for(said.ways)
        utterances = cut(said, Cockpit(noise=noise, snr_db=snr_db), seed=n % 8)
        readings = [recogniser.read(audio, voice_s) for audio, voice_s in utterances]
        best = max(readings, key=_find_score, default=None)
        way = best.way if best is not None and best.way else ""
        yield Read(
            source=said.source,
            speaker=said.speaker,
            words=said.words,
            is_command=said.is_command,
            snr_db=snr_db,
            way=way,
            is_right=said.is_command and dict(said.ways).get(way) == said.words,
            score=_find_score(best),
        )


def cut(said: Spoken, cockpit: Cockpit, seed: int) -> list[tuple[Samples, float]]:
    """What the endpoint gives the recogniser of one clip."""
    recorder = Recorder()
    ear = Ear(recorder, load_voice_activity())
    ear.listen_for(said.ways)
    quiet = (np.zeros(round(seconds * RATE_HZ), np.float32) for seconds in (SETTLE_S, GAP_S))
    before, after = quiet
    sound = cockpit.mix(seed, seed * 7 * RATE_HZ, np.concatenate([before, cockpit.scale(said.sound), after]))
    for first in range(0, len(sound), BLOCK):
        ear.hear(sound[first : first + BLOCK], first / RATE_HZ)
    return recorder.utterances


def _find_score(reading: Reading | None) -> float:
    return NEVER if reading is None or reading.way is None else reading.score


def is_in_first_half(speaker: str) -> bool:
    """Whether the line is chosen on this speaker; it is reported on the others."""
    return zlib.crc32(speaker.encode()) % 2 == 0


def choose_line(reads: list[Read], share: float) -> float:
    """The score that lets this share of what is no command through."""
    foreign = [read.score for read in reads if not read.is_command]
    return float(np.quantile(foreign, 1 - share))


def count(reads: list[Read], line: float) -> dict[str, object]:
    """Right, wrong and missed commands, and false accepts, with their 95 % bounds."""
    commands = [read for read in reads if read.is_command]
    foreign = [read for read in reads if not read.is_command]
    right = sum(read.is_right and read.score > line for read in commands)
    wrong = sum(not read.is_right and read.score > line for read in commands)
    accepted = sum(read.score > line for read in foreign)
    return {
        "commands": len(commands),
        "right": right,
        "right_95": find_bounds(right, len(commands)),
        "wrong": wrong,
        "foreign": len(foreign),
        "accepted": accepted,
        "accepted_95": find_bounds(accepted, len(foreign)),
    }


def report(engine: str, reads: list[Read]) -> dict[str, object]:
    """The line and what it does, on both halves, by source and by SNR."""
    is_open = [read for read in reads if read.source != "closed set"]
    first = [read for read in is_open if is_in_first_half(read.speaker)]
    second = [read for read in is_open if not is_in_first_half(read.speaker)]
    line = choose_line(first, FALSE_ACCEPT_SHARE)
    groups = {f"{read.source}, {_name(read.snr_db)}" for read in reads}
    return {
        "engine": engine,
        "line": round(line, 3),
        "false_accept_share": FALSE_ACCEPT_SHARE,
        "chosen_on": count(first, line),
        "reported_on": count(second, line),
        "groups": {
            group: count([read for read in reads if f"{read.source}, {_name(read.snr_db)}" == group], line)
            for group in sorted(groups)
        },
    }


def _name(snr_db: float | None) -> str:
    return "no noise" if snr_db is None else f"{snr_db:g} dB"


def draw_curve(reads: list[Read], line: float, path: Path) -> None:
    """Detection against false accepts, one curve for each half of the speakers."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(6, 4.5), layout="constrained")
    axes = figure.add_subplot()
    for is_first, label in ((True, "speakers it was chosen on"), (False, "other speakers")):
        half = [r for r in reads if is_in_first_half(r.speaker) == is_first and r.source != "closed set"]
        lines = np.sort([read.score for read in half])
        counts = [count(half, at) for at in lines]
        shares = [
            (100 * c["accepted"] / max(c["foreign"], 1), 100 * c["right"] / max(c["commands"], 1))  # type: ignore[operator, type-var]
            for c in counts
        ]
        axes.plot(*zip(*shares, strict=True), label=label, drawstyle="steps")
    axes.set(xlabel="foreign words and sentences accepted, %", ylabel="commands understood, %", xlim=(0, 10))
    axes.set_title(f"line at {line:.2f}")
    axes.grid(alpha=0.3)
    axes.legend()
    figure.savefig(path)


def main(arguments: list[str] | None = None) -> int:
    """Read everything, choose, report."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.thresholds", description=__doc__)
    parser.add_argument("folder", type=Path, help="where the results go")
    parser.add_argument("--engine", choices=("whisper", "vosk", "pocketsphinx"), default="whisper")
    options = parser.parse_args(arguments)
    try:
        shared = os.environ.get("COACH_SHARED")
        if shared is None:
            raise SettingsError("COACH_SHARED: expected the folder of the outside data, got nothing")
        recogniser = choose_recogniser(EarChoice(engine=options.engine))
        reads = list(read_all(recogniser, collect(Path(shared) / "data" / "speech")))
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    options.folder.mkdir(parents=True, exist_ok=True)
    with (options.folder / "readings.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, list(asdict(reads[0])))
        writer.writeheader()
        writer.writerows(asdict(read) for read in reads)
    chosen = report(recogniser.name, reads)
    (options.folder / "chosen.json").write_text(json.dumps(chosen, indent=1) + "\n")
    draw_curve(reads, float(str(chosen["line"])), options.folder / "curve.png")
    print(json.dumps(chosen, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
