"""Teaches the second opinion: `python -m audio_tests.opinion_train FOLDER` (what `opinion_hear` wrote there).

The net of `coach.voice.recognisers.second_opinion` in JAX (pip install jax), the same arithmetic. Some
speakers are left out and only looked at. Writes the weights beside that module and prints their SHA-256.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from audio_tests.opinion_hear import Lesson, read_lessons
from coach.voice.recognisers.second_opinion import (
    AROUND_S,
    DILATIONS,
    FRAME_S,
    NOTHING,
    PIECES,
    WEIGHTS,
    run_net,
    share_out,
)

NARROW, WIDTH, GATHERED, TAPS = 96, 56, 128, 5
LENGTHS = (64, 128)
"""Frames of a lesson: a batch is of short ones or of long ones, up to 2.56 s."""

LOOSE_FRAMES = 20
"""So much longer than its voice a lesson can be."""

BATCH = 64
STEP_SIZE = 2e-3
DECAY = 1e-4
DROPPED = 0.25
"""Share of the pooled figures that is left out in each step."""

SMOOTHING = 0.05
HELD_BACK = ("espeak:f5", "espeak:benjamin", "espeak:klatt3", "espeak:linda", "espeak:rob")

Weights = dict[str, Any]
Batch = dict[str, NDArray[Any]]


def start_weights(draw: np.random.Generator, lessons: list[Lesson], many: int) -> Weights:
    """Small random ones; the narrowing is the directions in which the encoder's output differs most."""
    picked = draw.choice(len(lessons), min(1500, len(lessons)), replace=False)
    frames = np.concatenate([lessons[n].frames[::3].astype(np.float32) for n in picked])
    middle = frames.mean(0)
    values, directions = np.linalg.eigh(np.cov((frames - middle).T))
    narrow = directions[:, -NARROW:] / np.sqrt(values[-NARROW:] + 0.05 * values[-1])
    shapes = {"enter": (2 * NARROW, WIDTH)}
    shapes |= {f"turn{n}": (TAPS, WIDTH, WIDTH) for n in range(len(DILATIONS))}
    shapes |= {"gather": ((PIECES + 1) * WIDTH, GATHERED), "tell": (GATHERED, many)}
    weights = {"middle": middle, "narrow": narrow}
    for name, shape in shapes.items():
        spread = np.sqrt(2 / np.prod(shape[:-1])) * (0.5 if name.startswith("turn") else 1.0)
        weights[name] = spread * draw.standard_normal(shape)
        weights[f"{name}_by"] = np.zeros(shape[-1])
    return {name: value.astype(np.float32) for name, value in weights.items()}


