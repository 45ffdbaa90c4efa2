"""The figures of `audio_tests.table` for people: Markdown, each share with its trials and 95 % bound.

Pure: counts in, text out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import numpy as np

from audio_tests.score import find_bounds

Jobs = list[dict[str, Any]]

HEAD = ("measure", "cabin", "seeds", "right", "understood as another", "right, other speakers")
REJECT_HEAD = ("measure", "cabin", "seeds", "accepted", "accepted, other speakers", "an hour of speech")


def render_table(engine: str, jobs: Jobs) -> str:
    """What is said to be understood, what is to be refused, and how long it took."""
    accepts = [job for job in jobs if _sum(job, "trials")]
    rejects = [job for job in jobs if _sum(job, "rejects")]
    lines = [engine, ""]
    if accepts:
        lines += [*_render_head(HEAD), *(_render_accepts(group) for group in _group(accepts)), ""]
    if rejects:
        lines += [*_render_head(REJECT_HEAD), *(_render_rejects(group) for group in _group(rejects)), ""]
        lines += [_render_hours(name, group) for name, group in _group_by_measure(rejects)]
    lines += [*_render_latency(jobs), *_render_confused(jobs)]
    return "\n".join(lines)


def _render_head(names: tuple[str, ...]) -> tuple[str, str]:
    return f"| {' | '.join(names)} |", "|" + "---|" * len(names)


def _group(jobs: Jobs) -> Iterator[Jobs]:
    """The jobs of each measure and cabin, in the order they were first done."""
    for key in dict.fromkeys((job["measure"], job["noise"], job["snr_db"]) for job in jobs):
        yield [job for job in jobs if (job["measure"], job["noise"], job["snr_db"]) == key]


def _group_by_measure(jobs: Jobs) -> Iterator[tuple[str, Jobs]]:
    for name in dict.fromkeys(job["measure"] for job in jobs):
        yield name, [job for job in jobs if job["measure"] == name]


def _sum(job: dict[str, Any], name: str, *, half: str | None = None) -> float:
    halves = job["halves"].items()
    return float(sum(counts[name] for key, counts in halves if half in (None, key)))


def _total(jobs: Jobs, name: str, *, half: str | None = None) -> float:
    return sum(_sum(job, name, half=half) for job in jobs)


def _name_cabin(job: dict[str, Any]) -> str:
    if job["snr_db"] is None:
        return "no noise"
    return f"{job['noise']}, {job['snr_db']:g} dB ({job['band_snr_db']:g} dB in the voice's band)"


def _render_accepts(group: Jobs) -> str:
    cells = (
        group[0]["measure"],
        _name_cabin(group[0]),
        str(len(group)),
        render_share(_total(group, "right"), _total(group, "trials")),
        render_share(_total(group, "wrong"), _total(group, "trials")),
        render_share(_total(group, "right", half="others"), _total(group, "trials", half="others")),
    )
    return f"| {' | '.join(cells)} |"


def _render_rejects(group: Jobs) -> str:
    cells = (
        group[0]["measure"],
        _name_cabin(group[0]),
        str(len(group)),
        render_share(_total(group, "accepted"), _total(group, "rejects")),
        render_share(_total(group, "accepted", half="others"), _total(group, "rejects", half="others")),
        _render_rate(group),
    )
    return f"| {' | '.join(cells)} |"


def _render_rate(group: Jobs) -> str:
    hours = _total(group, "speech_s") / 3600
    return f"{_total(group, 'false_accepts') / hours:.2f} in {hours:.2f} h" if hours else "no speech"


def _render_hours(name: str, group: Jobs) -> str:
    return f"{name}, all cabins: {_total(group, 'false_accepts'):.0f} false accepts, {_render_rate(group)}"


def render_share(count: float, trials: float) -> str:
    """A share in per cent with its trials and Wilson's 95 % interval."""
    bounds = find_bounds(int(count), int(trials))
    if bounds is None:
        return "no trials"
    return f"{100 * count / trials:.1f} % ({bounds[0]:.1f}-{bounds[1]:.1f}; {count:.0f} of {trials:.0f})"


def _render_latency(jobs: Jobs) -> Iterator[str]:
    latencies = [ms for job in jobs for counts in job["halves"].values() for ms in counts["latencies_ms"]]
    if latencies:
        p50, p95 = np.percentile(latencies, (50, 95))
        counts = f"median {p50:.0f} ms, 95 % within {p95:.0f} ms ({len(latencies)} events)"
        yield f"end of the word to the event: {counts}"
    yield f"computing: {np.median([job['rtf'] for job in jobs]):.3f} of real time while clips are heard"


def _render_confused(jobs: Jobs) -> Iterator[str]:
    for name, group in _group_by_measure(jobs):
        confused: Counter[str] = Counter()
        for job in group:
            for counts in job["halves"].values():
                confused.update(counts["confused"])
        if confused:
            yield f"{name}, most often taken for another: " + ", ".join(
                f"{pair} {count}" for pair, count in confused.most_common(12)
            )
