"""Trials of spoken answers: a clip is said once, and heard with every answer that might be expected.

The ear is the one that flies, endpoint included, in this process: what it read last is then read again with
each wrong expectation. The search in a clip is done once and remembered. Never judges a figure.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from audio_tests.score_trials import (
    GAP_S,
    RATE_HZ,
    SETTLE_S,
    Cockpit,
    Listening,
    Samples,
    make_cabin_noise,
    read_sound,
)
from audio_tests.voices import SENTENCES, say
from coach.session.answer_words import ENGLISH, Vocabulary
from coach.session.answers import (
    Answer,
    Direction,
    Kind,
    confusions_of,
    direction_ways,
    heading,
    parse_answer,
)
from coach.session.events import AnswerHeard, NotUnderstood, PhraseHeard, SpeechEnded
from coach.voice.answer_reading import AnswerReading, Candidate, Verdict
from coach.voice.ear import Ear
from coach.voice.recogniser import Reading, Recogniser, Ways
from coach.voice.recognisers.pocketsphinx_answers import OWN, RIVALS, AnswerReader
from coach.voice.recognisers.whisper import WhisperRecogniser
from coach.voice.recognisers.whisper_answers import AnswerScorer
from coach.voice.recognisers.whisper_model import Model
from coach.voice.voice_activity import load_voice_activity

DIGITS = {word for said in ENGLISH.digits for word in said}


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """One clip to be said or read."""

    words: str
    answer: Answer | None
    """What it says; None: it is no answer."""

    form: str
    """Which way of saying, or where it comes from."""

    speaker: str
    path: Path | None = None
    """The recording; None: said by a synthetic voice."""

    def find_sound(self) -> Samples:
        """The clean clip."""
        return say(self.words, self.speaker) if self.path is None else read_sound(self.path)


@dataclass(slots=True, kw_only=True)
class Trial:
    """What became of one clip."""

    spoken: Spoken
    heard: list[str] = field(default_factory=list)
    """Answers told, `right` or the other answer; phrases in quotes."""

    reasons: list[str] = field(default_factory=list)
    """Why nothing was understood."""

    expectations: int = 0
    """How many wrong answers were expected in turn."""

    wrong_accepted: list[str] = field(default_factory=list)
    """Those of them that were heard as right."""

    candidates: tuple[Candidate, ...] = ()
    """The likeliest answers in what was read last, where the recogniser tells them."""

    voice_s: float = 0.0

    @property
    def is_understood(self) -> bool:
        """The answer was heard as right, and nothing else was heard."""
        return self.heard == ["right"]


def spell_forms(value_deg: int, words: Vocabulary = ENGLISH) -> tuple[tuple[str, str, Answer], ...]:
    """(form, words, answer) of one heading: six everyday and radio ways of saying it."""
    digits = f"{value_deg:03}"
    plain = " ".join(words.digits[int(digit)][0] for digit in digits)
    # AIM 4-2-7 and Annex 10 Volume II 5.2.1.4: tree, fife, niner; zero stays zero.
    radio = " ".join(words.digits[int(digit)][-1 if digit != "0" else 0] for digit in digits)
    radio = radio.replace("fower", "four")
    side = (Direction.LEFT, Direction.RIGHT)[value_deg // 7 % 2]
    turn = (words.left if side is Direction.LEFT else words.right)[0]
    course = Answer(kind=Kind.COURSE, digits=digits)
    long_turn = f"{turn} heading {plain}" if words is ENGLISH else f"{turn} {plain}"
    return (
        ("digits", plain, heading(value_deg)),
        ("heading, radio digits", f"{words.heading[0]} {radio}", heading(value_deg)),
        ("everyday group", _find_group(digits, words) or plain, heading(value_deg)),
        ("side, radio digits", f"{turn} {radio}", heading(value_deg, side)),
        ("course, digits", f"{words.course[0]} {plain}", course),
        ("side, heading, digits", long_turn, heading(value_deg, side)),
    )


def _find_group(digits: str, words: Vocabulary) -> str | None:
    """`three fifteen`, `one oh five`; None for what has no such way."""
    if not words.groups or digits[0] == "0" or digits[1:] == "00":
        return None
    grouped = {word for way, _ in words.groups for word in way.split()}
    zero = words.digits[0][-1]
    ways = [way for way, value in direction_ways(words).items() if value == digits and "hundred" not in way]
    found = [way for way in ways if set(way) & (grouped - DIGITS)] or [way for way in ways if way[1] == zero]
    return " ".join(found[0]) if found else None


def list_headings(speakers: tuple[str, ...], *, step: int, words: Vocabulary = ENGLISH) -> tuple[Spoken, ...]:
    """Every `step`th heading in each voice; each voice says a heading in another form."""
    return tuple(
        Spoken(words=said, answer=answer, form=form, speaker=speaker)
        for n, speaker in enumerate(speakers)
        for value_deg in range(1, 361, step)
        for form, said, answer in [spell_forms(value_deg, words)[(value_deg // step + n) % 6]]
    )


def list_strings(folder: Path) -> tuple[Spoken, ...]:
    """The digit strings of the recordings in a folder with a manifest."""
    rows = [row for row in _read_rows(folder) if row["kind"] == "accept" and len(row["words"].split()) > 1]
    return tuple(
        Spoken(
            words=row["words"],
            answer=parse_answer(row["words"], Kind.NUMBER),
            form=f"{len(row['words'].split())} digits",
            speaker=row["speaker"],
            path=folder / row["path"],
        )
        for row in rows
        if set(row["words"].split()) <= DIGITS
    )


def list_foreign(folder: Path | None, speakers: tuple[str, ...]) -> tuple[Spoken, ...]:
    """What is no answer: invented sentences in each voice, and the foreign recordings of a folder."""
    said = tuple(
        Spoken(words=words, answer=None, form="sentence, synthetic", speaker=speaker)
        for speaker in speakers
        for words in SENTENCES
        if parse_answer(words, Kind.HEADING) is None
    )
    rows = [row for row in _read_rows(folder) if row["kind"] == "reject"] if folder else []
    return said + tuple(
        Spoken(
            words=row["words"],
            answer=None,
            form=row["source"],
            speaker=row["speaker"],
            path=folder / row["path"],
        )
        for row in rows
        if folder
    )


def _read_rows(folder: Path) -> list[dict[str, str]]:
    return list(csv.DictReader((folder / "manifest.csv").read_text(encoding="utf-8").splitlines()))


class RememberingScorer(AnswerScorer):
    """Finds the likeliest answers in a clip once: they do not hang on what is expected."""

    def __init__(self, model: Model) -> None:
        super().__init__(model)
        self._kept: dict[tuple[bytes, Kind], tuple[Candidate, ...]] = {}
        self._heard: tuple[Any, Kind, tuple[Candidate, ...]] | None = None

    def find_candidates(self, heard: Any, asked: Kind) -> tuple[Candidate, ...]:
        """The likeliest answers, best first."""
        last = self._heard
        if last is None or last[0] is not heard or last[1] is not asked:
            self._heard = last = heard, asked, super().find_candidates(heard, asked)
        return last[2]

    def look_again(self, audio: Samples, asked: Kind) -> tuple[Candidate, ...]:
        """The same in the sound slowed down."""
        key = audio.tobytes(), asked
        if key not in self._kept:
            kept = self._heard
            self._kept = {key: super().look_again(audio, asked)}
            self._heard = kept
        return self._kept[key]


def remember_decodings(reader: AnswerReader) -> None:
    """Let pocketsphinx decode a clip with each grammar once."""
    add_grammar, decode = reader._add_grammar, reader._decode
    grammars: dict[str, str] = {}
    kept: dict[object, tuple[str, float, int]] = {}

    def note_grammar(search: str, jsgf: str, words: Iterable[str]) -> None:
        grammars[search] = jsgf
        if search not in (OWN, RIVALS):
            add_grammar(search, jsgf, words)

    def decode_once(search: str, sound: bytes) -> tuple[str, float, int]:
        key = search, grammars.get(search), sound
        if key not in kept:
            if search in (OWN, RIVALS):
                add_grammar(search, grammars[search], ())
            kept[key] = decode(search, sound)
        return kept[key]

    reader._add_grammar, reader._decode = note_grammar, decode_once


class Watched:
    """A recogniser whose last utterance can be read again with another expectation."""

    def __init__(self, recogniser: Recogniser) -> None:
        self._recogniser = recogniser
        self.name = recogniser.name
        self._last: tuple[Samples, float] | None = None

    def listen_for(self, ways: Ways) -> None:
        """Understand these."""
        self._recogniser.listen_for(ways)

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        """The words that the recogniser can never hear."""
        return self._recogniser.find_unknown_words(ways)

    def read(self, audio: Samples, voice_s: float) -> Reading:
        """Read a phrase."""
        return self._recogniser.read(audio, voice_s)

    def read_answer(self, audio: Samples, voice_s: float, expected: Answer) -> AnswerReading:
        """Read an answer, and keep its sound."""
        self._last = audio, voice_s
        return self._recogniser.read_answer(audio, voice_s, expected)

    def forget(self) -> None:
        """The next clip is another."""
        self._last = None

    def take_last(self) -> tuple[Samples, float] | None:
        """The sound and the length of the voice of the utterance that has just ended."""
        last, self._last = self._last, None
        return last

    def read_again(self, last: tuple[Samples, float], expected: Answer) -> AnswerReading:
        """Read it with another expectation."""
        return self._recogniser.read_answer(*last, expected)

    def find_candidates(self, last: tuple[Samples, float], asked: Kind) -> tuple[Candidate, ...]:
        """The likeliest answers, where the recogniser tells them."""
        if not isinstance(self._recogniser, WhisperRecogniser):
            return ()
        return self._recogniser.answers.find_candidates(self._recogniser.encode(last[0]), asked)


class Asking:
    """One voice after another answers in one stretch of cabin."""

    def __init__(self, watched: Watched, *, snr_db: float | None, seed: int, ways: Ways) -> None:
        self._watched = watched
        self._ear = Ear(watched, load_voice_activity())
        self._ear.listen_for(ways)
        self._cockpit = Cockpit(noise=make_cabin_noise(), snr_db=snr_db)
        # The ear of this process stands in for the child's: the same blocks, the same facts.
        self._listening = Listening(self._ear, self._cockpit, seed)  # type: ignore[arg-type]
        for _ in self._listening.play(np.zeros(round(SETTLE_S * RATE_HZ), np.float32)):
            pass

    def ask(self, spoken: Spoken, *, asked: Answer) -> Trial:
        """Let a clip answer a question whose right answer is `asked`."""
        trial = Trial(spoken=spoken)
        self._watched.forget()
        self._ear.expect(asked)
        for fact in self._play(spoken.find_sound()):
            self._note(fact, trial, asked)
        return trial

    def _play(self, sound: Samples) -> Iterator[object]:
        # Longer than any pause within a number is waited for.
        silence = np.zeros(round(GAP_S * RATE_HZ), np.float32)
        for fact, _ in self._listening.play(np.concatenate([self._cockpit.scale(sound), silence])):
            yield fact

    def _note(self, fact: object, trial: Trial, asked: Answer) -> None:
        match fact:
            case SpeechEnded():
                self._try_expectations(trial, asked)
            case AnswerHeard(is_right=True):
                trial.heard.append("right")
            case AnswerHeard(kind=kind, digits=digits, direction=direction):
                trial.heard.append(str(Answer(kind=kind, digits=digits, direction=direction)))
            case PhraseHeard(phrase=phrase):
                trial.heard.append(f"'{phrase}'")
            case NotUnderstood(reason=reason):
                trial.reasons.append(reason)

    def _try_expectations(self, trial: Trial, asked: Answer) -> None:
        last = self._watched.take_last()
        if last is None:
            return
        trial.voice_s = last[1]
        trial.candidates = self._watched.find_candidates(last, asked.kind)
        if trial.spoken.answer is None:
            return
        for wrong in confusions_of(trial.spoken.answer):
            trial.expectations += 1
            if self._watched.read_again(last, wrong).verdict is Verdict.RIGHT:
                trial.wrong_accepted.append(str(wrong))
