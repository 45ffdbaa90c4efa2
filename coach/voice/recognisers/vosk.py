"""The recogniser for languages with a Vosk model: a folder the user names.

The grammar holds the ways of saying and `[unk]` for everything else. A model drops words it does not know
with no more than a warning, so they are looked up beforehand. Never downloads a model.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from coach.errors import SetupError
from coach.voice.recogniser import SAMPLE_RATE_HZ, Reading, Samples, Ways, find_readable, find_words

UNKNOWN = "[unk]"
LOWEST_CONFIDENCE = 0.6
"""Below this mean word confidence a reading is no command."""

NEEDED_FILES = (("am/final.mdl", "final.mdl"), ("conf/mfcc.conf", "mfcc.conf"))
"""What every Vosk model holds, in its new and its old layout."""


def load_vosk(folder: Path, lowest_confidence: float = LOWEST_CONFIDENCE) -> VoskRecogniser:
    """The recogniser with the model of that folder; `SetupError` where it is missing or broken."""
    _check_folder(folder)
    try:
        import vosk
    except ImportError as exc:
        raise SetupError("vosk: not installed; pip install vosk") from exc
    vosk.SetLogLevel(-1)
    try:
        model = vosk.Model(str(folder))
    except Exception as exc:  # vosk raises a bare Exception
        raise SetupError(f"{folder}: Vosk cannot read this model; unpack a whole one again") from exc
    return VoskRecogniser(vosk, model, f"vosk, {folder.name}", lowest_confidence=lowest_confidence)


def _check_folder(folder: Path) -> None:
    # Checked by hand: on a file or a broken folder the library may end the process.
    if not folder.is_dir():
        raise SetupError(f"{folder}: expected the folder of a Vosk model, got {_tell_kind(folder)}")
    for places in NEEDED_FILES:
        if not any((folder / place).is_file() for place in places):
            raise SetupError(f"{folder}: expected a Vosk model, got a folder without {places[0]}")
    if not any((folder / place).exists() for place in ("graph/words.txt", "words.txt", "graph/Gr.fst")):
        raise SetupError(f"{folder}: expected a Vosk model, got a folder without graph/words.txt")


def _tell_kind(path: Path) -> str:
    return "a file" if path.exists() else "nothing there"


class VoskRecogniser:
    """A closed grammar with `[unk]` in a Vosk model, rejecting by `[unk]` and word confidence."""

    def __init__(self, vosk: Any, model: Any, name: str, *, lowest_confidence: float) -> None:
        self.name = name
        self._vosk = vosk
        self._model = model
        self._lowest_confidence = lowest_confidence
        self._phrases: dict[str, str] = {}
        self._decoder: Any = None

    def listen_for(self, ways: Ways) -> None:
        """Understand these from now on; ways with unknown words are left out."""
        self._phrases = dict(find_readable(ways, self.find_unknown_words(ways)))
        grammar = json.dumps([*self._phrases, *self._find_filler()], ensure_ascii=False)
        self._decoder = self._vosk.KaldiRecognizer(self._model, SAMPLE_RATE_HZ, grammar)
        self._decoder.SetWords(True)

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """The words that the model can never hear, in order, each once."""
        return tuple(word for word in find_words(ways) if self._model.vosk_model_find_word(word) < 0)

    def read(self, audio: Samples, voice_s: float) -> Reading:  # noqa: ARG002
        """Read one utterance with some silence about it."""
        if not self._phrases:
            return Reading(phrase=None, way=None, score=0.0, reason="nothing is listened for")
        self._decoder.Reset()
        self._decoder.AcceptWaveform(np.clip(audio * 32767, -32768, 32767).astype("<i2").tobytes())
        words = json.loads(self._decoder.FinalResult()).get("result", [])
        way = " ".join(word["word"] for word in words)
        if way not in self._phrases:
            return Reading(phrase=None, way=None, score=0.0, reason="no phrase fits")
        score = float(np.mean([word["conf"] for word in words]))
        if score < self._lowest_confidence:
            return Reading(phrase=None, way=way, score=score, reason="too unsure")
        return Reading(phrase=self._phrases[way], way=way, score=score)

    def _find_filler(self) -> tuple[str, ...]:
        """`[unk]`, where the model knows it: some lack even that."""
        return (UNKNOWN,) if self._model.vosk_model_find_word(UNKNOWN) >= 0 else ()
