"""Reads a phrase table: one file a language, `coach/store/phrases/en.yaml` for English.

Never decides what a phrase does: that is the session machine's.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from coach.drill.conversion import read_fields
from coach.drill.findings import Findings, quote
from coach.drill.forms import Key, ListOf, Record, Text, Worded
from coach.drill.source import Place
from coach.errors import Problem, SettingsError
from coach.session.phrases import Phrase, PhraseTable
from coach.store.documents import read_document


@dataclass(frozen=True, slots=True, kw_only=True)
class _PhraseRow:
    """One phrase as the file has it."""

    phrase: str
    means: str
    ways: tuple[str, ...] | None = None
    key: str | None = None
    place: Place


def _parse_words(text: str) -> str | None:
    """Words of letters, one space between them."""
    words = text.split(" ")
    is_plain = all(word.isalpha() for word in words) and len(text) <= 60
    return text if is_plain else None


def _parse_key(text: str) -> str | None:
    """One printed character, or the name of a key."""
    is_named = len(text) <= 12 and text.isascii() and text.isalnum() and text.islower()
    return text if is_named or (len(text) == 1 and text.isprintable()) else None


WORDS = Worded(expected="words of letters, one space apart", pattern=r"^\w+( \w+)*$", parse=_parse_words)
ROW = Record(
    of="a phrase",
    make=_PhraseRow,
    keys=(
        Key(name="phrase", form=WORDS, is_required=True, means="What the machine calls it."),
        Key(name="ways", form=ListOf(form=WORDS, fewest=0), means="Every way to say it, the best one first."),
        Key(
            name="key",
            form=Worded(
                expected="one character or the name of a key",
                pattern=r"^(.|[a-z0-9]{1,12})$",
                parse=_parse_key,
            ),
            means="The key that stands for it.",
        ),
        Key(name="means", form=Text(longest=100), is_required=True, means="What it does."),
    ),
)
TABLE = Record(
    of="a phrase table",
    make=PhraseTable,
    keys=(
        Key(name="language", form=Text(longest=2), is_required=True, means="ISO 639-1 code."),
        Key(name="phrases", form=ListOf(form=ROW), is_required=True, means="The phrases."),
    ),
)


def read_phrases(language: str = "en") -> PhraseTable:
    """The phrase table that comes with the coach for a language.

    Raises `SettingsError` where there is none.
    """
    folder = Path(str(files("coach"))) / "store" / "phrases"
    languages = sorted(path.stem for path in folder.glob("*.yaml"))
    if language not in languages:
        expected = f"one of {', '.join(languages)}"
        raise SettingsError(Problem(where="language", expected=expected, got=quote(language)))
    return read_phrase_file(folder / f"{language}.yaml")


def read_phrase_file(path: Path) -> PhraseTable:
    """A phrase table from a file. Raises `SettingsError` with every problem of it."""
    source = read_document(path, SettingsError)
    findings = Findings.of_source(source, SettingsError)
    fields = read_fields(source.root, "", TABLE, findings)
    rows = [row for row in fields.get("phrases") or () if row is not None]
    _check_once([(row.phrase, row.place) for row in rows], "each phrase once", findings)
    _check_once([(row.key, row.place) for row in rows if row.key], "each key once", findings)
    _check_once([(way, row.place) for row in rows for way in _ways(row)], "each way once", findings)
    findings.raise_any()
    return PhraseTable(language=fields["language"], phrases=tuple(_build(row) for row in rows))


def _ways(row: _PhraseRow) -> tuple[str, ...]:
    return (row.phrase,) if row.ways is None else row.ways


def _build(row: _PhraseRow) -> Phrase:
    return Phrase(canonical=row.phrase, ways=_ways(row), key=row.key, means=row.means)


def _check_once(used: list[tuple[str, Place]], expected: str, findings: Findings) -> None:
    seen: set[str] = set()
    for text, place in used:
        if text in seen:
            findings.add(place, expected, f"{quote(text)} again")
        seen.add(text)
