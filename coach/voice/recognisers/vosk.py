"""The recogniser for languages with a Vosk model: a folder the user names.

The grammar holds the ways of saying and `[unk]` for everything else. A model drops words it does not know
with no more than a warning, so they are looked up beforehand. Never downloads a model.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from coach.errors import SetupError
from coach.session.answer_words import VOCABULARIES, Vocabulary
from coach.session.answers import Answer, Kind
from coach.voice.answer_reading import AnswerReading, refuse
from coach.voice.lengths import find_longest_s
from coach.voice.recogniser import (
    ENGLISH,
    SAMPLE_RATE_HZ,
    Reading,
    Samples,
    Ways,
    find_readable,
    find_words,
)
from coach.voice.recognisers.vosk_answers import judge_words, list_answer_phrases
from coach.voice.suppression import Suppressor, load_suppressor

UNKNOWN = "[unk]"
LOWEST_CONFIDENCE = 0.8
"""Below this mean word confidence a reading is no command.

Measured without noise, Korean of espeak-ng, chosen on four speakers: of 64 phrases right it keeps 58, of 12
false accepts 8 (of 178 words and sentences); on four others 64 of 69 and 8 of 13 (of 174). Higher loses as
many phrases as false accepts. `audio_tests/vosk_study.py` draws the curve.
"""

GRAPHS = ("HCLr.fst", "Gr.fst", "disambig_tid.int")
"""The two halves of a graph that a grammar can be put into, and what joins them."""

FILES = (
    "am/final.mdl",
    "conf/mfcc.conf",
    "conf/model.conf",
    *(f"graph/{name}" for name in GRAPHS),
)
OLD_FILES = ("final.mdl", "mfcc.conf", *GRAPHS)
"""What Vosk reads, in the layout of its newer models and of its first ones."""

SPEAKER_FILES = (
    "final.ie",
    "final.dubm",
    "final.mat",
    "global_cmvn.stats",
    "online_cmvn.conf",
    "splice.conf",
)
"""What it reads from the folder `ivector`, where a model has one."""

FIXED_GRAPH = "HCLG.fst"
"""The graph of a large model: it takes no grammar."""


def load_vosk(
    folder: Path, lowest_confidence: float = LOWEST_CONFIDENCE, *, language: str = ENGLISH
) -> VoskRecogniser:
    """The recogniser with the model of that folder; `SetupError` where it is missing or broken.

    `language` is what the pilot speaks: it decides in which words answers are understood.
    """
    _check_folder(folder)
    try:
        import vosk
    except ImportError as exc:
        raise SetupError("vosk: not installed; pip install vosk") from exc
    vosk.SetLogLevel(-1)
    try:
        model = vosk.Model(str(folder))
        _try_model(vosk, model)
    except Exception as exc:  # vosk raises a bare Exception
        raise SetupError(f"{folder}: Vosk cannot read this model; unpack a whole one again") from exc
    return VoskRecogniser(
        vosk,
        model,
        _name(folder),
        lowest_confidence=lowest_confidence,
        suppressor=load_suppressor(),
        language=language,
    )


def _check_folder(folder: Path) -> None:
    # Checked by hand: on a file or a broken folder the library may end the process.
    if not folder.is_dir():
        raise SetupError(f"{folder}: expected the folder of a Vosk model, got {_tell_kind(folder)}")
    missing = [name for name in _list_files(folder) if not _has_content(folder / name)]
    if not missing:
        return
    fixed = [name for name in (FIXED_GRAPH, f"graph/{FIXED_GRAPH}") if (folder / name).is_file()]
    if fixed:
        raise SetupError(
            f"{folder}: expected a Vosk model that takes a grammar, got one with a fixed graph ({fixed[0]}); "
            "take a small one"
        )
    raise SetupError(f"{folder}: expected a Vosk model, got a folder without {', '.join(missing)}")


def _list_files(folder: Path) -> tuple[str, ...]:
    files = OLD_FILES if (folder / "final.mdl").is_file() else FILES
    return files + tuple(f"ivector/{name}" for name in SPEAKER_FILES if (folder / "ivector").is_dir())


def _has_content(path: Path) -> bool:
    return path.is_file() and path.stat().st_size > 0


def _tell_kind(path: Path) -> str:
    return "a file" if path.exists() else "nothing there"


def _name(folder: Path) -> str:
    return f"vosk, {'/'.join(folder.resolve().parts[-2:])}"


def _try_model(vosk: Any, model: Any) -> None:
    """Decode a second of silence: a half-read model fails, or ends the process, here and not in flight."""
    decoder = vosk.KaldiRecognizer(model, SAMPLE_RATE_HZ, json.dumps([UNKNOWN]))
    decoder.AcceptWaveform(bytes(2 * SAMPLE_RATE_HZ))
    decoder.FinalResult()


class VoskRecogniser:
    """A closed grammar with `[unk]` in a Vosk model, rejecting by `[unk]`, word confidence and length."""

    def __init__(
        self,
        vosk: Any,
        model: Any,
        name: str,
        *,
        lowest_confidence: float,
        suppressor: Suppressor | None = None,
        language: str = ENGLISH,
    ) -> None:
        self.name = name if suppressor is None else f"{name}, noise suppressed"
        self._vosk = vosk
        self._model = model
        self._lowest_confidence = lowest_confidence
        self._suppressor = suppressor
        self._phrases: dict[str, str] = {}
        self._decoder: Any = None
        self._language = language
        self._answer_decoders: dict[Kind, Any] = {}

    def listen_for(self, ways: Ways) -> None:
        """Understand these from now on; ways with unknown words are left out."""
        self._phrases = dict(find_readable(ways, self.find_unknown_words(ways)))
        if not self._phrases:
            return  # an empty grammar ends the process
        self._decoder = self._make_decoder(self._phrases)

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """The words that the model can never hear, in order, each once."""
        return tuple(word for word in find_words(ways) if not self._is_known(word))

    def read(self, audio: Samples, voice_s: float) -> Reading:
        """Read one utterance with some silence about it; `voice_s` is how long the voice in it lasts."""
        if not self._phrases:
            return Reading(phrase=None, way=None, score=0.0, reason="nothing is listened for")
        way, score = self._decode(audio)
        if way not in self._phrases:
            return Reading(phrase=None, way=None, score=0.0, reason="no phrase fits")
        if score < self._lowest_confidence:
            return Reading(phrase=None, way=way, score=score, reason="too unsure")
        if voice_s > find_longest_s(way):
            return Reading(phrase=None, way=way, score=score, reason="longer than the phrase")
        return Reading(phrase=self._phrases[way], way=way, score=score)

    def read_answer(self, audio: Samples, voice_s: float, expected: Answer) -> AnswerReading:
        """Read one utterance as an answer to a question for the expected one's kind."""
        words = VOCABULARIES.get(self._language)
        if words is None:
            return refuse(f"no answers in language {self._language}")
        phrases = list_answer_phrases(expected.kind, words)
        if not self._is_complete(words):
            return refuse("the ear does not know every digit")
        if expected.kind not in self._answer_decoders:
            self._answer_decoders[expected.kind] = self._make_decoder(phrases)
        said = self._decode_words(self._answer_decoders[expected.kind], audio)
        return judge_words(said, voice_s, expected, words)

    def _is_complete(self, words: Vocabulary) -> bool:
        """Whether each digit has a word that the model knows."""
        return all(any(self._is_known(way) for way in said) for said in words.digits)

    def _decode(self, audio: Samples) -> tuple[str, float]:
        """The words read, and their mean confidence."""
        said = self._decode_words(self._decoder, audio)
        if not said:
            return "", 0.0
        return " ".join(word for word, _ in said), float(np.mean([confidence for _, confidence in said]))

    def _decode_words(self, decoder: Any, audio: Samples) -> tuple[tuple[str, float], ...]:
        """The words read, each with its confidence."""
        quiet = audio if self._suppressor is None else self._suppressor.suppress(audio)
        decoder.Reset()
        decoder.AcceptWaveform(np.clip(quiet * 32767, -32768, 32767).astype("<i2").tobytes())
        words = json.loads(decoder.FinalResult()).get("result", [])
        return tuple((word["word"], float(word["conf"])) for word in words)

    def _make_decoder(self, phrases: Iterable[str]) -> Any:
        """A decoder for these phrases and the filler; words that the model lacks are left out."""
        known = [phrase for phrase in phrases if all(map(self._is_known, phrase.split()))]
        grammar = json.dumps([*known, *self._find_filler()], ensure_ascii=False)
        decoder = self._vosk.KaldiRecognizer(self._model, SAMPLE_RATE_HZ, grammar)
        decoder.SetWords(True)
        return decoder

    def _is_known(self, word: str) -> bool:
        known: bool = self._model.vosk_model_find_word(word) >= 0
        return known

    def _find_filler(self) -> tuple[str, ...]:
        """`[unk]`, where the model knows it: some lack even that."""
        return (UNKNOWN,) if self._is_known(UNKNOWN) else ()
