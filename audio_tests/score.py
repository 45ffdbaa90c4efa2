"""How well the ear hears: `python -m audio_tests.score MANIFEST.csv`.

Any manifest (path, words, speaker, kind: accept or reject), any engine, any SNR. The grammar is the accept
phrases of the manifest, with `--beside flight` a leg's phrases too.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from audio_tests.score_trials import (
    Clip,
    Cockpit,
    Noise,
    Outcome,
    make_cabin_noise,
    read_manifest,
    read_noise,
    run_trials,
)
from coach.errors import CoachError, SetupError
from coach.session.phrases import PhraseTable
from coach.store.phrases import read_phrases
from coach.voice.ear_process import EarProcess
from coach.voice.recogniser import EarChoice, Ways

LEG = (
    "terminate drill",
    "traffic",
    "I have the flight controls",
    "you have the flight controls",
    "say again",
    "stand by",
    "where now",
    "disregard",
    "rejoin",
    "bookmark",
    "more talk",
    "less talk",
    "station passage",
    "established",
)
"""What the leg that ends on the station listens for (`coach.session.grammar`): 16 ways of saying."""

Z95 = 1.96


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """The counts of a run."""

    engine: str
    grammar: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    phrases: dict[str, str]
    """Way of saying to phrase."""

    rtf: float

    def is_right(self, outcome: Outcome) -> bool:
        """Whether what was said was understood, and nothing else."""
        return set(outcome.heard) == {self.phrases.get(outcome.clip.words)}

    def select(self, kind: str) -> tuple[Outcome, ...]:
        """The outcomes of one kind of clip."""
        return tuple(outcome for outcome in self.outcomes if outcome.clip.kind == kind)


def main(arguments: list[str] | None = None) -> int:
    """Run and print; 2 for bad input, 3 for something missing."""
    options = _parse(arguments)
    try:
        score = score_manifest(options)
        if options.picture:
            draw_confusions(score, options.picture)
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    if options.json:
        print(json.dumps(render_json(score)))
    else:
        print(render_table(score))
    return 0


def score_manifest(options: argparse.Namespace) -> Score:
    """Hear every clip of a manifest."""
    clips = read_manifest(options.manifest)
    ways = find_grammar(clips, read_phrases(), beside=options.beside)
    noise: Noise = read_noise(options.noise) if options.noise else make_cabin_noise()
    ear = EarProcess(EarChoice(engine=options.engine, vosk_folder=options.vosk_model), hear_deadline_s=60.0)
    ear.start()
    try:
        cockpit = Cockpit(noise=noise, snr_db=options.cabin)
        outcomes, rtf = run_trials(ear, clips, ways, cockpit, options.seeds)
    finally:
        ear.close()
    return Score(
        engine=ear.name, grammar=tuple(way for way, _ in ways), outcomes=outcomes, phrases=dict(ways), rtf=rtf
    )


def find_grammar(clips: tuple[Clip, ...], table: PhraseTable, *, beside: str | None) -> Ways:
    """The accept phrases of a manifest, each with the phrase it stands for in flight; and a leg's beside."""
    known = {way: phrase.canonical for phrase in table.phrases for way in phrase.ways}
    said = dict.fromkeys(clip.words for clip in clips if clip.kind == "accept")
    leg = dict.fromkeys(way for way, _ in table.ways(LEG)) if beside else {}
    return tuple((way, known.get(way, way)) for way in said | leg)


def render_json(score: Score) -> dict[str, object]:
    """The figures as the design names them, and the 95 % bounds of each share."""
    accepts, rejects = score.select("accept"), score.select("reject")
    counts = count_accepts(score, accepts)
    false_accepts = sum(len(outcome.heard) for outcome in rejects)
    hours = sum(outcome.clip_s for outcome in rejects) / 3600
    latencies = [outcome.latency_ms for outcome in accepts if score.is_right(outcome)]
    return {
        "engine": score.engine,
        "grammar": list(score.grammar),
        "trials": len(score.outcomes),
        **counts,
        "rejected": sum(not outcome.heard for outcome in rejects),
        "false_accepts": false_accepts,
        "reject_hours": round(hours, 4),
        "false_accepts_per_hour": round(false_accepts / hours, 2) if hours else None,
        "latency_ms": _find_percentiles([ms for ms in latencies if ms is not None]),
        "rtf": round(score.rtf, 4),
        "bounds_95": {name: find_bounds(count, len(accepts)) for name, count in counts.items()},
        "band_snr_db": _find_median([outcome.band_snr_db for outcome in accepts]),
    }


def count_accepts(score: Score, outcomes: tuple[Outcome, ...]) -> dict[str, int]:
    """How many were right, wrong and missed; together all of them."""
    right = sum(score.is_right(outcome) for outcome in outcomes)
    missed = sum(not outcome.heard for outcome in outcomes)
    return {"right": right, "wrong": len(outcomes) - right - missed, "missed": missed}


