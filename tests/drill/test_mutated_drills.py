"""Damaged drill files of every kind: a drill or problems, never a crash or a hang, and little memory.

By default some hundred, with COACH_LONG=1 100,000 of them.
"""

from __future__ import annotations

import os
import random
import sys
import time

from coach.drill.compiler import compile_drill
from coach.drill.model import Drill
from coach.drill.plan import plan_drill
from coach.errors import DrillError
from coach.store.documents import parse_document
from coach.store.drills import drills_folder

try:
    import resource
except ImportError:
    resource = None  # type: ignore[assignment]

TEXTS = [path.read_text("utf-8") for path in sorted(drills_folder().glob("*.yaml"))]
COUNT = 100_000 if os.environ.get("COACH_LONG") == "1" else 300
LONGEST_S = 5.0
"""One file, its plan with it; a machine that is busy with other things is borne."""

MOST_MB = 100.0
"""More than so much the whole run must not come to need."""

PIECES = (
    "\n", "  ", "- ", ": ", "{", "}", "[", "]", "&a ", "*a", "!!python/name:os.system ", "---\n", "'", '"',
    "ends_on: word", "|\n", "#", "null", "0", "-1", "400", "1e999", "nan", "9" * 400, "turn: side",
    "lasts: turn", "ends_on: altitude", "ends_on: distance", "ends_on: radial", "ends_on: intercept",
    "ends_on: passage", "tracks: true", "arcs: 10", "turns_on: true", "intercepts: to", "drift: triple",
    "distance: 5", "by: passage", "by: word", "legs:", "spoke:", "entry:", "repeat: laps", "previous",
    "outbound", "{of: previous, turned: 360 left}", "tone_every_s: 5", "true", "default: 1",
    "range: [1, 1]",
)  # fmt: skip

WORDS = sorted({word for text in TEXTS for word in text.replace("{", " ").replace(",", " ").split()})


def mutated(rng: random.Random) -> str:
    """A drill file with one to four words or pieces cut, doubled, swapped or put in."""
    text = rng.choice(TEXTS)
    for _ in range(rng.randint(1, 4)):
        if rng.random() < 0.6:
            lines = text.splitlines()
            i = rng.randrange(len(lines))
            parts = lines[i].split(" ")
            parts[rng.randrange(len(parts))] = rng.choice((rng.choice(WORDS), rng.choice(PIECES), ""))
            lines[i] = " ".join(parts)
            if rng.random() < 0.2:
                lines[i : i + 1] = rng.choice(([], [lines[i]] * 2, [rng.choice(lines), lines[i]]))
            text = "\n".join(lines) + "\n"
        else:
            start = rng.randrange(len(text))
            text = text[:start] + rng.choice(PIECES) + text[start + rng.randint(0, 40) :]
    return text


def outcome(text: str) -> Drill | DrillError:
    """What becomes of a file: read, compiled and planned."""
    try:
        drill = compile_drill(parse_document(text, DrillError, name="drill", file="drill.yaml"), {})
        plan_drill(drill, tas_kt=90)
    except DrillError as error:
        return error
    return drill


def test_damaged_drill_files_give_a_drill_or_problems_in_time_and_little_memory() -> None:
    rng = random.Random(4)
    drills, before_mb = 0, _most_mb()
    for _ in range(COUNT):
        text, began_s = mutated(rng), time.process_time()
        found = outcome(text)
        assert time.process_time() - began_s < LONGEST_S, text
        if isinstance(found, Drill):
            drills += 1
            assert found.legs
        else:
            assert found.problems
            assert all(str(problem).isprintable() for problem in found.problems)
    # Some are drills still: the plan is tried as well, not only the reader.
    assert COUNT / 100 < drills < COUNT
    assert _most_mb() - before_mb < MOST_MB


def _most_mb() -> float:
    """The most memory this process ever had; 0 where the system does not tell."""
    if resource is None:
        return 0.0
    unit = 1.0 if sys.platform == "darwin" else 1024.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e6
