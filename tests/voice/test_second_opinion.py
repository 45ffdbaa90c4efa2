"""The second opinion: its file, its arithmetic on made-up weights, and what it may and may not change."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from coach.errors import SetupError
from coach.store.phrases import read_phrases
from coach.voice.recognisers import second_opinion
from coach.voice.recognisers.second_opinion import (
    NOTHING,
    PIECES,
    cut_voice,
    find_log_odds,
    load_second_opinion,
    run_net,
    share_out,
)

WIDTH, KINDS = 4, 3


def make_weights(seed: int = 0, *, turns: float = 0.0) -> dict[str, np.ndarray]:
    """A net of four figures and three names; `turns` is the size of its convolutions."""
    draw = np.random.default_rng(seed)
    shapes = {
        "middle": (384,),
        "narrow": (384, WIDTH),
        "enter": (2 * WIDTH, WIDTH),
        "gather": ((PIECES + 1) * WIDTH, 8),
        "tell": (8, KINDS),
    }
    weights = {name: draw.standard_normal(shape) for name, shape in shapes.items()}
    weights |= {f"turn{n}": turns * draw.standard_normal((5, WIDTH, WIDTH)) for n in range(3)}
    weights |= {f"{name}_by": np.zeros(weights[name].shape[-1]) for name in ("enter", "gather", "tell")}
    weights |= {f"turn{n}_by": np.zeros(WIDTH) for n in range(3)}
    return {name: value.astype(np.float32) for name, value in weights.items()}


def make_frames(length: int, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).standard_normal((length, 384)).astype(np.float32)


def test_order_of_the_sounds_counts() -> None:
    weights, frames = make_weights(), make_frames(32)
    assert not np.allclose(run_net(weights, frames), run_net(weights, frames[::-1]), atol=1e-2)


def test_speed_does_not_count_where_nothing_looks_at_neighbours() -> None:
    weights = make_weights()
    pairs = make_frames(32).reshape(16, 2, 384)
    slow = np.repeat(pairs, 2, axis=0).reshape(-1, 384)
    assert run_net(weights, slow) == pytest.approx(run_net(weights, pairs.reshape(-1, 384)), abs=1e-3)


def test_neighbours_count_where_the_net_turns_to_them() -> None:
    frames = make_frames(32)
    told = [run_net(make_weights(turns=turns), frames) for turns in (0.0, 0.5)]
    assert not np.allclose(*told, atol=1e-2)


def test_net_is_the_written_arithmetic() -> None:
    """Against the same sums written out frame by frame."""
    weights, frames = make_weights(turns=0.3), make_frames(10)
    small = (frames - weights["middle"]) @ weights["narrow"]
    state = np.array(
        [np.maximum(np.concatenate(small[n : n + 2]) @ weights["enter"], 0) for n in range(0, 10, 2)]
    )
    for turn, dilation in enumerate((1, 2, 4)):
        turned = np.zeros_like(state)
        for n in range(5):
            for tap in range(5):
                at = n + (tap - 2) * dilation
                if 0 <= at < 5:
                    turned[n] += state[at] @ weights[f"turn{turn}"][tap]
        state = state + np.maximum(turned, 0)
    pooled = np.concatenate([(share_out(5) @ state).ravel(), state.max(axis=0)])
    expected = np.maximum(pooled @ weights["gather"], 0) @ weights["tell"]
    assert run_net(weights, frames) == pytest.approx(expected, rel=1e-3, abs=1e-3)


@pytest.mark.parametrize("length", [1, 5, 8, 13, 64])
def test_pieces_are_means_that_count_every_frame_alike(length: int) -> None:
    shares = share_out(length)
    assert shares.sum(axis=1) == pytest.approx(np.ones(PIECES), abs=1e-5)
    assert shares.sum(axis=0) == pytest.approx(np.full(length, PIECES / length), abs=1e-4)


@pytest.mark.parametrize(
    ("start_s", "end_s", "first", "length"),
    [(0.5, 1.0, 22, 30), (0.0, 0.4, 0, 22), (1.9, 2.0, 90, 10), (1.0, 1.0, 47, 6)],
    ids=["in the middle", "from the start", "at the end", "no voice at all"],
)
def test_voice_is_cut_with_a_little_around_it(start_s: float, end_s: float, first: int, length: int) -> None:
    heard = np.arange(100, dtype=np.float32)[:, None]
    cut = cut_voice(heard, start_s, end_s)
    assert (int(cut[0, 0]), len(cut)) == (first, length)


def test_odds_have_a_bound() -> None:
    assert find_log_odds(0.5) == pytest.approx(0.0)
    assert find_log_odds(1.0) == pytest.approx(-find_log_odds(0.0)) == pytest.approx(13.8, abs=0.1)


def test_net_that_ships_knows_the_phrases_of_a_leg() -> None:
    names = load_second_opinion().names
    ways = {way for phrase in read_phrases().phrases for way in phrase.ways}
    assert set(names) - {NOTHING, "rejoin spoke"} <= ways
    assert {"bookmark", "more talk", "where now", "rejoin", "station passage", NOTHING} <= set(names)


def test_net_that_ships_tells_probabilities() -> None:
    probabilities = load_second_opinion().judge(make_frames(300), 0.5, 1.2)
    assert sum(probabilities.values()) == pytest.approx(1.0)
    assert min(probabilities.values()) >= 0


def test_altered_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    altered = tmp_path / "second_opinion.npz"
    altered.write_bytes(second_opinion.WEIGHTS.read_bytes() + b"\0")
    monkeypatch.setattr(second_opinion, "WEIGHTS", altered)
    load_second_opinion.cache_clear()
    with pytest.raises(SetupError, match=r"expected SHA-256 .*, got .*; install anew"):
        load_second_opinion()
    monkeypatch.undo()
    load_second_opinion.cache_clear()
