"""Spoken answers by Vosk: a grammar of digit words, and how sure the model is of the least sure one.

The decoder offers nothing to weigh two answers by, so a doubtful word is all that is looked at. Never hears a
word that the model lacks, and says so.
"""

from __future__ import annotations

from coach.session.answer_words import Vocabulary
from coach.session.answers import Answer, Kind, openings, parse_answer
from coach.voice.answer_reading import NOTHING_FITS, TWO_FIT, AnswerReading, accept, refuse
from coach.voice.lengths import find_longest_s

LOWEST_CONFIDENCE = 0.9
"""Below this confidence of any word a reading is no answer."""


def list_answer_phrases(asked: Kind, words: Vocabulary) -> tuple[str, ...]:
    """What the grammar is made of: what may stand before the digits, and each digit or group by itself."""
    return (
        *(" ".join(before) for before, _, _ in openings(asked, words) if before),
        *(way for said in words.digits for way in said),
        *(way for way, _ in words.groups),
        *words.degrees,
    )


def judge_words(
    said: tuple[tuple[str, float], ...], voice_s: float, expected: Answer, words: Vocabulary
) -> AnswerReading:
    """The verdict on (word, confidence) pairs."""
    way = " ".join(word for word, _ in said)
    answer = parse_answer(way, expected.kind, words)
    if answer is None:
        return refuse(NOTHING_FITS)
    score = min(confidence for _, confidence in said)
    if score < LOWEST_CONFIDENCE:
        return refuse(TWO_FIT, score=score)
    if voice_s > find_longest_s(way):
        return refuse("longer than the answer", score=score)
    return accept(answer, expected, score=score, margin=0.0)
