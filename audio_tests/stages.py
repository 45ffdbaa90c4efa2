"""What each stage of the best ear is worth: `python -m audio_tests.stages RESULTS.json [--only STAGE]`.

The same small set of clips is heard once as the ear flies and once with each stage switched off or changed,
in this process (the child's pipes add nothing to what is heard). Latency counts processor time, of all
threads together, instead of what the clock says: other work on the machine does not count. Written after
each stage; a stage that is already in the file is not measured again.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from audio_tests.score import LEG, find_grammar
from audio_tests.score_trials import Clip, Cockpit, run_trials
from audio_tests.table import count
from audio_tests.table_clips import OUTSIDE, find_shared, make_noise, read_manifest, say_clip
from audio_tests.voices import RATES, SENTENCES, voice_names
from coach.errors import CoachError
from coach.store.phrases import read_phrases
from coach.voice import ear as ear_module
from coach.voice import endpoint
from coach.voice.ear import Ear
from coach.voice.recogniser import Recogniser, Samples
from coach.voice.recognisers import whisper_model
from coach.voice.recognisers.phrase_limits import LIMITS, Limits
from coach.voice.recognisers.phrase_tree import Tokens
from coach.voice.recognisers.second_opinion import load_second_opinion
from coach.voice.recognisers.whisper import WhisperRecogniser
from coach.voice.recognisers.whisper_model import load_model
from coach.voice.suppression import load_suppressor
from coach.voice.voice_activity import GateActivity, load_voice_activity

CABINS = ((OUTSIDE, 0.0),)
EVERY_FOREIGN = 5
"""Of the foreign words, each fifth is enough here."""


class Unprimed(WhisperRecogniser):
    """Is told nothing beforehand."""

    def _make_primer(self, phrases: object) -> Tokens:
        return ()


class Suppressed(WhisperRecogniser):
    """Hears each utterance after WebRTC's noise suppressor."""

    def encode(self, audio: Samples) -> Any:
        """What the model hears."""
        suppressor = load_suppressor()
        return super().encode(audio if suppressor is None else suppressor.suppress(audio))


def make_ear(make: Callable[..., WhisperRecogniser] = WhisperRecogniser, limits: Limits = LIMITS) -> Ear:
    """The ear as the child process makes it, with another recogniser or other limits."""
    return Ear(make(load_model(None), limits, load_second_opinion()), load_voice_activity())


@contextmanager
def changed(module: object, **values: object) -> Iterator[None]:
    """Constants of a module set to something else for a while."""
    before = {name: getattr(module, name) for name in values}
    for name, value in values.items():
        setattr(module, name, value)
    try:
        yield
    finally:
        for name, value in before.items():
            setattr(module, name, value)


NO_LIMIT = -1000.0


def stage_ears() -> dict[str, Callable[[], Ear]]:
    """An ear for each stage that is switched off by making another ear."""
    off = {name: replace(LIMITS, **values) for name, values in LIMITS_OFF.items()}  # type: ignore[arg-type]
    return {
        "as it flies": make_ear,
        "not primed": lambda: make_ear(Unprimed),
        "noise suppressed": lambda: make_ear(Suppressed),
        "no second opinion": lambda: Ear(WhisperRecogniser(load_model(None)), load_voice_activity()),
        "voice by level only": lambda: Ear(_whisper(), GateActivity()),
        **{name: (lambda limits=limits: make_ear(limits=limits)) for name, limits in off.items()},
    }


LIMITS_OFF = {
    "nothing taken off for what silence gives": {"prior": 0.0, "confidence": LIMITS.confidence - 4.5},
    "length not looked at": {"per_long_s": 0.0, "per_short": 0.0},
    "end not counted twice": {"end": 0.0},
    "no margin": {"margin": 0.0},
    "no rejection": {"confidence": NO_LIMIT, "margin": 0.0, "per_long_s": 0.0, "per_short": 0.0},
}
"""Without the prior the line lies lower by what is taken off at the median, else all would be refused."""

