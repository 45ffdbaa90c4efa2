"""The fit behind `audio_tests.thresholds`: weights by logistic regression, the line, the curve.

A confidence is a weighted sum of what was measured of an utterance; the weights are fitted and the line is
drawn on half the speakers. Never hears anything.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from audio_tests.score import find_bounds
from audio_tests.table_clips import is_in_first_half
from coach.voice.recognisers.phrase_limits import LIMITS, Measured, find_confidence

Row = dict[str, Any]
"""One utterance: who said what where, the best way, and the figures measured of it."""

Vector = NDArray[np.float64]

FALSE_ACCEPT_SHARE = 0.01
"""The line lets this share of foreign words and sentences through, on the speakers it is chosen on."""

RIDGE = 1e-2
STEPS = 60

CLOSED = "closed set"
"""Not used to choose: its grammar is of words only."""


def find_figures(row: Row) -> Vector:
    """What the regression weighs: fit, end, prior, seconds too long, e-folds too short."""
    over_s = max(row["voice_s"] - LIMITS.long_ratio * row["usual_s"] - LIMITS.long_s, 0.0)
    under = max(math.log(LIMITS.short_ratio * row["usual_s"] / max(row["voice_s"], 0.03)), 0.0)
    return np.array([row["fit"], row["end"], row["prior"], over_s, under])


NAMES = ("fit", "end", "prior", "long", "short")


def fit_weights(rows: list[Row]) -> Vector:
    """Weights of the figures, that of the fit 1: logistic regression, commands and others counting alike."""
    found = [row for row in rows if row["way"]]
    figures = np.array([find_figures(row) for row in found])
    is_right = np.array([row["is_right"] for row in found], float)
    middle, spread = figures.mean(0), figures.std(0) + 1e-9
    scaled = np.column_stack([(figures - middle) / spread, np.ones(len(found))])
    weight_of = np.where(is_right == 1, 0.5 / is_right.sum(), 0.5 / (1 - is_right).sum()) * len(found)
    weights = np.zeros(scaled.shape[1])
    for _ in range(STEPS):
        odds = 1 / (1 + np.exp(-scaled @ weights))
        slope = scaled.T @ (weight_of * (odds - is_right)) + RIDGE * weights
        curve = (scaled * (weight_of * odds * (1 - odds))[:, None]).T @ scaled + RIDGE * np.eye(len(weights))
        weights -= np.linalg.solve(curve, slope)
    fitted: Vector = weights[:-1] / spread
    return fitted / fitted[0]


def score_fitted(row: Row, weights: Vector) -> float:
    """Confidence by fitted weights."""
    return float(find_figures(row) @ weights)


def score_in_use(row: Row) -> float:
    """Confidence as the ear has it now."""
    figures = {name: row[name] for name in ("fit", "end", "prior", "margin", "voice_s", "usual_s")}
    return find_confidence(Measured(way=row["way"], phrase="", opinion=row.get("opinion"), **figures), LIMITS)


def score_alone(row: Row) -> float:
    """The fit alone."""
    return float(row["fit"])


def choose_line(rows: list[Row], scores: Vector, share: float) -> float:
    """The middle of the stretch that costs no command, up from the line that lets the share through."""
    is_foreign = np.array([not row["is_command"] for row in rows])
    lowest = float(np.quantile(scores[is_foreign], 1 - share))
    kept = [score for row, score in zip(rows, scores, strict=True) if row["is_right"] and score > lowest]
    return (lowest + min(kept, default=lowest)) / 2


def count(rows: list[Row], scores: Vector, line: float) -> dict[str, Any]:
    """Right and wrong commands and false accepts, with 95 % bounds; of a clip the best utterance counts."""
    best: dict[tuple[Any, ...], tuple[float, Row]] = {}
    for row, score in zip(rows, scores, strict=True):
        key = tuple(row[name] for name in ("source", "speaker", "words", "noise", "snr_db"))
        if key not in best or score > best[key][0]:
            best[key] = (score, row)
    commands = [(score, row) for score, row in best.values() if row["is_command"]]
    foreign = [score for score, row in best.values() if not row["is_command"]]
    right = sum(bool(score > line and row["is_right"]) for score, row in commands)
    accepted = sum(bool(score > line) for score in foreign)
    return {
        "commands": len(commands),
        "right": right,
        "right_95": find_bounds(right, len(commands)),
        "wrong": sum(bool(score > line and not row["is_right"]) for score, row in commands),
        "foreign": len(foreign),
        "accepted": accepted,
        "accepted_95": find_bounds(accepted, len(foreign)),
    }


def report(engine: str, rows: list[Row]) -> dict[str, Any]:
    """Each way of scoring with the line it needs, on both halves; the one in use by source and cabin."""
    weights = fit_weights([row for row in rows if is_chosen_on(row)])
    result: dict[str, Any] = {
        "engine": engine,
        "false_accept_share": FALSE_ACCEPT_SHARE,
        "fitted_weights": dict(zip(NAMES, weights.round(3).tolist(), strict=True)),
    }
    for name, scores in _score_all(rows, weights).items():
        result[name] = _report_scores(rows, scores)
    in_use = np.array([score_in_use(row) for row in rows])
    line = result["in use"]["line"]
    result["groups"] = {
        name: count([rows[k] for k in at], in_use[at], line) for name, at in _group(rows).items()
    }
    return result


def is_chosen_on(row: Row) -> bool:
    """Whether weights and line are found on it."""
    return is_in_first_half(row["speaker"]) and row["source"] != CLOSED


def is_reported_on(row: Row) -> bool:
    """Whether it was kept apart from the choice."""
    return not is_in_first_half(row["speaker"]) and row["source"] != CLOSED


def _score_all(rows: list[Row], weights: Vector) -> dict[str, Vector]:
    return {
        "fit alone": np.array([score_alone(row) for row in rows]),
        "fitted": np.array([score_fitted(row, weights) for row in rows]),
        "in use": np.array([score_in_use(row) for row in rows]),
    }


def _report_scores(rows: list[Row], scores: Vector) -> dict[str, Any]:
    first = np.array([n for n, row in enumerate(rows) if is_chosen_on(row)])
    second = np.array([n for n, row in enumerate(rows) if is_reported_on(row)])
    line = choose_line([rows[n] for n in first], scores[first], FALSE_ACCEPT_SHARE)
    halves = {"chosen_on": first, "others": second}
    return {"line": round(line, 3)} | {
        name: count([rows[n] for n in half], scores[half], line) for name, half in halves.items()
    }


def _group(rows: list[Row]) -> dict[str, list[int]]:
    groups: dict[str, list[int]] = {}
    for n, row in enumerate(rows):
        half = "chosen on" if is_in_first_half(row["speaker"]) else "others"
        cabin = row["noise"] if row["snr_db"] == "none" else f"{row['noise']} {row['snr_db']} dB"
        name = f"{row['source']}, {cabin}" if row["is_command"] else f"{row['source']}, {half}"
        groups.setdefault(name, []).append(n)
    return dict(sorted(groups.items()))


def draw_curve(engine: str, rows: list[Row], path: Path) -> None:
    """Detection against false accepts of the speakers it was not chosen on, one curve a way of scoring."""
    from matplotlib.figure import Figure

    weights = fit_weights([row for row in rows if is_chosen_on(row)])
    kept = [
        n for n, row in enumerate(rows) if not is_in_first_half(row["speaker"]) and row["source"] != CLOSED
    ]
    others = [rows[n] for n in kept]
    figure = Figure(figsize=(6, 4), layout="constrained")
    axes = figure.add_subplot()
    for name, scores in _score_all(rows, weights).items():
        lines = np.unique(np.quantile(scores[kept], np.linspace(0, 1, 200)))
        counts = [count(others, scores[kept], line) for line in lines]
        axes.plot(
            [100 * c["accepted"] / max(c["foreign"], 1) for c in counts],
            [100 * c["right"] / max(c["commands"], 1) for c in counts],
            label=name,
            drawstyle="steps",
        )
    axes.set(
        xlabel="foreign words and sentences accepted, %",
        ylabel="commands understood, %",
        xlim=(0, 10),
        ylim=(60, 100),
    )
    axes.set_title(f"{engine}: speakers the line was not chosen on, all cabins", fontsize=9)
    axes.grid(alpha=0.3)
    axes.legend()
    figure.savefig(path, dpi=90)
