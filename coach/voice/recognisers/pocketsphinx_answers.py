"""Spoken answers by pocketsphinx: a grammar of digits, then the answer against its near confusions.

A decoder gives the best reading only. How clear it is comes from a second decoding, with a grammar of what
it may be mistaken for. Numbers said with a hundred are left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from coach.session.answer_words import ENGLISH, Said, Vocabulary
from coach.session.answers import Answer, Kind, confusions_of, openings, parse_answer, spoken_values
from coach.voice.answer_reading import NOTHING_FITS, AnswerReading, accept, refuse
from coach.voice.lengths import find_longest_s

Decode = Callable[[str, bytes], tuple[str, float, int]]
"""A search by name and a sound, to the best text, its log likelihood and the frames."""

AddGrammar = Callable[[str, str, Iterable[str]], None]
"""A search's name, its grammar and the words in it."""

LOWEST_SCORE = -2.0
"""Below this a reading is no answer: log likelihood a frame against the free phones."""

LOWEST_MARGIN = 60.0
"""Below this two answers fit: log likelihood of the whole against the likeliest near confusion."""

RIVALS = "rivals"


class AnswerReader:
    """Reads answers with a decoder's searches."""

    def __init__(self, add_grammar: AddGrammar, decode: Decode, *, free: str) -> None:
        """`free` names the search that reads any phones."""
        self._add_grammar = add_grammar
        self._decode = decode
        self._free = free
        self._ready: set[Kind] = set()

    def read(self, sound: bytes, voice_s: float, expected: Answer) -> AnswerReading:
        """Read one utterance, 16-bit samples."""
        search = self._prepare(expected.kind)
        way, fit, frames = self._decode(search, sound)
        answer = parse_answer(way, expected.kind)
        if answer is None:
            return refuse(NOTHING_FITS)
        score = (fit - self._decode(self._free, sound)[1]) / frames
        if score < LOWEST_SCORE:
            return refuse(NOTHING_FITS, score=score)
        if voice_s > find_longest_s(way):
            return refuse("longer than the answer", score=score)
        rivals = confusions_of(answer) if answer == expected else (expected,)
        margin = fit - self._fit_best(rivals, sound)
        if margin < LOWEST_MARGIN:
            return refuse("two answers fit", score=score, margin=margin)
        return accept(answer, expected, score=score, margin=margin)

    def _prepare(self, asked: Kind) -> str:
        """The name of the search for answers to such a question."""
        if asked not in self._ready:
            self._add_grammar(asked, render_answers(asked, ENGLISH), find_answer_words(asked, ENGLISH))
            self._ready.add(asked)
        return asked

    def _fit_best(self, answers: Iterable[Answer], sound: bytes) -> float:
        self._add_grammar(RIVALS, render_rivals(tuple(answers), ENGLISH), ())
        return self._decode(RIVALS, sound)[1]


def find_answer_words(asked: Kind, words: Vocabulary) -> tuple[str, ...]:
    """Every word of the grammar, each once."""
    ways = (
        *(way for said in words.digits for way in said),
        *(way for way, _ in words.groups),
        *(" ".join(before) for before, _, _ in openings(asked, words)),
        *words.degrees,
    )
    return tuple(dict.fromkeys(word for way in ways for word in way.split()))


def render_answers(asked: Kind, words: Vocabulary) -> str:
    """The grammar of every answer to a question for this kind, as JSGF; three digits may exceed 360."""
    rules = [
        _rule("digit", [way for said in words.digits for way in said]),
        _rule("group", [way for way, _ in words.groups]),
    ]
    if asked is Kind.NUMBER:
        return _render([*rules, "public <answer> = <digit>+ | <group>;"])
    before = [" ".join(before) for before, _, _ in openings(asked, words) if before]
    value = "(<digit> <digit> <digit> | [<digit>] <group>)"
    answer = f"public <answer> = [<opening>] {value} [<degrees>];"
    return _render([*rules, _rule("opening", before), _rule("degrees", words.degrees), answer])


def render_rivals(answers: tuple[Answer, ...], words: Vocabulary) -> str:
    """The grammar of these answers and no others, as JSGF; all are of one kind."""
    choices = []
    for side in dict.fromkeys(answer.direction for answer in answers):
        same = [answer for answer in answers if answer.direction is side]
        kind = same[0].kind
        before = [" ".join(b) for b, opened, told in openings(kind, words) if (opened, told) == (kind, side)]
        values = [" ".join(value) for answer in same for value in _say_short(answer, words)]
        needed = "" in before
        opening = " | ".join(way for way in before if way)
        shown = f"[{opening}]" if needed else f"({opening})"
        choices.append(f"{shown if opening else ''} ({' | '.join(values)}) [{' | '.join(words.degrees)}]")
    return _render([f"public <answer> = {' | '.join(choices)};"])


def _say_short(answer: Answer, words: Vocabulary) -> tuple[Said, ...]:
    hundreds = {word for way, _ in words.hundreds for word in way.split()}
    grouped = {word for way, _ in words.groups for word in way.split()}
    digits = {way for said in words.digits for way in said}
    left_out = hundreds - grouped - digits
    return tuple(value for value in spoken_values(answer, words) if not left_out & set(value))


def _rule(name: str, ways: Iterable[str]) -> str:
    return f"<{name}> = {' | '.join(ways)};"


def _render(rules: Iterable[str]) -> str:
    return f"#JSGF V1.0; grammar answers; {' '.join(rules)}"
