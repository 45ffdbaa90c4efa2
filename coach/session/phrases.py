"""The words a pilot may say, as a table: one file a language, read by `coach.store.phrases`.

The machine knows a phrase by its canonical form only; how it is said and which key stands for it are
data. Never matches sound to words: that is a recogniser's work.
"""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """One thing a pilot can say."""

    canonical: str
    """What the machine calls it, such as `station passage`; the same in every language."""

    ways: tuple[str, ...]
    """Every way to say it, the best one first; empty for what only has a key (mute)."""

    key: str | None
    """The key that stands for it, one character or a name such as `space`; None: no key."""

    means: str
    """What it does, in a few words for the help and the card."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhraseTable:
    """All phrases of one language."""

    language: str
    """ISO 639-1 code."""

    phrases: tuple[Phrase, ...]

    def find_phrase(self, canonical: str) -> Phrase | None:
        """The phrase of that canonical form."""
        return next((phrase for phrase in self.phrases if phrase.canonical == canonical), None)

    def find_by_key(self, key: str) -> Phrase | None:
        """The phrase a key stands for."""
        return next((phrase for phrase in self.phrases if phrase.key == key), None)

    def with_attention(self, word: str) -> PhraseTable:
        """The same table where every way of saying begins with an attention word, such as `coach passage`."""
        phrases = tuple(
            replace(phrase, ways=tuple(f"{word} {way}" for way in phrase.ways)) for phrase in self.phrases
        )
        return replace(self, phrases=phrases)

    @property
    def all_ways(self) -> tuple[tuple[str, str], ...]:
        """Every (way of saying, canonical) there is, in table order."""
        return self.ways(tuple(phrase.canonical for phrase in self.phrases))

    def ways(self, canonicals: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
        """Every (way of saying, canonical) of these phrases, in table order."""
        return tuple(
            (way, phrase.canonical)
            for phrase in self.phrases
            if phrase.canonical in canonicals
            for way in phrase.ways
        )


def render_unknown_words(table: PhraseTable, unknown: tuple[str, ...]) -> str | None:
    """One line about words that a recogniser can never hear and what is lost with them; None: nothing is.

    `unknown` is in small letters.
    """
    if not unknown:
        return None
    lost = [phrase for phrase in table.phrases if phrase.ways and not _find_sayable(phrase, unknown)]
    keyed = ", ".join(phrase.canonical + (f" ({phrase.key})" if phrase.key else "") for phrase in lost)
    left = f"by key only: {keyed}" if lost else "every phrase can be said another way"
    return f"The ear does not know {', '.join(unknown)}; {left}"


def _find_sayable(phrase: Phrase, unknown: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(way for way in phrase.ways if not set(way.lower().split()) & set(unknown))
