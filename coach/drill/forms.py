"""What a value in a file must look like, as data: text, number, word, list, record.

The same forms describe drill files, settings and phrase tables, and a schema for editors can be made from
them. Never looks at a value: that is `coach.drill.conversion`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Words as written, on one line or more."""

    longest: int = 2000
    """Printable characters; line ends count too."""

    refused: tuple[str, ...] = ()
    """Words (lower case) that must not stand in it, because the coach must not say them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """The name of a thing defined elsewhere in the file; becomes a `Named`."""

    of: str
    """What it names, such as `a time setting`."""

    kind: str | None = None
    """What it must be a name of, for `Findings.names`; None: nothing to look up."""

    also: tuple[str, ...] = ()
    """Words that stand for themselves and need not be defined in the file."""

    number: Number | None = None
    """What may be written down in place of a name; becomes a float then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OneOf:
    """One of a few words; becomes the value beside the word."""

    values: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A number within limits, both included."""

    low: float
    high: float
    unit: str = ""
    """As a person reads it, such as `s`; empty: a count."""

    is_whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Worded:
    """A text of a fixed pattern; becomes what `parse` makes of it."""

    expected: str
    """The pattern as a person reads it, such as `degrees and a side, like '45 left'`."""

    pattern: str
    """The same as a regular expression, for the schema."""

    parse: Callable[[str], Any]
    """Gives None where the text does not fit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListOf:
    """A list; becomes a tuple."""

    form: Form
    fewest: int = 1
    most: int = 100
    is_distinct: bool = False
    """True: no value twice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """A mapping from names of the author's own (small letters, digits, `_`); becomes a dict."""

    form: Form
    most: int = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a record."""

    name: str
    form: Form
    means: str
    """One line for the schema and the author."""

    is_required: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A mapping of fixed keys; becomes what `make` builds from them."""

    of: str
    """What it describes, such as `a leg`."""

    keys: tuple[Key, ...]
    make: Callable[..., Any]
    """Takes the keys as keyword arguments (absent ones left out) and `place`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Either:
    """A single value of one form, or a mapping of another."""

    scalar: Form
    mapping: Record


Form = Text | Name | OneOf | Number | Worded | ListOf | Entries | Record | Either
