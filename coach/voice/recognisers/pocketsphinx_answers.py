"""Spoken answers by pocketsphinx: a grammar of digits, then the answer against its near confusions.

A decoder gives the best reading only. How clear it is comes from two more decodings: with a grammar of that
answer alone, and of what it may be mistaken for. Numbers said with a hundred are left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from coach.session.answer_words import ENGLISH, Said, Vocabulary
from coach.session.answers import Answer, Kind, confusions_of, openings, parse_answer, spoken_values
from coach.voice.answer_reading import NOTHING_FITS, TWO_FIT, AnswerReading, accept, refuse
from coach.voice.lengths import find_longest_s

Decode = Callable[[str, bytes], tuple[str, float, int]]
"""A search by name and a sound, to the best text, its log likelihood and the frames."""

AddGrammar = Callable[[str, str, Iterable[str]], None]
"""A search's name, its grammar and the words in it."""

LOWEST_SCORE = 0.0
"""Below this a reading is no answer: log likelihood a frame against the free phones."""

LOWEST_MARGIN = 50.0
"""Below this two answers fit: log likelihood of the whole against the likeliest near confusion.

Chosen on four synthetic voices at 10 dB: of 56 headings 40 are read right and 10 as another; 24 and none of
them reach both limits. With a margin of 20 it is 35 and 1.
"""

OWN, RIVALS = "own", "rivals"
"""The searches for the answer that was read and for its near confusions."""


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
        margin = self._fit_best(OWN, (answer,), sound) - self._fit_best(RIVALS, rivals, sound)
        if margin < LOWEST_MARGIN:
            return refuse(TWO_FIT, score=score, margin=margin)
        return accept(answer, expected, score=score, margin=margin)

    def _prepare(self, asked: Kind) -> str:
        """The name of the search for answers to such a question."""
        if asked not in self._ready:
            self._add_grammar(asked.value, render_answers(asked, ENGLISH), find_answer_words(asked, ENGLISH))
            self._ready.add(asked)
        return asked.value  # the library takes no enumeration for a text

    def _fit_best(self, search: str, answers: tuple[Answer, ...], sound: bytes) -> float:
        self._add_grammar(search, render_choice(answers, ENGLISH), ())
        return self._decode(search, sound)[1]


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


def render_choice(answers: tuple[Answer, ...], words: Vocabulary) -> str:
    """The grammar of these answers and no others, as JSGF; all are of one kind."""
    sides = dict.fromkeys(answer.direction for answer in answers)
    same_side = [[answer for answer in answers if answer.direction is side] for side in sides]
    return _render([f"public <answer> = {' | '.join(_render_side(same, words) for same in same_side)};"])


def _render_side(answers: list[Answer], words: Vocabulary) -> str:
    """Answers of one kind and one side: what may or must stand before them, and their digits."""
    kind, side = answers[0].kind, answers[0].direction
    before = [" ".join(b) for b, opened, told in openings(kind, words) if (opened, told) == (kind, side)]
    opening = " | ".join(way for way in before if way)
    opening = f"[{opening}]" if "" in before else f"({opening})"
    values = [" ".join(value) for answer in answers for value in _say_short(answer, words)]
    return f"{opening if opening != '[]' else ''} ({' | '.join(values)}) [{' | '.join(words.degrees)}]"


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