CHANGED: dict[str, tuple[object, dict[str, object]]] = {
    "no gate": (ear_module, {"OPEN_DB": NO_LIMIT}),
    "every end waited out": (ear_module, {"EARLY_FRAMES": endpoint.END_FRAMES}),
    "read only at the end": (endpoint, {"PAUSE_FRAMES": endpoint.END_FRAMES}),
    "window of 4 s": (whisper_model, {"SHORTEST_COLUMNS": 400}),
}
"""Stages that are switched off by another constant."""


def _whisper() -> Recogniser:
    return WhisperRecogniser(load_model(None), second=load_second_opinion())


def find_clips(folder: Path) -> tuple[Clip, ...]:
    """Control words, a third of a leg's phrases in ten voices, foreign words and sentences."""
    clips = read_manifest(find_shared() / "speech" / "manifest.csv")
    single = tuple(clip for clip in clips if " " not in clip.words)
    control = tuple(c for c in single if "an4" in str(c.path) and c.kind == "accept")
    known = {word for way, _ in read_phrases().ways(LEG) for word in way.split()}
    known |= {clip.words for clip in control}
    foreign = tuple(c for c in single if "speech_commands" in str(c.path) and c.words not in known)
    refused = tuple(replace(clip, kind="reject") for clip in foreign[::EVERY_FOREIGN])
    return control + refused + tuple(_say(folder))


def _say(folder: Path) -> Iterator[Clip]:
    ways = read_phrases().ways(LEG)
    for n, voice in enumerate(voice_names()):
        for k, (way, _) in enumerate(ways):
            if (n + k) % 3 == 0:
                yield say_clip(folder, way, voice, RATES[k % len(RATES)], kind="accept")
        yield say_clip(folder, SENTENCES[n], voice, 1.0, kind="reject")


def measure(ear: Ear, clips: tuple[Clip, ...]) -> dict[str, Any]:
    """The counts over all cabins, and how long it took."""
    control = tuple(clip for clip in clips if clip.kind == "accept" and "an4" in str(clip.path))
    ways = find_grammar(control, read_phrases(), beside="flight")
    outcomes, rtfs = [], []
    for noise, snr_db in CABINS:
        cockpit = Cockpit(noise=make_noise(noise), snr_db=snr_db)
        heard, rtf = run_trials(ear, clips, ways, cockpit, 1, time.process_time)  # type: ignore[arg-type]
        outcomes += list(heard)
        rtfs.append(rtf)
    counts = count(ways, outcomes)
    latencies = counts.pop("latencies_ms")
    p50, p95 = np.percentile(latencies, (50, 95)) if latencies else (0.0, 0.0)
    return counts | {"latency_ms": {"p50": round(p50), "p95": round(p95)}, "rtf": round(np.mean(rtfs), 3)}


def run(path: Path, clips_folder: Path, only: list[str] | None) -> dict[str, Any]:
    """Measure what is not in the file yet."""
    clips_folder.mkdir(parents=True, exist_ok=True)
    results: dict[str, Any] = json.loads(path.read_text()) if path.is_file() else {}
    clips = find_clips(clips_folder)
    for name in (*stage_ears(), *CHANGED):
        if name in results or (only and name not in only):
            continue
        module, values = CHANGED.get(name, (None, {}))
        with changed(module, **values):
            results[name] = measure(stage_ears().get(name, make_ear)(), clips)
        path.write_text(json.dumps(results, indent=1) + "\n")
        print(render_stage(name, results[name]), flush=True)
    return results


def render_stage(name: str, counts: dict[str, Any]) -> str:
    """One stage as a row of a table."""
    accepted = f"{counts['accepted']} of {counts['rejects']}"
    shares = f"{counts['right']} of {counts['trials']} | {counts['wrong']} | {accepted}"
    return f"| {name} | {shares} | {counts['latency_ms']['p95']} ms | {counts['rtf']} |"


def main(arguments: list[str] | None = None) -> int:
    """Run and print."""
    os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")
    parser = argparse.ArgumentParser(prog="python -m audio_tests.stages", description=__doc__)
    parser.add_argument("results", type=Path)
    parser.add_argument("--clips", type=Path, default=Path(tempfile.gettempdir()) / "table-clips-whisper")
    parser.add_argument("--only", action="append", metavar="STAGE")
    options = parser.parse_args(arguments)
    try:
        run(options.results, options.clips, options.only)
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    return 0


if __name__ == "__main__":
    sys.exit(main())