def make_batch(
    draw: np.random.Generator, lessons: list[Lesson], names: dict[str, int], longest: int
) -> Batch:
    """Lessons side by side, the voice's ends off as the endpoint's are."""
    frames = np.zeros((len(lessons), longest, lessons[0].frames.shape[1]), np.float32)
    shares = np.zeros((len(lessons), PIECES, longest // 2), np.float32)
    lengths = np.zeros(len(lessons), int)
    for n, lesson in enumerate(lessons):
        early, late = draw.uniform(-0.15, 0.06), draw.uniform(-0.04, 0.22)
        first = max(round(lesson.start + (early - AROUND_S) / FRAME_S), 0)
        last = min(round(lesson.end + (late + AROUND_S) / FRAME_S), len(lesson.frames), first + longest)
        pairs = max((last - first) // 2, 1)
        kept = lesson.frames[first : first + 2 * pairs]
        frames[n, : len(kept)] = kept
        shares[n, :, :pairs] = share_out(pairs)
        lengths[n] = pairs
    named = np.array([names[lesson.name] for lesson in lessons])
    return {"frames": frames, "shares": shares, "lengths": lengths, "named": named}


def make_loss(many: int) -> Any:
    """The loss of a batch as a function that JAX can differentiate."""
    import jax
    import jax.numpy as jnp

    def tell(weights: Weights, batch: Batch, kept: Any) -> Any:
        count, length = batch["frames"].shape[0], batch["frames"].shape[1] // 2
        inside = (jnp.arange(length)[None, :] < batch["lengths"][:, None])[:, :, None]
        paired = batch["frames"].reshape(count, length, -1)
        state = jax.nn.relu(paired @ weights["enter"] + weights["enter_by"]) * inside
        for n, dilation in enumerate(DILATIONS):
            reach = dilation * (TAPS // 2)
            padded = jnp.pad(state, ((0, 0), (reach, reach), (0, 0)))
            taps = [padded[:, tap * dilation : tap * dilation + length] for tap in range(TAPS)]
            turned = jnp.concatenate(taps, axis=2) @ weights[f"turn{n}"].reshape(TAPS * WIDTH, WIDTH)
            state = (state + jax.nn.relu(turned + weights[f"turn{n}_by"])) * inside
        pieces = jnp.einsum("bpt,btw->bpw", batch["shares"], state).reshape(count, -1)
        highest = jnp.where(inside, state, -jnp.inf).max(axis=1)
        pooled = jnp.concatenate([pieces, highest], axis=1) * kept
        known = jax.nn.relu(pooled @ weights["gather"] + weights["gather_by"])
        return known @ weights["tell"] + weights["tell_by"]

    def loss(weights: Weights, batch: Batch, kept: Any) -> Any:
        wanted = jax.nn.one_hot(batch["named"], many) * (1 - SMOOTHING) + SMOOTHING / many
        miss = -(wanted * jax.nn.log_softmax(tell(weights, batch, kept))).sum(axis=1).mean()
        size = sum((value**2).sum() for name, value in weights.items() if not name.endswith("_by"))
        return miss + DECAY * size

    return loss


FIXED = ("middle", "narrow")
"""Found beforehand and not taught."""


def teach(lessons: list[Lesson], names: dict[str, int], rounds: int, seed: int) -> Iterator[Weights]:
    """The weights after each round over all lessons (Adam, the step falling to nothing)."""
    import jax
    import jax.numpy as jnp

    draw = np.random.default_rng(seed)
    start = start_weights(draw, lessons, len(names))
    fixed = {name: start[name] for name in FIXED}
    taught = {name: jnp.asarray(value) for name, value in start.items() if name not in FIXED}
    loss = make_loss(len(names))
    slope_of = jax.value_and_grad(lambda taught, batch, kept: loss(taught | fixed, batch, kept))

    @jax.jit
    def step(
        taught: Weights, mean: Weights, square: Weights, at: Any, size: Any, batch: Batch, kept: Any
    ) -> Any:
        value, slope = slope_of(taught, batch, kept)
        mean = jax.tree.map(lambda m, g: 0.9 * m + 0.1 * g, mean, slope)
        square = jax.tree.map(lambda s, g: 0.99 * s + 0.01 * g**2, square, slope)
        moved = jax.tree.map(
            lambda w, m, s: w - size * (m / (1 - 0.9**at)) / (jnp.sqrt(s / (1 - 0.99**at)) + 1e-8),
            taught,
            mean,
            square,
        )
        return value, moved, mean, square

    mean = square = jax.tree.map(jnp.zeros_like, taught)
    narrowed = [narrow(lesson, fixed) for lesson in lessons]
    at, each = 0, len(deal(draw, narrowed))
    for number in range(rounds):
        total = 0.0
        for longest, hand in deal(draw, narrowed):
            at += 1
            size = STEP_SIZE * 0.5 * (1 + np.cos(np.pi * at / (rounds * each + 1)))
            batch = make_batch(draw, hand, names, longest)
            kept = (draw.random((BATCH, (PIECES + 1) * WIDTH)) > DROPPED) / (1 - DROPPED)
            value, taught, mean, square = step(taught, mean, square, at, size, batch, kept.astype(np.float32))
            total += float(value)
        print(f"round {number + 1}: loss {total / each:.3f}", flush=True)
        yield fixed | {name: np.asarray(value) for name, value in taught.items()}


def narrow(lesson: Lesson, fixed: Weights) -> Lesson:
    """What of a lesson the net looks at."""
    frames = (lesson.frames.astype(np.float32) - fixed["middle"]) @ fixed["narrow"]
    return replace(lesson, frames=frames.astype(np.float16))


def deal(draw: np.random.Generator, lessons: list[Lesson]) -> list[tuple[int, list[Lesson]]]:
    """Batches of short and of long lessons, in random order."""
    hands: list[tuple[int, list[Lesson]]] = []
    shortest = 0
    for longest in LENGTHS:
        fits = [
            le for le in lessons if shortest < min(le.end - le.start + LOOSE_FRAMES, LENGTHS[-1]) <= longest
        ]
        order = draw.permutation(len(fits))
        for first in range(0, len(fits) - BATCH + 1, BATCH):
            hands.append((longest, [fits[k] for k in order[first : first + BATCH]]))
        shortest = longest
    return [hands[k] for k in draw.permutation(len(hands))]


def score(weights: Weights, lessons: list[Lesson], names: dict[str, int]) -> str:
    """How many lessons are told right, by the arithmetic that flies; phrases and the rest."""
    draw = np.random.default_rng(1)
    right, of = [0, 0], [0, 0]
    for lesson in lessons:
        batch = make_batch(draw, [lesson], names, LENGTHS[-1])
        told = int(run_net(weights, batch["frames"][0, : 2 * batch["lengths"][0]]).argmax())
        kind = int(lesson.name == NOTHING)
        of[kind] += 1
        right[kind] += told == names[lesson.name]
    return f"phrases {right[0]} of {of[0]}, others {right[1]} of {of[1]}"


def write_weights(path: Path, weights: Weights, names: dict[str, int]) -> str:
    """Write them, half as exact as they were taught; their SHA-256."""
    halved = {name: value.astype(np.float16) for name, value in weights.items()}
    np.savez_compressed(path, names=np.array(list(names)), **halved)
    return hashlib.sha256(path.read_bytes()).hexdigest()


def main(arguments: list[str] | None = None) -> int:
    """Teach and write."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.opinion_train", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--rounds", type=int, default=12)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--weights", type=Path, default=WEIGHTS)
    options = parser.parse_args(arguments)
    lessons = list(read_lessons(options.folder))
    names = {name: n for n, name in enumerate(sorted({lesson.name for lesson in lessons}))}
    held = [lesson for lesson in lessons if lesson.speaker in HELD_BACK]
    learnt = [lesson for lesson in lessons if lesson.speaker not in HELD_BACK]
    print(f"{len(learnt)} lessons, {len(held)} held back, {len(names)} names")
    began_s = time.monotonic()
    for weights in teach(learnt, names, options.rounds, options.seed):
        print(f"{time.monotonic() - began_s:.0f} s; held back: {score(weights, held, names)}", flush=True)
        digest = write_weights(options.weights, weights, names)
    print(f"{options.weights}: SHA-256 {digest}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
