"""The recogniser that needs no download: pocketsphinx with the English model in its wheel.

A closed grammar always answers something, so the same sound is also read as a free string of phones: a
command must fit nearly as well as that. Never hears words that its dictionary lacks.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from coach.errors import SetupError
from coach.session.answers import Answer
from coach.voice.answer_reading import AnswerReading
from coach.voice.recogniser import SAMPLE_RATE_HZ, Reading, Samples, Ways, find_readable, find_words
from coach.voice.recognisers.pocketsphinx_answers import AnswerReader

ADDED_PRONUNCIATIONS = {
    "abeam": "AH B IY M",
    "fife": "F AY F",
    "fower": "F OW ER",
    "niner": "N AY N ER",
    "tree": "T R IY",
}
"""Words of the trade that the dictionary may lack (Pilot/Controller Glossary: abeam; digits: AIM 4-2-7)."""

LOWEST_SCORE = -2.0
"""Below this a reading is no command: log likelihood a frame against the free phones."""

SENONE_SHIFT = 1 << 10
"""pocketsphinx keeps its scores shifted down by ten bits; `Hypothesis.score` is exp of the shifted one."""

GRAMMAR, PHONES = "grammar", "phones"


def load_pocketsphinx(lowest_score: float = LOWEST_SCORE) -> PocketSphinxRecogniser:
    """The recogniser with the model of its wheel; `SetupError` where the library is missing."""
    try:
        import pocketsphinx
    except ImportError as exc:
        raise SetupError("pocketsphinx: not installed; pip install pocketsphinx") from exc
    # compallsen in both searches: else frames are normalised by different active sets and their
    # scores cannot be compared. cmn batch: an utterance must not change how the next one reads.
    config = pocketsphinx.Config(
        samprate=SAMPLE_RATE_HZ, loglevel="FATAL", compallsen=True, lm=None, cmn="batch"
    )
    decoder = pocketsphinx.Decoder(config)
    decoder.add_allphone_file(PHONES, pocketsphinx.get_model_path("en-us/en-us-phone.lm.bin"))
    return PocketSphinxRecogniser(decoder, lowest_score=lowest_score)


class PocketSphinxRecogniser:
    """A closed grammar in a pocketsphinx decoder, rejecting by score against a phone loop."""

    name = "pocketsphinx, English model of its wheel"

    def __init__(self, decoder: Any, *, lowest_score: float) -> None:
        self._decoder = decoder
        self._lowest_score = lowest_score
        self._phrases: dict[str, str] = {}
        self._answers = AnswerReader(self._add_grammar, self._decode, free=PHONES)

    def listen_for(self, ways: Ways) -> None:
        """Understand these from now on; ways with unknown words are left out."""
        readable = find_readable(ways, self.find_unknown_words(ways))
        self._phrases = dict(readable)
        for word in find_words(readable):
            self._add_word(word)
        if readable:
            self._decoder.add_jsgf_string(GRAMMAR, _render_jsgf(readable))

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """The words that the model can never hear, in order, each once."""
        return tuple(word for word in find_words(ways) if not self._is_known(word))

    def read(self, audio: Samples, voice_s: float) -> Reading:  # noqa: ARG002
        """Read one utterance with some silence about it."""
        if not self._phrases:
            return Reading(phrase=None, way=None, score=0.0, reason="nothing is listened for")
        sound = _encode(audio)
        way, fit, frames = self._decode(GRAMMAR, sound)
        if way not in self._phrases:
            return Reading(phrase=None, way=None, score=0.0, reason="no phrase fits")
        score = (fit - self._decode(PHONES, sound)[1]) / frames
        if score < self._lowest_score:
            return Reading(phrase=None, way=way, score=score, reason="too unsure")
        return Reading(phrase=self._phrases[way], way=way, score=score)

    def read_answer(self, audio: Samples, voice_s: float, expected: Answer) -> AnswerReading:
        """Read one utterance as an answer to a question for the expected one's kind."""
        return self._answers.read(_encode(audio), voice_s, expected)

    def _add_grammar(self, search: str, jsgf: str, words: Iterable[str]) -> None:
        for word in words:
            self._add_word(word)
        self._decoder.add_jsgf_string(search, jsgf)

    def _is_known(self, word: str) -> bool:
        return word in ADDED_PRONUNCIATIONS or self._decoder.lookup_word(word) is not None

    def _add_word(self, word: str) -> None:
        if self._decoder.lookup_word(word) is None:
            self._decoder.add_word(word, ADDED_PRONUNCIATIONS[word], True)

    def _decode(self, search: str, sound: bytes) -> tuple[str, float, int]:
        """The best text of a search, its log likelihood, and the frames that this is the sum over."""
        self._decoder.activate_search(search)
        # Even with cmn batch the front end remembers the utterance before; the same sound must read the same.
        self._decoder.reinit_feat()
        self._decoder.start_utt()
        self._decoder.process_raw(sound, False, True)
        self._decoder.end_utt()
        best = self._decoder.hyp()
        if best is None or best.score <= 0:
            return "", float("-inf"), 1
        return best.hypstr, float(np.log(best.score)) * SENONE_SHIFT, self._decoder.n_frames()


def _encode(audio: Samples) -> bytes:
    return np.clip(audio * 32767, -32768, 32767).astype("<i2").tobytes()


def _render_jsgf(ways: Ways) -> str:
    choices = " | ".join(way for way, _ in ways)
    return f"#JSGF V1.0; grammar {GRAMMAR}; public <way> = {choices};"