def find_bounds(count: int, trials: int) -> tuple[float, float] | None:
    """Wilson's 95 % interval of a share, in per cent; None without trials."""
    if not trials:
        return None
    share = count / trials
    middle = (share + Z95**2 / (2 * trials)) / (1 + Z95**2 / trials)
    half = Z95 * math.sqrt(share * (1 - share) / trials + Z95**2 / (4 * trials**2)) / (1 + Z95**2 / trials)
    return round(100 * max(middle - half, 0.0), 2), round(100 * min(middle + half, 1.0), 2)


def render_table(score: Score) -> str:
    """The figures for people: all of it, then by word and by speaker."""
    figures = render_json(score)
    lines = [f"{name:<24} {value}" for name, value in figures.items() if name != "grammar"]
    lines.append(f"{'grammar':<24} {len(score.grammar)} ways: {', '.join(score.grammar)}")
    lines += _render_groups(score, "word", lambda outcome: outcome.clip.words)
    lines += _render_groups(score, "speaker", lambda outcome: outcome.clip.speaker)
    reasons = Counter(outcome.reason for outcome in score.select("accept") if outcome.reason)
    lines += ["", "missed because", *(f"  {count:5}  {reason}" for reason, count in reasons.most_common())]
    return "\n".join(lines)


def _render_groups(score: Score, what: str, group: Callable[[Outcome], str]) -> list[str]:
    accepts = score.select("accept")
    lines = ["", f"{what:<32} trials  right  wrong missed  understood as"]
    for name in sorted({group(outcome) for outcome in accepts}):
        outcomes = tuple(outcome for outcome in accepts if group(outcome) == name)
        counts = count_accepts(score, outcomes)
        others = Counter(h for outcome in outcomes if not score.is_right(outcome) for h in outcome.heard)
        figures = "".join(f"{count:7}" for count in (len(outcomes), *counts.values()))
        lines.append(f"{name[:32]:<32} {figures}  {', '.join(f'{h} {n}' for h, n in others.most_common(4))}")
    heard = Counter((outcome.clip.words, h) for outcome in score.select("reject") for h in outcome.heard)
    if what == "word" and heard:
        lines += ["", "false accepts"]
        lines += [f"  {count:4}  '{said}' as '{phrase}'" for (said, phrase), count in heard.most_common(20)]
    return lines


def draw_confusions(score: Score, path: Path) -> None:
    """Said against understood, as a picture; `SetupError` where matplotlib is missing."""
    try:
        from matplotlib.figure import Figure
    except ImportError as exc:
        raise SetupError("picture: matplotlib is not installed; pip install matplotlib") from exc

    accepts = score.select("accept")
    said = sorted({score.phrases[outcome.clip.words] for outcome in accepts})
    understood = [*said, *sorted({h for o in accepts for h in o.heard} - set(said)), "(nothing)"]
    counts = np.zeros((len(said), len(understood)), int)
    for outcome in accepts:
        for heard in outcome.heard or ("(nothing)",):
            counts[said.index(score.phrases[outcome.clip.words]), understood.index(heard)] += 1
    figure = Figure(figsize=(2 + 0.35 * len(understood), 2 + 0.3 * len(said)), layout="constrained")
    axes = figure.add_subplot()
    axes.imshow(np.sqrt(counts), cmap="Blues", aspect="auto")
    axes.set_xticks(range(len(understood)), understood, rotation=90, fontsize=7)
    axes.set_yticks(range(len(said)), said, fontsize=7)
    axes.set_xlabel("understood")
    axes.set_ylabel("said")
    for row, column in np.argwhere(counts):
        axes.text(column, row, str(counts[row, column]), ha="center", va="center", fontsize=6)
    figure.savefig(path)


def _find_percentiles(values: list[float]) -> dict[str, float | None]:
    if not values:
        return {"p50": None, "p95": None}
    return {f"p{p}": round(float(np.percentile(values, p)), 1) for p in (50, 95)}


def _find_median(values: list[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return round(float(np.median(known)), 1) if known else None


def _parse(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m audio_tests.score", description=__doc__)
    parser.add_argument("manifest", type=Path)
    parser.add_argument("--engine", choices=("whisper", "vosk", "pocketsphinx"))
    parser.add_argument("--vosk-model", type=Path, metavar="FOLDER")
    parser.add_argument("--beside", choices=("flight",))
    parser.add_argument("--cabin", type=float, metavar="SNR_DB", help="default: no cabin noise, hiss only")
    parser.add_argument("--noise", type=Path, metavar="WAV", help="default: the project's own cabin noise")
    parser.add_argument("--seeds", type=int, default=1, metavar="N")
    parser.add_argument("--picture", type=Path, metavar="PNG", help="draw said against understood")
    parser.add_argument("--json", action="store_true")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main())
